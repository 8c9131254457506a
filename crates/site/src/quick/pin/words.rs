//! The words that a reading at a pin is told in. Adding one is one entry here; names of connectors stand with them in the data.

use crate::connector::{Connector, Machine};
use crate::quick::cut::Word;
use crate::signal::Signal;

/// Words that say nothing of their own.
pub(super) const FILLERS: [&str; 23] = [
    "with",
    "a",
    "an",
    "the",
    "at",
    "on",
    "of",
    "is",
    "was",
    "reads",
    "read",
    "shows",
    "measured",
    "connector",
    "plug",
    "to",
    "com",
    "machine",
    "meter",
    "multimeter",
    "ordinary",
    "wire",
    "against",
];

/// What the machine did, in words.
pub(super) const MACHINES: [(&str, Machine); 12] = [
    ("machine on", Machine::On),
    ("running", Machine::On),
    ("under load", Machine::On),
    ("with load", Machine::On),
    ("idle", Machine::On),
    ("started", Machine::On),
    ("machine off", Machine::Standby),
    ("standby", Machine::Standby),
    ("off", Machine::Standby),
    ("unplugged", Machine::Unplugged),
    ("cord out", Machine::Unplugged),
    ("switch off", Machine::Unplugged),
];

/// Signals by the words people have for them. Rails have none: "12 V" would be a value as well.
pub(super) const SIGNALS: [(&str, Signal); 12] = [
    ("ps_on#", Signal::PsOn),
    ("ps_on", Signal::PsOn),
    ("ps-on", Signal::PsOn),
    ("ps on", Signal::PsOn),
    ("pson", Signal::PsOn),
    ("pwr_ok", Signal::PwrOk),
    ("pwr-ok", Signal::PwrOk),
    ("power ok", Signal::PwrOk),
    ("power good", Signal::PwrOk),
    ("5vsb", Signal::Standby5),
    ("standby rail", Signal::Standby5),
    ("12vsb", Signal::Standby12),
];

/// The longest of some phrases that the words begin with.
pub(super) fn said<'p, T>(
    words: &[Word],
    phrases: impl Iterator<Item = (&'p str, T)>,
) -> Option<(T, usize)> {
    let fits = |phrase: &str| {
        let parts = phrase.split_whitespace();
        let n = parts.clone().count();
        let same = n <= words.len() && parts.zip(words).all(|(part, word)| part == word.low);
        same.then_some(n)
    };
    phrases
        .filter_map(|(phrase, it)| fits(phrase).map(|n| (it, n)))
        .max_by_key(|(_, n)| *n)
}

/// Connectors by what they are called.
pub(super) fn connectors() -> impl Iterator<Item = (&'static str, &'static Connector)> {
    let names = |it: &'static Connector| it.called.iter().map(move |name| (name.as_str(), it));
    Connector::all().iter().flat_map(names)
}

/// Colours of wires.
pub(super) fn colours() -> impl Iterator<Item = &'static str> {
    let of = |it: &'static Connector| it.pins.iter().map(|it| it.colour.as_str());
    Connector::all()
        .iter()
        .flat_map(of)
        .filter(|it| !it.contains(' '))
}
