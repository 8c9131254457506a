//! Reads the limits that are built into the program.

use std::borrow::Cow;

use metrology::{Basis, Limits, Sourced, Volts};
use serde::Deserialize;

use super::{Rail, Rails, Signal, Timing, guide_named};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[expect(dead_code, reason = "there is only one so far")]
    format: u32,
    signal: Vec<SignalEntry>,
    rail: Vec<RailEntry>,
    level: Vec<LevelEntry>,
    time: Vec<TimeEntry>,
    trip: Vec<TripEntry>,
    ripple: Vec<TripEntry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SignalEntry {
    id: Signal,
    short: String,
    says: String,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RailEntry {
    signal: Signal,
    guides: Vec<String>,
    min: Volts,
    nominal: Volts,
    max: Volts,
    source: String,
    basis: Basis,
    note: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LevelEntry {
    key: String,
    min: Option<Volts>,
    max: Option<Volts>,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TimeEntry {
    id: String,
    says: String,
    is: String,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TripEntry {
    signal: Signal,
    min: Option<Volts>,
    max: Volts,
    source: String,
    basis: Basis,
}

/// The tables of the file, or what is wrong with it.
pub(super) fn rails(text: &str) -> Result<Rails, String> {
    let file: File = toml::from_str(text).map_err(|it| it.to_string())?;
    let limits = |lower, upper| Limits { lower, upper };
    let rail = |it: RailEntry| -> Result<Rail, String> {
        let held = limits(Some(it.min), Some(it.max));
        let mut limits = Sourced::read(held, it.basis, it.source);
        limits.note = it.note.map(Cow::Owned);
        let guides = it.guides.iter().map(|it| guide_named(it));
        Ok(Rail {
            signal: it.signal,
            guides: guides.collect::<Result<_, _>>()?,
            nominal: it.nominal,
            limits,
        })
    };
    let time = |it: TimeEntry| Timing {
        id: it.id,
        says: it.says,
        is: Sourced::read(it.is, it.basis, it.source),
    };
    let trip = |it: TripEntry| {
        let held = limits(it.min, Some(it.max));
        (it.signal, Sourced::read(held, it.basis, it.source))
    };
    let level = |it: LevelEntry| {
        let held = limits(it.min, it.max);
        (it.key, Sourced::read(held, it.basis, it.source))
    };
    Ok(Rails {
        signals: (file.signal.into_iter())
            .map(|it| (it.id, it.short, Sourced::read(it.says, it.basis, it.source)))
            .collect(),
        rails: (file.rail.into_iter())
            .map(rail)
            .collect::<Result<_, _>>()?,
        levels: file.level.into_iter().map(level).collect(),
        times: file.time.into_iter().map(time).collect(),
        trips: file.trip.into_iter().map(trip).collect(),
        ripples: (file.ripple.into_iter())
            .map(|it| (it.signal, Sourced::read(it.max, it.basis, it.source)))
            .collect(),
    })
}
