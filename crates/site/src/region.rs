//! Region profiles: voltages, limits, conductor names and colours, receptacles, breaker families, each with source.

mod read;

use std::sync::OnceLock;

use metrology::{Amps, Basis, Celsius, Fraction, Hertz, Sourced, Volts};

use crate::model::{Cable, Earthing};

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
    /// The band of each nominal frequency, in the order of [`Region::frequencies`].
    pub bands: Vec<Band>,
    /// Limits by key (`outlet.low`, `outlet.high`, `neutral-earth.advice`, `neutral-earth.defect`, ...).
    pub limits: Limits,
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
    /// Cable to expect behind an overcurrent device of at most this rating, smallest rating first.
    pub cables: Vec<(Amps, Sourced<Cable>)>,
    /// What is taken where a file says nothing.
    pub usual: Usual,
}

/// A nominal frequency and the band that a sound supply keeps.
#[derive(Clone, Debug)]
pub struct Band {
    /// Nominal frequency.
    pub nominal: Hertz,
    /// Lowest.
    pub low: Sourced<Hertz>,
    /// Highest.
    pub high: Sourced<Hertz>,
}

/// Limits by key, by what they are measured in.
#[derive(Clone, Debug, Default)]
pub struct Limits {
    /// Voltages.
    pub volts: Vec<(String, Sourced<Volts>)>,
    /// Currents.
    pub amps: Vec<(String, Sourced<Amps>)>,
    /// Shares of a whole.
    pub fractions: Vec<(String, Sourced<Fraction>)>,
}

/// What is taken where a file says nothing.
#[derive(Clone, Debug)]
pub struct Usual {
    /// Overcurrent device of a branch circuit.
    pub breaker: Sourced<Amps>,
    /// Cable between panels.
    pub feeder: Sourced<Cable>,
    /// Cable of an extension cord or strip.
    pub cord: Sourced<Cable>,
}

/// The voltage limits that hold between two contacts of an outlet.
#[derive(Clone, Copy, Debug)]
pub struct Range {
    /// Below this equipment may not work.
    pub low: &'static Sourced<Volts>,
    /// Above this equipment may be harmed.
    pub high: &'static Sourced<Volts>,
    /// A sound supply is seldom below this.
    pub usual_low: &'static Sourced<Volts>,
    /// A sound supply is seldom above this.
    pub usual_high: &'static Sourced<Volts>,
}

/// Keys of the limits in volts that every region has.
pub const VOLT_KEYS: [&str; 10] = [
    "outlet.low",
    "outlet.high",
    "outlet.usual-low",
    "outlet.usual-high",
    "neutral-earth.advice",
    "neutral-earth.defect",
    "neutral-earth.advice.tt",
    "neutral-earth.defect.tt",
    "touch.limit",
    "touch.limit-wet",
];

/// Keys of the limits in amperes that every region has.
pub const AMP_KEYS: [&str; 1] = ["residual.rated"];

/// Keys of the limits that are shares, which every region has.
pub const FRACTION_KEYS: [&str; 2] = ["drop.branch", "drop.total"];

const NO_LIMIT: &str = "no such limit in this region";
static NO_VOLTS: Sourced<Volts> =
    Sourced::new(Volts::from_si(f64::NAN), Basis::Judgement, NO_LIMIT);
static NO_AMPS: Sourced<Amps> = Sourced::new(Amps::from_si(f64::NAN), Basis::Judgement, NO_LIMIT);
static NO_HERTZ: Sourced<Hertz> =
    Sourced::new(Hertz::from_si(f64::NAN), Basis::Judgement, NO_LIMIT);
static NO_FRACTION: Sourced<Fraction> =
    Sourced::new(Fraction::from_si(f64::NAN), Basis::Judgement, NO_LIMIT);

fn under<'a, T>(list: &'a [(String, Sourced<T>)], key: &str) -> Option<&'a Sourced<T>> {
    list.iter().find(|(it, _)| it == key).map(|(_, it)| it)
}

impl Region {
    /// Every region there is, the first being North America.
    pub fn all() -> &'static [Region] {
        static ALL: OnceLock<Vec<Region>> = OnceLock::new();
        ALL.get_or_init(read::built_in)
    }

    /// The region with this identifier, as `north-america`.
    pub fn find(id: &str) -> Option<&'static Region> {
        Region::all().iter().find(|it| it.id == id)
    }

    /// A limit in volts. A key that the region does not have gives NaN, against which no value conforms or fails;
    /// the keys that every region has are [`VOLT_KEYS`], held by a test.
    pub fn volts(&self, key: &str) -> &Sourced<Volts> {
        under(&self.limits.volts, key).unwrap_or(&NO_VOLTS)
    }

    /// A limit in amperes, by one of [`AMP_KEYS`]; NaN for any other.
    pub fn amps(&self, key: &str) -> &Sourced<Amps> {
        under(&self.limits.amps, key).unwrap_or(&NO_AMPS)
    }

    /// A limit that is a share, by one of [`FRACTION_KEYS`]; NaN for any other.
    pub fn fraction(&self, key: &str) -> &Sourced<Fraction> {
        under(&self.limits.fractions, key).unwrap_or(&NO_FRACTION)
    }

    /// The band of the usual frequency: `frequency.low`, `frequency.high`; NaN for any other key.
    pub fn hertz(&self, key: &str) -> &Sourced<Hertz> {
        match (key, self.bands.first()) {
            ("frequency.low", Some(band)) => &band.low,
            ("frequency.high", Some(band)) => &band.high,
            _ => &NO_HERTZ,
        }
    }

    /// The band around the nominal frequency nearest to this one.
    pub fn band(&self, near: Hertz) -> Option<&Band> {
        let distance = |it: &Band| (it.nominal - near).abs();
        self.bands
            .iter()
            .min_by(|a, b| distance(a).si().total_cmp(&distance(b).si()))
    }

    /// Neutral-earth voltage from which a reading under load asks for advice.
    pub fn neutral_earth_advice(&self, earthing: Earthing) -> &Sourced<Volts> {
        self.volts(match earthing {
            Earthing::TT => "neutral-earth.advice.tt",
            Earthing::TnS | Earthing::TnCS => "neutral-earth.advice",
        })
    }

    /// Neutral-earth voltage from which a reading under load is a defect.
    pub fn neutral_earth_defect(&self, earthing: Earthing) -> &Sourced<Volts> {
        self.volts(match earthing {
            Earthing::TT => "neutral-earth.defect.tt",
            Earthing::TnS | Earthing::TnCS => "neutral-earth.defect",
        })
    }

    /// The limits between the first two contacts of an outlet on these legs.
    pub fn range(&'static self, system: &System, leg: usize, second: Option<usize>) -> Range {
        let angle = |leg: usize| system.legs.get(leg).map_or(0.0, |it| it.angle);
        let kind = match second.map(|second| (angle(leg) - angle(second)).abs()) {
            None => "outlet",
            // legs in opposition are half a turn apart, those of a wye a third
            Some(apart) if (apart - std::f64::consts::PI).abs() < 0.5 => "two-leg",
            Some(_) => "wye",
        };
        let limit = |end: &str| self.volts(&format!("{kind}.{end}"));
        Range {
            low: limit("low"),
            high: limit("high"),
            usual_low: limit("usual-low"),
            usual_high: limit("usual-high"),
        }
    }

    /// The cable to expect behind an overcurrent device, or behind the usual one.
    pub fn cable_for(&self, breaker: Option<Amps>) -> &Sourced<Cable> {
        let rating = breaker.unwrap_or(self.usual.breaker.value);
        let fits = |(up_to, _): &&(Amps, Sourced<Cable>)| rating <= *up_to;
        self.cables
            .iter()
            .find(fits)
            .map_or(&self.usual.feeder, |(_, it)| it)
    }

    /// The system with this name; blanks, dashes and case do not count.
    pub fn system(&self, name: &str) -> Option<&System> {
        let name = crate::file::fold(name);
        self.systems
            .iter()
            .find(|it| crate::file::fold(&it.id) == name)
    }
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
    /// Where that is said.
    pub source: Sourced<()>,
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

impl System {
    /// The leg with this name.
    pub fn leg(&self, name: &str) -> Option<usize> {
        let same = |it: &Leg| it.name.eq_ignore_ascii_case(name.trim());
        self.legs.iter().position(same)
    }

    /// Voltage between two legs, or of one leg to neutral.
    pub fn volts(&self, leg: usize, second: Option<usize>) -> Volts {
        let phasor = |leg: usize| {
            let leg = self.legs.get(leg)?;
            let (sin, cos) = leg.angle.sin_cos();
            Some((leg.volts.si() * cos, leg.volts.si() * sin))
        };
        let a = phasor(leg).unwrap_or_default();
        let b = second.and_then(phasor).unwrap_or_default();
        Volts::from_si((a.0 - b.0).hypot(a.1 - b.1))
    }
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
    /// Where these words are used.
    pub source: Sourced<()>,
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
    /// How it is told apart, in words.
    pub says: String,
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
