//! What the pins of a desktop supply carry: signals, and the limits that the design guides set for them, from `data/rails.toml`.

mod read;

use std::fmt;
use std::sync::OnceLock;

use metrology::{Basis, Limits, Sourced, Volts};
use serde::{Deserialize, Serialize};

use crate::supply::Guide;

/// What a pin carries.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
pub enum Signal {
    /// Main rail of 12 V.
    #[serde(rename = "+12 V")]
    Plus12,
    /// Main rail of 5 V.
    #[serde(rename = "+5 V")]
    Plus5,
    /// Main rail of 3.3 V.
    #[serde(rename = "+3.3 V")]
    Plus3,
    /// Negative rail of 12 V.
    #[serde(rename = "-12 V")]
    Minus12,
    /// Negative rail of 5 V.
    #[serde(rename = "-5 V")]
    Minus5,
    /// Standby rail of 5 V.
    #[serde(rename = "+5 VSB")]
    Standby5,
    /// Standby rail of 12 V.
    #[serde(rename = "+12 VSB")]
    Standby12,
    /// Return.
    #[serde(rename = "COM")]
    Com,
    /// The board asks for the rails.
    #[serde(rename = "PS_ON#")]
    PsOn,
    /// The supply says that its rails are good.
    #[serde(rename = "PWR_OK")]
    PwrOk,
    /// A cable is there.
    #[serde(rename = "sense")]
    Sense,
    /// What a cable may carry, first bit.
    #[serde(rename = "SENSE0")]
    Sense0,
    /// What a cable may carry, second bit.
    #[serde(rename = "SENSE1")]
    Sense1,
    /// The card's power is in order.
    #[serde(rename = "CARD_PWR_STABLE")]
    CardStable,
    /// The card sees a cable.
    #[serde(rename = "CARD_CBL_PRES#")]
    CardCable,
    /// A drive is turned off.
    #[serde(rename = "PWDIS")]
    Disable,
    /// A drive waits with its spin-up.
    #[serde(rename = "spin-up")]
    SpinUp,
    /// Nothing.
    #[serde(rename = "reserved")]
    Reserved,
}

/// Limits of a rail, at the load end of the connectors.
#[derive(Clone, Debug, PartialEq)]
pub struct Rail {
    /// Which rail.
    pub signal: Signal,
    /// By which guides.
    pub guides: Vec<Guide>,
    /// What it is meant to be.
    pub nominal: Volts,
    /// Lowest and highest.
    pub limits: Sourced<Limits<Volts>>,
}

/// A span of time that the guides set.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Timing {
    /// As the guides name it: `T3`.
    pub id: String,
    /// From what to what.
    pub says: String,
    /// How long, by guide.
    pub is: Sourced<String>,
}

/// Everything that `rails.toml` says.
#[derive(Clone, Debug)]
pub struct Rails {
    signals: Vec<(Signal, String, Sourced<String>)>,
    rails: Vec<Rail>,
    levels: Vec<(String, Sourced<Limits<Volts>>)>,
    times: Vec<Timing>,
    trips: Vec<(Signal, Sourced<Limits<Volts>>)>,
    ripples: Vec<(Signal, Sourced<Volts>)>,
}

/// Keys of the levels that the program asks for.
pub const LEVEL_KEYS: [&str; 9] = [
    "ps-on.on",
    "ps-on.off",
    "ps-on.usual-off",
    "pwr-ok.low",
    "pwr-ok.high",
    "pwr-ok.highest",
    "com",
    "dead",
    "extra-low",
];

static NO_LEVEL: Sourced<Limits<Volts>> = Sourced::new(
    Limits::between(Volts::from_si(f64::NAN), Volts::from_si(f64::NAN)),
    Basis::Judgement,
    "no such level",
);

/// The built-in tables.
pub fn rails() -> &'static Rails {
    static ALL: OnceLock<Rails> = OnceLock::new();
    ALL.get_or_init(|| {
        read::rails(include_str!("../data/rails.toml"))
            .expect("`data` reads, held by tests/connector.rs")
    })
}

impl Rails {
    /// Limits of a signal by one guide, where that guide has such a rail.
    pub fn rail(&self, signal: Signal, guide: Guide) -> Option<&Rail> {
        self.rails
            .iter()
            .find(|it| it.signal == signal && it.guides.contains(&guide))
    }

    /// A level against COM, by one of [`LEVEL_KEYS`]; against any other nothing conforms or fails.
    pub fn level(&self, key: &str) -> &Sourced<Limits<Volts>> {
        let found = self.levels.iter().find(|(it, _)| it == key);
        found.map_or(&NO_LEVEL, |(_, it)| it)
    }

    /// What the guides set in time.
    pub fn times(&self) -> &[Timing] {
        &self.times
    }

    /// Between which voltages a supply has to shut down because a rail is too high.
    pub fn trip(&self, signal: Signal) -> Option<&Sourced<Limits<Volts>>> {
        let found = self.trips.iter().find(|(it, _)| *it == signal);
        found.map(|(_, it)| it)
    }

    /// Ripple and noise allowed, peak to peak.
    pub fn ripple(&self, signal: Signal) -> Option<&Sourced<Volts>> {
        let found = self.ripples.iter().find(|(it, _)| *it == signal);
        found.map(|(_, it)| it)
    }
}

impl Signal {
    /// Every signal, in the order of the data.
    pub fn all() -> impl Iterator<Item = Signal> {
        rails().signals.iter().map(|(it, ..)| *it)
    }

    /// A few letters for a drawing.
    pub fn short(self) -> &'static str {
        self.entry().map_or("", |(_, short, _)| short)
    }

    /// What it is for, with its source.
    pub fn says(self) -> Option<&'static Sourced<String>> {
        self.entry().map(|(.., it)| it)
    }

    /// What it is meant to be, where it is a rail.
    pub fn nominal(self) -> Option<Volts> {
        let mut of = rails().rails.iter().filter(|it| it.signal == self);
        of.next().map(|it| it.nominal)
    }

    fn entry(self) -> Option<&'static (Signal, String, Sourced<String>)> {
        rails().signals.iter().find(|(it, ..)| *it == self)
    }
}

/// A guide by its name in files.
pub(crate) fn guide_named(name: &str) -> Result<Guide, String> {
    let found = Guide::NAMES.iter().find(|(it, _)| *it == name);
    found
        .map(|(_, it)| *it)
        .ok_or_else(|| format!("there is no guide \"{name}\""))
}

/// Its name in files.
pub(crate) fn guide_name(guide: Guide) -> &'static str {
    let found = Guide::NAMES.iter().find(|(_, it)| *it == guide);
    found.map_or("", |(name, _)| name)
}

/// The name of a unit variant as it stands in files.
fn written(it: &impl Serialize) -> String {
    match serde_json::to_value(it) {
        Ok(serde_json::Value::String(it)) => it,
        _ => String::new(), // not reached: unit variants are texts
    }
}

impl fmt::Display for Signal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&written(self))
    }
}
