//! The limits that hold at a pin, each with what it holds for and its source.

use metrology::{Limits, Sourced, Volts};
use serde::Serialize;

use super::{Connector, Pin};
use crate::finding::Limit;
use crate::signal::{Signal, guide_name, rails};
use crate::supply::Guide;

/// A limit and what it holds for.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Held {
    /// A guide, or a state: `ATX 3.x`, `asked to run`. Empty where it always holds.
    pub when: String,
    /// The limit.
    pub limit: Limit,
}

impl Held {
    /// A level that always holds, by its key.
    pub fn level(key: &str) -> Held {
        Held {
            when: String::new(),
            limit: limit_at(key),
        }
    }
}

impl Connector {
    /// What a reading at this pin is held against, against COM. Empty where no guide gives a limit.
    pub fn limits(&self, pin: &Pin) -> Vec<Held> {
        self.limits_by(pin, &self.guides)
    }

    /// The same by these guides only.
    pub fn limits_by(&self, pin: &Pin, guides: &[Guide]) -> Vec<Held> {
        let held = |when: &str, key: &str| Held {
            when: when.to_owned(),
            ..Held::level(key)
        };
        match pin.signal {
            Signal::Com => vec![held("", "com")],
            Signal::PsOn => vec![
                held("asked to run", "ps-on.on"),
                held("told to stay off", "ps-on.off"),
            ],
            Signal::PwrOk => vec![
                held("rails not good", "pwr-ok.low"),
                held("rails good", "pwr-ok.high"),
            ],
            signal => {
                let mut by_guide: Vec<Held> = Vec::new();
                for guide in guides {
                    let Some(rail) = rails().rail(signal, *guide) else {
                        continue;
                    };
                    let limit = limit_of(&rail.limits);
                    let same = by_guide.iter_mut().find(|it| it.limit.says == limit.says);
                    match same {
                        Some(it) => it.when = format!("{}, {}", it.when, guide_name(*guide)),
                        None => by_guide.push(Held {
                            when: guide_name(*guide).to_owned(),
                            limit,
                        }),
                    }
                }
                if let [one] = &mut by_guide[..] {
                    one.when.clear();
                }
                by_guide
            }
        }
    }
}

/// Between which voltages a supply has to shut down because a rail is too high, where a guide says so.
pub fn shuts_down(signal: Signal) -> Option<Limit> {
    rails().trip(signal).map(limit_of)
}

pub(super) fn limit_at(key: &str) -> Limit {
    limit_of(rails().level(key))
}

pub(super) fn limit_of(it: &Sourced<Limits<Volts>>) -> Limit {
    Limit {
        says: span(&it.value),
        source: it.source.to_string(),
        basis: it.basis,
    }
}

/// Limits in words: `11.2 V to 12.6 V`, `up to 0.8 V`.
pub(super) fn span(limits: &Limits<Volts>) -> String {
    match (limits.lower, limits.upper) {
        (Some(low), Some(high)) => format!("{low} to {high}"),
        (Some(low), None) => format!("from {low}"),
        (None, Some(high)) => format!("up to {high}"),
        (None, None) => String::new(),
    }
}
