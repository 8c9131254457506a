//! The generic classes, read from the table that is built in.

use super::{Category, Function, Input, Meter, Range, Response, Scale};
use crate::accuracy::Accuracy;
use crate::quantity::{Amps, Farads, Hertz, Ohms, Quantity, QuantityError, Volts};
use crate::sourced::Basis;
use serde::Deserialize;
use std::str::FromStr;
use std::sync::OnceLock;

const TABLE: &str = include_str!("../../data/meters.toml");

/// The input of an ordinary hand-held meter (field guides, published; capacitance judgement).
pub(super) const ORDINARY_INPUT: Input = Input {
    resistance: Ohms::from_si(10e6),
    capacitance: Farads::from_si(100e-12),
};

pub(super) fn all() -> &'static [Meter] {
    static CLASSES: OnceLock<Vec<Meter>> = OnceLock::new();
    CLASSES.get_or_init(|| {
        read(TABLE).expect("the built-in table of meters reads; a test reads it too")
    })
}

pub(super) fn unknown() -> &'static Meter {
    // The first class of the table; a test holds that.
    &all()[0]
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    class: Vec<ClassRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ClassRow {
    id: String,
    name: String,
    response: Response,
    category: Category,
    rated: Volts,
    basis: Basis,
    source: String,
    scale: Vec<ScaleRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ScaleRow {
    function: Function,
    accuracy: Accuracy,
    ranges: Vec<String>,
    input: Option<Input>,
    low_impedance: Option<Input>,
    basis: Basis,
    source: String,
}

fn read(text: &str) -> Result<Vec<Meter>, String> {
    let table: Table = toml::from_str(text).map_err(|it| it.to_string())?;
    table.class.into_iter().map(ClassRow::meter).collect()
}

impl ClassRow {
    fn meter(self) -> Result<Meter, String> {
        Ok(Meter {
            name: self.name,
            class: Some(self.id),
            response: self.response,
            category: self.category,
            rated: self.rated,
            functions: self
                .scale
                .into_iter()
                .map(ScaleRow::scale)
                .collect::<Result<_, _>>()?,
            basis: self.basis,
            source: self.source,
        })
    }
}

impl ScaleRow {
    fn scale(self) -> Result<Scale, String> {
        let range = |text: &String| -> Result<Range, String> {
            let (full_scale, resolution) = text
                .split_once('/')
                .ok_or_else(|| format!("\"{text}\" lacks its /"))?;
            let number = |part| self.function.number(part).map_err(|it| it.to_string());
            Ok(Range {
                full_scale: number(full_scale)?,
                resolution: number(resolution)?,
                accuracy: self.accuracy,
            })
        };
        let ranges = self.ranges.iter().map(range).collect::<Result<_, _>>()?;
        let Self {
            function,
            input,
            low_impedance,
            basis,
            source,
            ..
        } = self;
        Ok(Scale {
            function,
            ranges,
            input,
            low_impedance,
            basis,
            source,
        })
    }
}

impl Function {
    /// Every function there is.
    pub const ALL: [Function; 5] = [
        Function::AcVolts,
        Function::DcVolts,
        Function::Ohms,
        Function::AcAmps,
        Function::Hertz,
    ];

    /// A reading of this function as people write it, in its unit.
    pub(crate) fn number(self, text: &str) -> Result<f64, QuantityError> {
        fn number<Q: Quantity + FromStr<Err = QuantityError>>(
            text: &str,
        ) -> Result<f64, QuantityError> {
            text.parse::<Q>().map(Q::number)
        }
        match self {
            Function::AcVolts | Function::DcVolts => number::<Volts>(text),
            Function::Ohms => number::<Ohms>(text),
            Function::AcAmps => number::<Amps>(text),
            Function::Hertz => number::<Hertz>(text),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Fitness;
    use super::*;

    #[test]
    fn the_table_of_classes_is_sound() {
        let classes = read(TABLE).unwrap();
        assert_eq!(classes[0].class.as_deref(), Some("unknown"));
        for function in Function::ALL {
            assert!(
                classes[0].scale(function).is_some(),
                "the unknown meter lacks {function:?}"
            );
        }
        for meter in &classes {
            let id = meter.class.as_deref().unwrap();
            assert_eq!(
                classes.iter().filter(|it| it.class == meter.class).count(),
                1,
                "{id} stands twice"
            );
            for scale in &meter.functions {
                let ranges = &scale.ranges;
                assert!(!ranges.is_empty(), "{id}: no range");
                assert!(
                    ranges.is_sorted_by(|a, b| a.full_scale < b.full_scale),
                    "{id}: ranges out of order"
                );
                let sound = |it: &Range| {
                    it.resolution > 0.0
                        && (it.resolution * 500.0..=it.resolution * 1e5).contains(&it.full_scale)
                };
                assert!(ranges.iter().all(sound), "{id}: {ranges:?}");
                assert_eq!(
                    scale.input.is_some(),
                    scale.function == Function::AcVolts,
                    "{id}: {:?}",
                    scale.function
                );
            }
        }
        for id in ["cheap", "mid", "good", "two-pole", "high-grade"] {
            assert!(Meter::class(id).is_some(), "{id} is missing");
        }
    }

    #[test]
    fn a_meter_takes_the_smallest_range_that_holds_the_reading() {
        let cheap = Meter::class("cheap").unwrap();
        let resolution = |reading| cheap.range_for(Function::AcVolts, reading).resolution;
        assert_eq!(
            [
                resolution(119.0),
                resolution(-230.0),
                resolution(230.0),
                resolution(9e9)
            ],
            [0.1, 1.0, 1.0, 1.0]
        );
        // A cheap meter has no clamp: the unknown meter's figures stand in.
        assert_eq!(
            cheap.range_for(Function::AcAmps, 5.0),
            Meter::unknown().range_for(Function::AcAmps, 5.0)
        );
    }

    #[test]
    fn what_the_owner_tells_replaces_the_class() {
        let own = Meter::class("mid")
            .unwrap()
            .clone()
            .with_accuracy(Function::AcVolts, "0.5 % + 2".parse().unwrap());
        assert_eq!(own.range_for(Function::AcVolts, 120.0).accuracy.counts, 2.0);
        let input = Input {
            resistance: Ohms::from_si(1e6),
            ..ORDINARY_INPUT
        };
        assert_eq!(own.with_input(input).input().resistance, Ohms::from_si(1e6));
    }

    #[test]
    fn a_category_two_meter_is_the_least_for_an_outlet() {
        let fitness = |id: &str, volts| Meter::class(id).unwrap().fitness(Volts::from_si(volts));
        assert_eq!(fitness("mid", 120.0), Fitness::Fit);
        assert_eq!(fitness("cheap", 230.0), Fitness::TheLeast);
        assert_eq!(fitness("cheap", 400.0), Fitness::Unfit);
    }
}
