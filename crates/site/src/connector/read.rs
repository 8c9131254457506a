//! Reads the connectors that are built into the program.

use metrology::{Amps, Basis, Gauge, Sourced, Watts};
use serde::Deserialize;

use super::{Connector, Contact, Pin, Seen};
use crate::signal::{Signal, guide_named};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[expect(dead_code, reason = "there is only one so far")]
    format: u32,
    connector: Vec<Entry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    id: String,
    name: String,
    called: Vec<String>,
    needed_by: String,
    guides: Vec<String>,
    wire: String,
    power: Option<PowerEntry>,
    caution: String,
    source: String,
    basis: Basis,
    ratings: Vec<RatingEntry>,
    pins: Vec<PinEntry>,
    #[serde(default)]
    tells: Vec<TellEntry>,
    seen: SeenEntry,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PowerEntry {
    value: Watts,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RatingEntry {
    terminal: String,
    value: Amps,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PinEntry {
    pin: String,
    signal: Signal,
    also: Option<String>,
    formerly: Option<Signal>,
    colour: String,
    #[serde(default)]
    contact: Contact,
    note: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TellEntry {
    when: String,
    means: String,
    source: String,
    basis: Basis,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SeenEntry {
    rows: Vec<String>,
    edge: String,
    says: String,
    source: String,
    basis: Basis,
}

/// The connectors of the file, or what is wrong with it.
pub(super) fn connectors(text: &str) -> Result<Vec<Connector>, String> {
    let file: File = toml::from_str(text).map_err(|it| it.to_string())?;
    file.connector.into_iter().map(connector).collect()
}

fn connector(it: Entry) -> Result<Connector, String> {
    let pin = |it: PinEntry| Pin {
        number: it.pin,
        signal: it.signal,
        also: it.also,
        formerly: it.formerly,
        colour: it.colour,
        contact: it.contact,
        note: it.note,
    };
    let row = |it: &String| it.split_whitespace().map(str::to_owned).collect();
    let rating = |it: RatingEntry| (it.terminal, Sourced::read(it.value, it.basis, it.source));
    let tell = |it: TellEntry| (it.when, Sourced::read(it.means, it.basis, it.source));
    Ok(Connector {
        wire: it.wire.parse::<Gauge>().map_err(|it| it.to_string())?,
        power: it
            .power
            .map(|it| Sourced::read(it.value, it.basis, it.source)),
        ratings: it.ratings.into_iter().map(rating).collect(),
        pins: it.pins.into_iter().map(pin).collect(),
        tells: it.tells.into_iter().map(tell).collect(),
        seen: Seen {
            rows: it.seen.rows.iter().map(row).collect(),
            edge: it.seen.edge,
            says: Sourced::read(it.seen.says, it.seen.basis, it.seen.source),
        },
        source: Sourced::read((), it.basis, it.source),
        id: it.id,
        name: it.name,
        called: it.called,
        needed_by: it.needed_by,
        guides: (it.guides.iter())
            .map(|it| guide_named(it))
            .collect::<Result<_, _>>()?,
        caution: it.caution,
    })
}
