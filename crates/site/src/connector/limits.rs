//! The limits that hold at a pin, each with what it holds for and its source.

use metrology::{Limits, Sourced, Volts};
use serde::Serialize;

use super::{Connector, Pin};
use crate::finding::Limit;
use crate::signal::{Signal, rails};

/// A limit and what it holds for.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Held {
    /// A guide, or a state: `ATX 3.x`, `asked to run`. Empty where it always holds.
    pub when: String,
    /// The limit.
    pub limit: Limit,
}

impl Connector {
    /// What a reading at this pin is held against, against COM. Empty where no guide gives a limit.
    pub fn limits(&self, pin: &Pin) -> Vec<Held> {
        let held = |when: &str, key: &str| Held {
            when: when.to_owned(),
            limit: limit_at(key),
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
                let of = |guide| rails().rail(signal, guide);
                let by_guide: Vec<Held> = (self.guides.iter())
                    .filter_map(|it| of(*it))
                    .map(|it| Held {
                        when: it.guide.name().to_owned(),
                        limit: limit_of(&it.limits),
                    })
                    .collect();
                match &by_guide[..] {
                    [first, rest @ ..]
                        if rest.iter().all(|it| it.limit.says == first.limit.says) =>
                    {
                        vec![Held {
                            when: String::new(),
                            ..first.clone()
                        }]
                    }
                    _ => by_guide,
                }
            }
        }
    }
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
