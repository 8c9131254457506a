//! The connectors as `pins --json` writes them.

use metrology::{Amps, Basis, Sourced, Volts, Watts};
use serde::Serialize;
use site::connector::{CAUTION, Connector, Held, Pin, shuts_down};
use site::finding::Limit;
use site::signal::{Timing, rails};

use crate::ending::FORMAT;

/// The shape of `pins --json`.
#[derive(Serialize)]
pub struct Told {
    format: u32,
    connectors: Vec<ConnectorTold>,
    times: &'static [Timing],
    caution: &'static str,
}

#[derive(Serialize)]
struct ConnectorTold {
    id: &'static str,
    name: &'static str,
    needed_by: &'static str,
    guides: Vec<&'static str>,
    wire: String,
    power: Option<Cited<Watts>>,
    ratings: Vec<Rating>,
    pins: Vec<PinTold>,
    tells: Vec<Tell>,
    seen: Seen,
    caution: &'static str,
    source: &'static str,
    basis: Basis,
}

/// A value with its source, as every other in the document.
#[derive(Serialize)]
struct Cited<T> {
    value: T,
    source: &'static str,
    basis: Basis,
}

#[derive(Serialize)]
struct Rating {
    terminal: &'static str,
    #[serde(flatten)]
    current: Cited<Amps>,
}

#[derive(Serialize)]
struct PinTold {
    pin: &'static str,
    signal: String,
    also: Option<&'static str>,
    formerly: Option<String>,
    nominal: Option<Volts>,
    colour: &'static str,
    rating: Option<Amps>,
    limits: Vec<Held>,
    ripple: Option<Cited<Volts>>,
    shuts_down: Option<Limit>,
    says: Option<Cited<&'static str>>,
    note: Option<&'static str>,
}

#[derive(Serialize)]
struct Tell {
    when: &'static str,
    #[serde(flatten)]
    means: Cited<&'static str>,
}

#[derive(Serialize)]
struct Seen {
    from: &'static str,
    edge: &'static str,
    rows: &'static [Vec<String>],
    source: &'static str,
    basis: Basis,
}

fn cited<T: Clone>(it: &'static Sourced<T>) -> Cited<T> {
    Cited {
        value: it.value.clone(),
        source: &it.source,
        basis: it.basis,
    }
}

/// These connectors in that shape.
pub fn told(which: &'static [Connector]) -> Told {
    Told {
        format: FORMAT,
        connectors: which.iter().map(connector).collect(),
        times: rails().times(),
        caution: CAUTION,
    }
}

fn connector(it: &'static Connector) -> ConnectorTold {
    let pin = |pin: &'static Pin| PinTold {
        pin: &pin.number,
        signal: pin.signal.to_string(),
        also: pin.also.as_deref(),
        formerly: pin.formerly.map(|it| it.to_string()),
        nominal: pin.nominal(),
        colour: &pin.colour,
        rating: it.rating_of(pin).map(|it| it.value),
        limits: it.limits(pin),
        ripple: rails().ripple(pin.signal).map(cited),
        shuts_down: shuts_down(pin.signal),
        says: pin.signal.says().map(|it| Cited {
            value: it.value.as_str(),
            source: &it.source,
            basis: it.basis,
        }),
        note: pin.note.as_deref(),
    };
    ConnectorTold {
        id: &it.id,
        name: &it.name,
        needed_by: &it.needed_by,
        guides: it.guide_names(),
        wire: it.wire.to_string(),
        power: it.power.as_ref().map(cited),
        ratings: (it.ratings.iter())
            .map(|(terminal, it)| Rating {
                terminal,
                current: cited(it),
            })
            .collect(),
        pins: it.pins.iter().map(pin).collect(),
        tells: (it.tells.iter())
            .map(|(when, means)| Tell {
                when,
                means: Cited {
                    value: &means.value,
                    source: &means.source,
                    basis: means.basis,
                },
            })
            .collect(),
        seen: Seen {
            from: &it.seen.says.value,
            edge: &it.seen.edge,
            rows: &it.seen.rows,
            source: &it.seen.says.source,
            basis: it.seen.says.basis,
        },
        caution: &it.caution,
        source: &it.source.source,
        basis: it.source.basis,
    }
}
