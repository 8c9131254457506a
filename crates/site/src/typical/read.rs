//! Reads the typical draws that are built into the program.

use metrology::{Amps, Basis, Fraction, Seconds, Sourced, Watts};
use serde::Deserialize;

use super::{Amount, Draw, Typical, Usuals};
use crate::machine::{Generation, PartKind};
use crate::supply::{Feeds, Rail};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[expect(dead_code, reason = "there is only one so far")]
    format: u32,
    regulator: Doubted<Fraction>,
    usual: Vec<UsualEntry>,
    sheet: Entry<Fraction>,
    spin_up: Entry<Seconds>,
    slot: SlotEntry,
    draw: Vec<DrawEntry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry<Q> {
    value: Q,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Doubted<Q> {
    value: Q,
    u: Q,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct UsualEntry {
    kind: String,
    value: Watts,
    u: Watts,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SlotEntry {
    most: Watts,
    usual: Watts,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct DrawEntry {
    kind: String,
    generation: Option<String>,
    rail: String,
    through: String,
    #[serde(default)]
    regulated: bool,
    off: Option<Pair>,
    idle: Option<Pair>,
    typical: Option<Pair>,
    sustained: Option<Pair>,
    start: Option<Pair>,
    peak: Option<Pair>,
    excursion: Option<Pair>,
    source: String,
    basis: Basis,
}

#[derive(Deserialize, Clone)]
#[serde(deny_unknown_fields)]
struct Pair {
    value: String,
    u: String,
}

/// A draw while its moments are being gathered: several entries may stand for one kind and rail, each with a source.
struct Gathered {
    kind: PartKind,
    generation: Option<Generation>,
    rail: Rail,
    through: Feeds,
    regulated: bool,
    at: [Option<Sourced<Typical>>; 7],
}

/// What stands in a file, or what is wrong with it.
pub(super) fn read(text: &str) -> Result<Usuals, String> {
    let file: File = toml::from_str(text).map_err(|it| it.to_string())?;
    let mut gathered: Vec<Gathered> = Vec::new();
    for it in file.draw {
        gather(&mut gathered, it)?;
    }
    let powers = file.usual.into_iter().map(|it| {
        let kind = named(&it.kind, &PartKind::NAMES)?;
        Ok((kind, Sourced::read((it.value, it.u), it.basis, it.source)))
    });
    let pair = file.regulator;
    Ok(Usuals {
        draws: gathered.into_iter().map(whole).collect::<Result<_, _>>()?,
        powers: powers.collect::<Result<_, String>>()?,
        regulator: Sourced::read((pair.value, pair.u), pair.basis, pair.source),
        sheet: Sourced::read(file.sheet.value, file.sheet.basis, file.sheet.source),
        spin_up: Sourced::read(file.spin_up.value, file.spin_up.basis, file.spin_up.source),
        slot: Sourced::read(
            (file.slot.most, file.slot.usual),
            file.slot.basis,
            file.slot.source,
        ),
    })
}

fn gather(all: &mut Vec<Gathered>, it: DrawEntry) -> Result<(), String> {
    let kind = named(&it.kind, &PartKind::NAMES)?;
    let generation = it.generation.map(|it| named(&it, &Generation::NAMES));
    let generation = generation.transpose()?;
    let rail = named(&it.rail, &Rail::NAMES)?;
    let through = named(&it.through, &Feeds::NAMES)?;
    let same = |at: &Gathered| at.kind == kind && at.generation == generation && at.rail == rail;
    let ix = match all.iter().position(same) {
        Some(ix) => ix,
        None => {
            all.push(Gathered {
                kind,
                generation,
                rail,
                through,
                regulated: it.regulated,
                at: [const { None }; 7],
            });
            all.len() - 1
        }
    };
    let to = &mut all[ix];
    if (to.through, to.regulated) != (through, it.regulated) {
        return Err(format!("{}: two ways for one rail", it.kind));
    }
    let moments = [
        it.off,
        it.idle,
        it.typical,
        it.sustained,
        it.start,
        it.peak,
        it.excursion,
    ];
    for (at, pair) in to.at.iter_mut().zip(moments) {
        let Some(pair) = pair else { continue };
        let value = amount(&pair.value)?;
        let u = amount(&pair.u)?;
        if std::mem::discriminant(&value) != std::mem::discriminant(&u) {
            return Err(format!("{}: value and doubt in two units", it.kind));
        }
        let read = Sourced::read(Typical { value, u }, it.basis, it.source.clone());
        if at.replace(read).is_some() {
            return Err(format!("{}: a moment twice", it.kind));
        }
    }
    Ok(())
}

/// Every moment is there: off is nothing and an excursion is the peak where they are left out.
fn whole(it: Gathered) -> Result<Draw, String> {
    let [off, idle, typical, sustained, start, peak, excursion] = it.at;
    let missing = || format!("{} {}: a moment is missing", it.kind.name(), it.rail.name());
    let peak = peak.ok_or_else(missing)?;
    let nothing = Typical {
        value: Amount::Current(Amps::from_si(0.0)),
        u: Amount::Current(Amps::from_si(0.0)),
    };
    Ok(Draw {
        kind: it.kind,
        generation: it.generation,
        rail: it.rail,
        through: it.through,
        regulated: it.regulated,
        at: [
            off.unwrap_or(Sourced::judged(nothing, "what is off draws nothing")),
            idle.ok_or_else(missing)?,
            typical.ok_or_else(missing)?,
            sustained.ok_or_else(missing)?,
            start.ok_or_else(missing)?,
            peak.clone(),
            excursion.unwrap_or(peak),
        ],
    })
}

fn amount(text: &str) -> Result<Amount, String> {
    if let Ok(it) = text.parse::<Amps>() {
        return Ok(Amount::Current(it));
    }
    if let Ok(it) = text.parse::<Watts>() {
        return Ok(Amount::Power(it));
    }
    let share = text.parse::<Fraction>();
    share
        .map(Amount::Share)
        .map_err(|it| format!("{text}: {it}"))
}

fn named<T: Copy>(name: &str, all: &[(&str, T)]) -> Result<T, String> {
    let found = all.iter().find(|(it, _)| *it == name);
    found
        .map(|(_, it)| *it)
        .ok_or_else(|| format!("\"{name}\" is not known"))
}
