//! What parts draw where nobody told it, from `data/parts.toml`: by kind, rail and moment, each with its doubt.

use std::borrow::Cow;
use std::sync::OnceLock;

use metrology::{Amps, Basis, Fraction, Seconds, Sourced, Watts};
use serde::{Deserialize, Serialize};

use crate::machine::{Generation, PartKind};
use crate::supply::{Feeds, Rail};

/// A moment in the life of a machine at which its supply is looked at.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Moment {
    /// Plugged in and switched off.
    Off,
    /// On, nothing to do.
    Idle,
    /// The usual day.
    Typical,
    /// All parts at work for long.
    Sustained,
    /// Switched on: drives speed up.
    Start,
    /// The processor above its base power, for seconds.
    Peak,
    /// A graphics card's peak of 10 ms on top of that.
    Excursion,
}

impl Moment {
    /// Every moment, in the order of a table.
    pub const ALL: [Moment; 7] = [
        Moment::Off,
        Moment::Idle,
        Moment::Typical,
        Moment::Sustained,
        Moment::Start,
        Moment::Peak,
        Moment::Excursion,
    ];

    /// For the head of a row.
    pub fn short(self) -> &'static str {
        match self {
            Moment::Off => "off",
            Moment::Idle => "idle",
            Moment::Typical => "usual day",
            Moment::Sustained => "sustained",
            Moment::Start => "start",
            Moment::Peak => "peak, seconds",
            Moment::Excursion => "peak, 10 ms",
        }
    }

    /// Words for people, as in "while idle".
    pub fn words(self) -> &'static str {
        match self {
            Moment::Off => "off, plugged in",
            Moment::Idle => "idle",
            Moment::Typical => "on a usual day",
            Moment::Sustained => "at sustained work",
            Moment::Start => "at the start, drives speeding up",
            Moment::Peak => "in peaks of seconds",
            Moment::Excursion => "in peaks of 10 ms",
        }
    }
}

/// A value in the unit that it is written in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Amount {
    /// At the rail.
    Current(Amps),
    /// At the part.
    Power(Watts),
    /// Of the power that its maker gives for sustained work.
    Share(Fraction),
}

/// A value with its standard uncertainty, in the same unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Typical {
    /// Value.
    pub value: Amount,
    /// Standard uncertainty.
    pub u: Amount,
}

/// What a part of a kind draws from one rail.
#[derive(Clone, Debug)]
pub struct Draw {
    /// Kind of part.
    pub kind: PartKind,
    /// Generation of a memory module; `None` where nobody told it.
    pub generation: Option<Generation>,
    /// The rail.
    pub rail: Rail,
    /// Through which connectors.
    pub through: Feeds,
    /// Whether a regulator of the board stands between.
    pub regulated: bool,
    /// At each moment, in the order of [`Moment::ALL`].
    pub at: [Sourced<Typical>; 7],
}

/// All that is taken for usual.
#[derive(Clone, Debug)]
pub struct Usuals {
    /// What parts draw.
    pub draws: Vec<Draw>,
    /// Power and its standard uncertainty of a part whose maker's figure nobody told.
    pub powers: Vec<(PartKind, Sourced<(Watts, Watts)>)>,
    /// Efficiency of a regulator on the board, with its standard uncertainty.
    pub regulator: Sourced<(Fraction, Fraction)>,
    /// Relative standard uncertainty of what stands on a sheet or label.
    pub sheet: Sourced<Fraction>,
    /// How long a drive speeds up.
    pub spin_up: Sourced<Seconds>,
    /// What a graphics card draws through its slot: at most, and usually where it has connectors of its own.
    pub slot: Sourced<(Watts, Watts)>,
}

impl Usuals {
    /// Those that are built into the program.
    pub fn built_in() -> &'static Usuals {
        static ALL: OnceLock<Usuals> = OnceLock::new();
        ALL.get_or_init(|| {
            let text = include_str!("../data/parts.toml");
            read(text).expect("the parts of `data` read, held by the tests below")
        })
    }

    /// What a part draws, one entry a rail.
    pub fn draws(
        &self,
        kind: PartKind,
        generation: Option<Generation>,
    ) -> impl Iterator<Item = &Draw> {
        let of = move |it: &&Draw| it.kind == kind && it.generation == generation;
        self.draws.iter().filter(of)
    }

    /// The power that is taken for a part whose maker's figure nobody told.
    pub fn power(&self, kind: PartKind) -> Option<&Sourced<(Watts, Watts)>> {
        let found = self.powers.iter().find(|(it, _)| *it == kind);
        found.map(|(_, it)| it)
    }
}

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

fn read(text: &str) -> Result<Usuals, String> {
    let file: File = toml::from_str(text).map_err(|it| it.to_string())?;
    let mut gathered: Vec<Gathered> = Vec::new();
    for it in file.draw {
        gather(&mut gathered, it)?;
    }
    let powers = file.usual.into_iter().map(|it| {
        let kind = named(&it.kind, &PartKind::NAMES)?;
        Ok((kind, sourced((it.value, it.u), it.basis, it.source)))
    });
    let pair = file.regulator;
    Ok(Usuals {
        draws: gathered.into_iter().map(whole).collect::<Result<_, _>>()?,
        powers: powers.collect::<Result<_, String>>()?,
        regulator: sourced((pair.value, pair.u), pair.basis, pair.source),
        sheet: sourced(file.sheet.value, file.sheet.basis, file.sheet.source),
        spin_up: sourced(file.spin_up.value, file.spin_up.basis, file.spin_up.source),
        slot: sourced(
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
        let read = sourced(Typical { value, u }, it.basis, it.source.clone());
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

fn sourced<T>(value: T, basis: Basis, source: String) -> Sourced<T> {
    Sourced {
        value,
        basis,
        source: Cow::Owned(source),
        note: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_part_draws_something_and_says_where_that_is_from() {
        let all = Usuals::built_in();
        for (name, kind) in PartKind::NAMES {
            assert!(all.draws(kind, None).count() > 0, "{name}");
        }
        for (name, generation) in Generation::NAMES {
            let of = all.draws(PartKind::Memory, Some(generation));
            assert_eq!(of.count(), 1, "{name}");
        }
        for draw in &all.draws {
            for it in &draw.at {
                assert!(!it.source.is_empty());
            }
            let shares = |it: &Sourced<Typical>| matches!(it.value.value, Amount::Share(_));
            let of_power = draw.at[1..].iter().any(shares);
            assert!(
                !of_power || all.power(draw.kind).is_some(),
                "{:?}",
                draw.kind
            );
        }
    }

    /// Five product manuals of 3.5 inch drives (recorder, desktop of 2006, economical, server 2 TB, server 500 GB) give
    /// 2.0, 2.8, 2.0, 1.72 and 2.03 A from +12 V while the disks speed up: mean 2.11, standard deviation 0.41. Three of
    /// them give both rails: idle 0.272, 0.520, 0.39 A and working 0.397, 0.762, 0.69 A from +12 V, idle 0.415, 0.611,
    /// 0.46 A and working 0.641, 0.772, 0.50 A from +5 V. Two figures are kept.
    #[test]
    fn ref_a_disk_draws_what_the_manuals_say() {
        let all = Usuals::built_in();
        let at = |rail: Rail, moment: usize| {
            let draw = all.draws(PartKind::Disk35, None).find(|it| it.rail == rail);
            let it = &draw.expect("a 3.5 inch disk has both rails").at[moment].value;
            match (it.value, it.u) {
                (Amount::Current(value), Amount::Current(u)) => (value.si(), u.si()),
                other => panic!("{other:?}"),
            }
        };
        let of = |values: &[f64]| {
            let n = values.len() as f64;
            let mean = values.iter().sum::<f64>() / n;
            let square = values.iter().map(|it| (it - mean).powi(2)).sum::<f64>();
            (mean, (square / (n - 1.0)).sqrt())
        };
        for (got, wanted) in [
            (at(Rail::Plus12, 4), of(&[2.0, 2.8, 2.0, 1.72, 2.03])),
            (at(Rail::Plus12, 1), of(&[0.272, 0.520, 0.39])),
            (at(Rail::Plus12, 3), of(&[0.397, 0.762, 0.69])),
            (at(Rail::Plus5, 1), of(&[0.415, 0.611, 0.46])),
            (at(Rail::Plus5, 3), of(&[0.641, 0.772, 0.50])),
        ] {
            assert!((got.0 - wanted.0).abs() < 0.02, "{got:?} {wanted:?}");
            assert!((got.1 - wanted.1).abs() < 0.02, "{got:?} {wanted:?}");
        }
    }
}
