//! Quantities in files and JSON: strings with units, in and out. A bare number is an error that says what to write.

use super::kind::{Kind, Quantity};
use super::read::{QuantityError, whole};
use super::{
    AmpHours, Amps, Celsius, Farads, Fraction, Henries, Hertz, Metres, Ohms, Seconds, Siemens,
    SquareMetres, VoltAmps, Volts, WattHours, Watts,
};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{Error, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;
use std::str::FromStr;

/// Reads a type from a string by its `FromStr`; anything else is refused with an example of what to write.
pub(crate) struct FromText<T> {
    pub wanted: &'static str,
    pub example: &'static str,
    pub of: PhantomData<T>,
}

impl<T: FromStr<Err = QuantityError>> FromText<T> {
    fn no_unit<E: Error>(&self, number: impl fmt::Display) -> E {
        E::custom(format!(
            "{number} has no unit: {} is written as text, as \"{}\"",
            self.wanted, self.example
        ))
    }
}

impl<T: FromStr<Err = QuantityError>> Visitor<'_> for FromText<T> {
    type Value = T;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} as text, as \"{}\"", self.wanted, self.example)
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<T, E> {
        text.parse().map_err(E::custom)
    }

    fn visit_i64<E: Error>(self, number: i64) -> Result<T, E> {
        Err(self.no_unit(number))
    }

    fn visit_u64<E: Error>(self, number: u64) -> Result<T, E> {
        Err(self.no_unit(number))
    }

    fn visit_f64<E: Error>(self, number: f64) -> Result<T, E> {
        Err(self.no_unit(number))
    }
}

/// A JSON Schema for text with a number and a unit.
fn schema_of(kind: &Kind) -> Schema {
    json_schema!({
        "type": "string",
        "description": format!("{} with its unit, as \"{}\"", kind.name, kind.examples[0]),
        "pattern": r"^\s*[-+−]?\s*([0-9]+[.,]?[0-9]*|[.,][0-9]+)([eE][-+]?[0-9]+)?\s*[^\s0-9.,].*$",
        "examples": kind.examples,
    })
}

macro_rules! as_text {
    ($($name:ident),+) => { $(
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                super::write::shown(Self::KIND, self.number(), f)
            }
        }

        impl FromStr for $name {
            type Err = QuantityError;
            fn from_str(text: &str) -> Result<Self, QuantityError> {
                whole(text)
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                if !self.number().is_finite() {
                    return Err(serde::ser::Error::custom(format!("{} is not a finite number", Self::KIND.name)));
                }
                to.serialize_str(&self.exact())
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                let kind = Self::KIND;
                from.deserialize_any(FromText { wanted: kind.name, example: kind.examples[0], of: PhantomData })
            }
        }

        impl JsonSchema for $name {
            fn schema_name() -> Cow<'static, str> {
                Self::KIND.type_name.into()
            }

            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                schema_of(Self::KIND)
            }
        }
    )+ };
}

as_text!(
    Volts,
    Amps,
    Ohms,
    Siemens,
    Watts,
    VoltAmps,
    Metres,
    SquareMetres,
    Hertz,
    Seconds,
    Farads,
    Henries,
    Celsius,
    WattHours,
    AmpHours,
    Fraction
);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quantity_is_text_in_json() {
        let z: Ohms = serde_json::from_str("\"4.7kohm\"").unwrap();
        assert_eq!(serde_json::to_string(&z).unwrap(), "\"4.7 kΩ\"");
        let error = serde_json::from_str::<Amps>("20").unwrap_err().to_string();
        assert!(
            error.starts_with("20 has no unit: a current is written as text, as \"20 A\""),
            "{error}"
        );
        assert!(serde_json::from_str::<Amps>("true").is_err());
        assert!(serde_json::to_string(&Volts::from_si(f64::NAN)).is_err());
    }

    #[test]
    fn every_quantity_reads_its_own_examples() {
        fn check<Q: Quantity + FromStr<Err = QuantityError>>() {
            for example in Q::KIND.examples {
                let read = example.parse::<Q>();
                assert!(read.is_ok(), "{example}: {read:?}");
            }
        }
        crate::quantity::kind::for_every_quantity!(check);
    }

    #[test]
    fn the_schema_asks_for_text_with_a_unit() {
        let schema = serde_json::to_value(schemars::schema_for!(Amps)).unwrap();
        assert_eq!(schema["type"], "string");
        assert_eq!(schema["examples"][0], "20 A");
    }
}
