//! Reads the region profiles that are built into the program.

use metrology::{Amps, Basis, Celsius, Fraction, Hertz, Sourced, Volts};
use serde::Deserialize;

use super::{Band, Leg, Limits, Polarity, Receptacle, Region, System, Usual, Words};
use crate::model::{Cable, Earthing};

const FILES: [&str; 3] = [
    include_str!("../../data/north-america.toml"),
    include_str!("../../data/iec-230.toml"),
    include_str!("../../data/japan.toml"),
];

/// Every profile. They are part of the program, so a mistake in one is ours and a test finds it.
pub(super) fn built_in() -> Vec<Region> {
    FILES
        .iter()
        .map(|text| region(text).expect("the profiles of `data` read, held by tests/region.rs"))
        .collect()
}

/// A value with its source, as it stands in a profile.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    value: String,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[expect(dead_code, reason = "there is only one so far")]
    format: u32,
    id: String,
    name: String,
    words: WordsEntry,
    frequency: Vec<FrequencyEntry>,
    conductor_temperature: Entry,
    system: Vec<SystemEntry>,
    limit: Vec<Keyed>,
    colour: Vec<Colour>,
    receptacle: Vec<ReceptacleEntry>,
    breaker: Vec<Family>,
    cable: Vec<CableEntry>,
    usual: UsualEntry,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WordsEntry {
    line: String,
    neutral: String,
    earth: String,
    outlet: String,
    panel: String,
    residual: String,
    utility: String,
    electrician: String,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FrequencyEntry {
    nominal: Hertz,
    low: Hertz,
    high: Hertz,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SystemEntry {
    id: String,
    legs: Vec<LegEntry>,
    earthings: Vec<String>,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LegEntry {
    name: String,
    volts: Volts,
    degrees: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Keyed {
    key: String,
    value: String,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Colour {
    conductor: String,
    value: String,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Family {
    family: String,
    value: String,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CableEntry {
    up_to: Amps,
    cable: String,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ReceptacleEntry {
    id: String,
    name: String,
    polarity: String,
    earth_contact: bool,
    volts: Volts,
    says: String,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct UsualEntry {
    breaker: Entry,
    feeder: Entry,
    cord: Entry,
}

/// A profile, or what is wrong with it.
fn region(text: &str) -> Result<Region, String> {
    let file: File = toml::from_str(text).map_err(|it| it.to_string())?;
    let temperature: Celsius = parsed(&file.conductor_temperature.value)?;
    let cable = |text: &str| Cable::read(text, temperature).map_err(|it| it.to_string());
    let sourced_cable =
        |it: Entry| Ok::<_, String>(Sourced::read(cable(&it.value)?, it.basis, it.source));
    Ok(Region {
        frequencies: file.frequency.iter().map(|it| it.nominal).collect(),
        bands: file.frequency.into_iter().map(band).collect(),
        limits: limits(file.limit)?,
        systems: all(file.system, system)?,
        words: words(file.words)?,
        colours: all(file.colour, |it| {
            Ok((it.conductor, Sourced::read(it.value, it.basis, it.source)))
        })?,
        receptacles: all(file.receptacle, receptacle)?,
        breakers: all(file.breaker, |it| {
            Ok((it.family, Sourced::read(it.value, it.basis, it.source)))
        })?,
        cables: all(file.cable, |it| {
            Ok((
                it.up_to,
                Sourced::read(cable(&it.cable)?, it.basis, it.source),
            ))
        })?,
        usual: Usual {
            breaker: Sourced::read(
                parsed(&file.usual.breaker.value)?,
                file.usual.breaker.basis,
                file.usual.breaker.source,
            ),
            feeder: sourced_cable(file.usual.feeder)?,
            cord: sourced_cable(file.usual.cord)?,
        },
        conductor_temperature: Sourced::read(
            temperature,
            file.conductor_temperature.basis,
            file.conductor_temperature.source,
        ),
        id: file.id,
        name: file.name,
    })
}

fn all<A, B>(list: Vec<A>, read: impl FnMut(A) -> Result<B, String>) -> Result<Vec<B>, String> {
    list.into_iter().map(read).collect()
}

fn parsed<T: std::str::FromStr<Err = metrology::QuantityError>>(text: &str) -> Result<T, String> {
    text.parse().map_err(|it| format!("{text}: {it}"))
}

fn band(it: FrequencyEntry) -> Band {
    Band {
        nominal: it.nominal,
        low: Sourced::read(it.low, it.basis, it.source.clone()),
        high: Sourced::read(it.high, it.basis, it.source),
    }
}

/// The unit of a value says which list it belongs to.
fn limits(list: Vec<Keyed>) -> Result<Limits, String> {
    let mut limits = Limits::default();
    for it in list {
        let Keyed {
            key,
            value,
            basis,
            source,
        } = it;
        if let Ok(volts) = value.parse::<Volts>() {
            limits
                .volts
                .push((key, Sourced::read(volts, basis, source)));
        } else if let Ok(amps) = value.parse::<Amps>() {
            limits.amps.push((key, Sourced::read(amps, basis, source)));
        } else {
            let share = parsed::<Fraction>(&value)?;
            limits
                .fractions
                .push((key, Sourced::read(share, basis, source)));
        }
    }
    Ok(limits)
}

fn system(it: SystemEntry) -> Result<System, String> {
    let leg = |it: LegEntry| Leg {
        name: it.name,
        volts: it.volts,
        angle: it.degrees.to_radians(),
    };
    let earthing =
        |it: String| Earthing::named(&it).ok_or_else(|| format!("\"{it}\" is not an earthing"));
    Ok(System {
        id: it.id,
        legs: it.legs.into_iter().map(leg).collect(),
        earthings: all(it.earthings, earthing)?,
        source: Sourced::read((), it.basis, it.source),
    })
}

fn words(it: WordsEntry) -> Result<Words, String> {
    Ok(Words {
        line: it.line,
        neutral: it.neutral,
        earth: it.earth,
        outlet: it.outlet,
        panel: it.panel,
        residual: it.residual,
        utility: it.utility,
        electrician: it.electrician,
        source: Sourced::read((), it.basis, it.source),
    })
}

fn receptacle(it: ReceptacleEntry) -> Result<Receptacle, String> {
    Ok(Receptacle {
        source: Sourced::read(it.id.clone(), it.basis, it.source),
        id: it.id,
        name: it.name,
        polarity: match it.polarity.as_str() {
            "defined" => Polarity::Defined,
            "undefined" => Polarity::Undefined,
            other => return Err(format!("\"{other}\" is not a polarity")),
        },
        earth_contact: it.earth_contact,
        volts: it.volts,
        says: it.says,
    })
}
