//! Region profiles: voltages, limits, conductor names and colours, receptacles, breaker families, each with source.

use metrology::{Celsius, Hertz, Sourced, Volts};

use crate::model::Earthing;

/// A region profile, read from `data/*.toml` once.
#[derive(Clone, Debug)]
pub struct Region {
    /// Identifier in files: `north-america`, `iec-230`, `japan`.
    pub id: String,
    /// Words for people.
    pub name: String,
    /// Nominal frequency (Japan has two; the usual first).
    pub frequencies: Vec<Hertz>,
    /// Voltage systems in use.
    pub systems: Vec<System>,
    /// Limits of line-neutral voltage at an outlet and so on, by key (`outlet.low`, `outlet.high`,
    /// `neutral-earth.advice`, `neutral-earth.defect`, ...).
    pub limits: Vec<(String, Sourced<Volts>)>,
    /// What conductors and things are called on screens.
    pub words: Words,
    /// Conductor colours by conductor (`line`, `neutral`, `earth`, `line-2`, `line-3`).
    pub colours: Vec<(String, Sourced<String>)>,
    /// Receptacle shapes.
    pub receptacles: Vec<Receptacle>,
    /// Breaker families, e.g. trip curves by name, with source.
    pub breakers: Vec<(String, Sourced<String>)>,
    /// Usual conductor temperature in service.
    pub conductor_temperature: Sourced<Celsius>,
}

/// A voltage system.
#[derive(Clone, Debug, PartialEq)]
pub struct System {
    /// As written in files: `split-phase 120/240 V`.
    pub id: String,
    /// The legs.
    pub legs: Vec<Leg>,
    /// Earthing usual with it, first is the default.
    pub earthings: Vec<Earthing>,
}

/// One leg of a system: line to neutral.
#[derive(Clone, Debug, PartialEq)]
pub struct Leg {
    /// Name on screens: `A`, `B`, `L1`.
    pub name: String,
    /// Nominal volts to neutral.
    pub volts: Volts,
    /// Angle in radians, leg A at zero.
    pub angle: f64,
}

/// The words of a region.
#[derive(Clone, Debug, PartialEq)]
pub struct Words {
    /// `hot` or `line`.
    pub line: String,
    /// `neutral`.
    pub neutral: String,
    /// `ground` or `earth`.
    pub earth: String,
    /// `receptacle`/`outlet`/`socket-outlet`.
    pub outlet: String,
    /// `panel`/`distribution board`.
    pub panel: String,
    /// `ground-fault device`/`residual-current device`.
    pub residual: String,
    /// `the utility`/`the network operator`.
    pub utility: String,
    /// `licensed electrician` in the words of the region.
    pub electrician: String,
}

/// A receptacle shape.
#[derive(Clone, Debug, PartialEq)]
pub struct Receptacle {
    /// Identifier in files: `5-15`, `cee-7-3`.
    pub id: String,
    /// Words.
    pub name: String,
    /// Whether line and neutral slots are told apart; where not, a reversal verdict must not be given.
    pub polarity: Polarity,
    /// Whether it has an earth contact.
    pub earth_contact: bool,
    /// Nominal volts between its first two contacts.
    pub volts: Volts,
    /// Source.
    pub source: Sourced<String>,
}

/// Whether a receptacle tells line from neutral.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Polarity {
    /// It does.
    Defined,
    /// The plug fits both ways.
    Undefined,
}
