//! Meters: ranges, resolution, accuracy, input and what they make of a wave that is no sine.

mod class;
mod response;

pub use response::{Response, Wave};

use crate::accuracy::Accuracy;
use crate::quantity::{Farads, Hertz, Ohms, Siemens, Volts};
use crate::sourced::Basis;
use num_complex::Complex64;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a meter measures.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Function {
    /// Alternating volts.
    AcVolts,
    /// Direct volts.
    DcVolts,
    /// Resistance, power off.
    Ohms,
    /// Alternating current, with a clamp.
    AcAmps,
    /// Frequency.
    Hertz,
}

/// Measurement category: where in an installation a meter may be used (IEC 61010-2-030).
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
pub enum Category {
    /// Equipment connected by a plug.
    II,
    /// Fixed wiring: panels, circuits, outlets.
    III,
    /// The origin of the installation.
    IV,
}

/// One range of one function. The numbers are in the unit of the function: volts, ohms, amperes or hertz.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// Largest reading.
    pub full_scale: f64,
    /// One unit of the last digit.
    pub resolution: f64,
    /// What the data sheet promises.
    pub accuracy: Accuracy,
}

/// Which range of a meter: readings on the same one share its gain error.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RangeId {
    /// What is measured.
    pub function: Function,
    /// Place of the range among the function's, smallest first.
    pub index: u8,
}

/// What a meter's input puts across the pair it reads: a resistance with a capacitance beside it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Resistance.
    pub resistance: Ohms,
    /// Capacitance in parallel.
    pub capacitance: Farads,
}

impl Input {
    /// Admittance at a frequency: `1/R + jωC`.
    pub fn admittance(&self, frequency: Hertz) -> Siemens<Complex64> {
        Siemens::<Complex64>::from(1.0 / self.resistance) + self.capacitance.admittance(frequency)
    }
}

/// One function of a meter with its ranges.
#[derive(Debug, Clone, PartialEq)]
pub struct Scale {
    /// What it measures.
    pub function: Function,
    /// Its ranges, smallest first; at least one.
    pub ranges: Vec<Range>,
    /// The ordinary input, where it loads what it reads (alternating volts).
    pub input: Option<Input>,
    /// The low-impedance input, where the meter has one.
    pub low_impedance: Option<Input>,
    /// How far these figures may be trusted.
    pub basis: Basis,
    /// Where they come from.
    pub source: String,
}

/// A meter as far as it is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Meter {
    /// What people call it.
    pub name: String,
    /// The class that its figures were taken from, if any.
    pub class: Option<String>,
    /// What it makes of a wave that is no sine.
    pub response: Response,
    /// Measurement category.
    pub category: Category,
    /// Voltage to earth that the category holds for.
    pub rated: Volts,
    /// What it measures. A function that is not listed is taken from [`Meter::unknown`].
    pub functions: Vec<Scale>,
    /// How far category, rating and response may be trusted.
    pub basis: Basis,
    /// Where they come from.
    pub source: String,
}

/// Whether a meter may be put to an outlet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fitness {
    /// Category or rated voltage too low.
    Unfit,
    /// Category II at the line voltage: the least that is accepted.
    TheLeast,
    /// Category III or better at the line voltage.
    Fit,
}

impl Meter {
    /// A meter of which nothing is told: careful figures, 10 MΩ.
    pub fn unknown() -> &'static Meter {
        class::unknown()
    }

    /// The generic meter of a class (`cheap`, `mid`, `good`, `two-pole`, `high-grade`, ...).
    pub fn class(id: &str) -> Option<&'static Meter> {
        Meter::classes()
            .iter()
            .find(|it| it.class.as_deref() == Some(id))
    }

    /// All classes, the unknown meter first.
    pub fn classes() -> &'static [Meter] {
        class::all()
    }

    /// The scale of a function, if this meter is known to have it.
    pub fn scale(&self, function: Function) -> Option<&Scale> {
        self.functions
            .iter()
            .find(|it| it.function == function && !it.ranges.is_empty())
    }

    /// Ranges of a function, smallest first; those of [`Meter::unknown`] where this meter's are not known.
    pub fn ranges(&self, function: Function) -> &[Range] {
        let known = self
            .scale(function)
            .or_else(|| Meter::unknown().scale(function));
        known.map_or(&[], |it| &it.ranges)
    }

    /// The range that an auto-ranging meter takes for a reading: the smallest that holds it, else the largest.
    pub fn range_for(&self, function: Function, reading: f64) -> &Range {
        self.range(self.range_id_for(function, reading))
    }

    /// Which range that is.
    pub fn range_id_for(&self, function: Function, reading: f64) -> RangeId {
        let ranges = self.ranges(function);
        let holding = ranges.iter().position(|it| reading.abs() <= it.full_scale);
        let index = holding.unwrap_or(ranges.len().saturating_sub(1));
        RangeId {
            function,
            index: u8::try_from(index).unwrap_or(u8::MAX),
        }
    }

    /// A range by its place; the largest where there are fewer.
    pub fn range(&self, id: RangeId) -> &Range {
        let ranges = self.ranges(id.function);
        let index = usize::from(id.index).min(ranges.len().saturating_sub(1));
        // `unknown` lists at least one range of every function; a test of its table holds that.
        &ranges[index]
    }

    /// The ordinary input for alternating volts, as known or as of [`Meter::unknown`].
    pub fn input(&self) -> Input {
        let of = |meter: &Meter| meter.scale(Function::AcVolts).and_then(|it| it.input);
        of(self)
            .or_else(|| of(Meter::unknown()))
            .unwrap_or(class::ORDINARY_INPUT)
    }

    /// The low-impedance input for alternating volts, where the meter has one.
    pub fn low_impedance_input(&self) -> Option<Input> {
        self.scale(Function::AcVolts)
            .and_then(|it| it.low_impedance)
    }

    /// The same meter with another accuracy on every range of a function, as told by its owner.
    pub fn with_accuracy(self, function: Function, accuracy: Accuracy) -> Meter {
        self.with_scale(function, |scale| {
            scale
                .ranges
                .iter_mut()
                .for_each(|it| it.accuracy = accuracy)
        })
    }

    /// The same meter with another ordinary input for alternating volts.
    pub fn with_input(self, input: Input) -> Meter {
        self.with_scale(Function::AcVolts, |scale| scale.input = Some(input))
    }

    /// The same meter with another low-impedance input for alternating volts.
    pub fn with_low_impedance(self, input: Input) -> Meter {
        self.with_scale(Function::AcVolts, |scale| scale.low_impedance = Some(input))
    }

    fn with_scale(mut self, function: Function, change: impl FnOnce(&mut Scale)) -> Meter {
        if self.scale(function).is_none() {
            self.functions.retain(|it| it.function != function);
            self.functions
                .extend(Meter::unknown().scale(function).cloned());
        }
        if let Some(scale) = self.functions.iter_mut().find(|it| it.function == function) {
            change(scale);
        }
        self
    }

    /// Whether it may be put to an outlet of this voltage to earth. Source: IEC 61010-2-030; a reading at an outlet asks
    /// for category III at the line voltage, category II at the least (common practice).
    pub fn fitness(&self, line_to_earth: Volts) -> Fitness {
        match self.category {
            _ if self.rated < line_to_earth => Fitness::Unfit,
            Category::II => Fitness::TheLeast,
            Category::III | Category::IV => Fitness::Fit,
        }
    }
}
