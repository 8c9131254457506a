//! What a fault is: where it sits, how bad it can be, how often it is met, what it changes, what follows from it.
//!
//! Each fault is one file in `faults/`, a `Fault` without defaults, so that one without an action, a caution or a
//! prevalence does not compile. Prevalences, severities, harms and signs are judgement unless they say otherwise.

use chain::alter::Alteration;
use chain::element::Element;
use metrology::Basis;
use site::finding::{Action, Verdict};
use site::model::Site;
use site::visit::{Condition, Pin, Reach};

/// One kind of fault.
#[derive(Debug)]
pub struct Fault {
    /// Identifier in files and output, kebab-case, never renamed.
    pub id: &'static str,
    /// What it is, one clause; `{at}`, `{before}`, `{circuit}`, `{panel}`, `{line}`, `{neutral}`, `{earth}` are filled in.
    pub says: &'static str,
    /// Where it may sit.
    pub sits: Sits,
    /// How bad it may be.
    pub severity: Severity,
    /// How often it is met at one such place.
    pub prevalence: Prevalence,
    /// What it changes in the chain at a place, under a condition; `None` where the place cannot have it.
    pub alters: fn(&Place<'_>, &Condition) -> Option<Vec<Alteration>>,
    /// What it does to readings, for mistakes of measuring.
    pub misreads: Misreads,
    /// What follows from it, by severity: the last step whose `from` is not above the severity holds.
    pub steps: &'static [Step],
    /// What has to be done, one sentence, addressed to the one who may do it; never an instruction for work at a panel.
    pub mends: &'static str,
    /// The caution.
    pub caution: &'static str,
    /// How far its effects reach.
    pub reach: Reach,
    /// Signs that go with it, and how probable each is given the fault.
    pub signs: &'static [(Kind, f64)],
}

/// Where a fault may sit; it is tried at every such place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sits {
    /// The supply in front of the premises.
    Supply,
    /// The service conductors.
    Service,
    /// The service panel.
    ServicePanel,
    /// A panel fed by another.
    SubPanel,
    /// The start of a circuit.
    Circuit,
    /// A circuit that shares its neutral with another.
    SharedNeutral,
    /// A fixed cable to an outlet.
    Run,
    /// An extension cord or strip.
    Cord,
    /// An outlet's terminals and contacts.
    Outlet,
    /// A switched outlet, or one of which nobody knows.
    SwitchedOutlet,
    /// A meter and its leads.
    Meter,
}

/// One place where a fault is tried.
#[derive(Clone, Copy, Debug)]
pub struct Place<'a> {
    /// The site.
    pub site: &'a Site,
    /// The element.
    pub at: Element,
    /// Number of the leg, for faults of one leg (of the service, else 0).
    pub leg: usize,
}

/// How bad a fault may be. Ohms, a factor on the voltage, or hertz, as its alterations say.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Severity {
    /// There is only one way to have it.
    One,
    /// Log-uniform between two values.
    LogUniform(f64, f64),
    /// Uniform between two values.
    Uniform(f64, f64),
}

impl Severity {
    /// The severity at a level in (0, 1).
    #[inline]
    #[must_use]
    pub fn at(self, level: f64) -> f64 {
        match self {
            Severity::One => 0.0,
            Severity::LogUniform(low, high) => low * (high / low).powf(level),
            Severity::Uniform(low, high) => low + (high - low) * level,
        }
    }
}

/// How often a fault is met at one such place, with what it rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prevalence {
    /// Probability at one such place of premises at large; [`crate::causes`] has what a call adds.
    pub value: f64,
    /// How far it may be trusted.
    pub basis: Basis,
    /// What it rests on.
    pub source: &'static str,
}

impl Prevalence {
    /// Our guess.
    #[must_use]
    pub const fn judged(value: f64, source: &'static str) -> Self {
        Prevalence {
            value,
            basis: Basis::Judgement,
            source,
        }
    }
}

/// What a mistake of measuring does to readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Misreads {
    /// Nothing: it is a fault of the installation.
    Nothing,
    /// Two contacts of the outlet are named the wrong way round in all readings there.
    NamesExchanged(Pin, Pin),
    /// A lead is open: readings stay near zero, with some pick-up.
    LeadOpen,
    /// The meter stands on a function that does not see mains voltage.
    WrongFunction,
    /// A flat battery: readings are off by a factor, the severity.
    Factor,
}

/// What follows from a fault from a severity on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// Lowest severity of this step.
    pub from: f64,
    /// Verdict on the place.
    pub verdict: Verdict,
    /// What to do.
    pub action: Action,
    /// Who or what comes to harm if it stays in use.
    pub harm: Harm,
}

/// How likely harm is if it stays in use, 0 (cannot) to 1 (as good as certain with time).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Harm {
    /// A person gets a dangerous shock.
    pub shock: f64,
    /// Something catches fire.
    pub fire: f64,
    /// Equipment is destroyed.
    pub equipment: f64,
}

/// Signs without their details: what a fault makes more or less probable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// `Sign::BreakerTripped`.
    BreakerTripped,
    /// `Sign::ResidualTripped`.
    ResidualTripped,
    /// `Sign::ArcTripped`.
    ArcTripped,
    /// `Sign::Buzzing`.
    Buzzing,
    /// `Sign::Warm`.
    Warm,
    /// `Sign::Burnt`.
    Burnt,
    /// `Sign::Flicker`.
    Flicker,
    /// `Sign::Brightening`.
    Brightening,
    /// `Sign::Dimming`.
    Dimming,
    /// `Sign::LoosePlug`.
    LoosePlug,
    /// `Sign::EquipmentBurnt`.
    EquipmentBurnt,
    /// `Sign::Wet`.
    Wet,
    /// `Sign::AfterWorks`.
    AfterWorks,
    /// `Sign::AfterStorm`.
    AfterStorm,
    /// `Sign::SwitchMatters`.
    SwitchMatters,
    /// `Sign::SwitchOff`.
    SwitchOff,
    /// `Sign::OldWiring`.
    OldWiring,
    /// `Sign::NeutralBroken`.
    NeutralBroken,
    /// `Sign::EarthMissing`.
    EarthMissing,
}

impl Fault {
    /// What follows at a severity.
    #[must_use]
    pub fn step(&self, severity: f64) -> &Step {
        self.steps
            .iter()
            .rev()
            .find(|s| s.from <= severity)
            .unwrap_or(&self.steps[0])
    }

    /// True for mistakes of measuring.
    #[must_use]
    pub fn is_misreading(&self) -> bool {
        self.misreads != Misreads::Nothing
    }
}

/// Declares the modules of a catalogue and the list of their items.
macro_rules! catalogue {
    ($type:ty: $($name:ident),+ $(,)?) => {
        $(mod $name;)+
        /// Every item of the catalogue, in the order of its declaration.
        pub static ALL: &[&$type] = &[$(&$name::ITEM),+];
    };
}
pub(crate) use catalogue;
