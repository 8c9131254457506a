//! What a person wrote for a reading, with the width that its wording deserves.
//!
//! `118.3 V` was read off a display; `120 V` is a rounded word unless a meter is named ([`Stated::with_display`]);
//! `about 60 V`, `60..90 V`, `up to 200 V`, `over 90 V`, `0 V` and `dead` each have a width of their own. The widths are
//! judgement and stand in [`Tellable::WIDTHS`].

mod read;
mod width;
mod words;

pub use width::{Tellable, Widths};

use crate::quantity::{FromText, QuantityError};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;
use std::str::FromStr;

/// How the doubt lies around the value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Anything within the half-width is as likely; nothing outside it. `u = half-width / √3`.
    Rectangular,
    /// Bell-shaped; the half-width holds 95 % of it. `u = half-width / 2`.
    Normal,
}

/// How it was said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wording {
    /// Digits of a display: half of the last one in doubt.
    Display {
        /// Digits after the decimal sign.
        decimals: u8,
    },
    /// A number without decimals and no meter named: likely rounded to a nominal value.
    Rounded,
    /// `about`, `~`, `roughly`.
    About,
    /// `60..90 V`, `60 to 90 V`, `75 ± 15 V`.
    Range,
    /// `up to`, `under`, `<`.
    UpTo,
    /// `over`, `at least`, `>`.
    AtLeast,
    /// `0 V`.
    Zero,
    /// A word without a number: `dead`, `nothing`.
    Word,
}

/// A reading as stated: value, width and wording, and the text itself. Read by `FromStr`, written as it was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Stated<Q> {
    /// Middle of what may be meant.
    pub value: Q,
    /// Half of the width that the wording deserves.
    pub half_width: Q,
    /// How the doubt lies within it.
    pub shape: Shape,
    /// How it was said.
    pub wording: Wording,
    /// The text as written.
    pub text: String,
    /// Half of one unit of the last digit written; none for a word.
    half_digit: Option<Q>,
}

impl<Q: Tellable> Stated<Q> {
    /// A display that shows this value with so many decimals in the plain unit (`shown(118.3 V, 1)`).
    pub fn shown(value: Q, decimals: u8) -> Self {
        let places = usize::from(decimals);
        let text = format!("{:.places$} {}", value.number(), Q::KIND.unit);
        let half_digit = Q::of(0.5 * libm::exp10(-f64::from(decimals)));
        Stated {
            value,
            half_width: half_digit,
            shape: Shape::Rectangular,
            wording: Wording::Display { decimals },
            text,
            half_digit: Some(half_digit),
        }
    }

    /// The same text once it is known that it was read off a meter's display: a rounded word or a zero narrows to half
    /// of its last digit. Other wordings stay as wide as they are.
    pub fn with_display(self) -> Self {
        match (self.wording, self.half_digit) {
            (Wording::Rounded | Wording::Zero, Some(half_digit)) => Stated {
                half_width: half_digit,
                shape: Shape::Rectangular,
                wording: Wording::Display { decimals: 0 },
                ..self
            },
            _ => self,
        }
    }

    /// Standard uncertainty of the wording alone (the meter's own comes on top).
    pub fn standard_u(&self) -> Q {
        Q::of(match self.shape {
            Shape::Rectangular => self.half_width.number() / 3f64.sqrt(),
            Shape::Normal => self.half_width.number() / 2.0,
        })
    }

    /// Lowest and highest value that may be meant.
    pub fn bounds(&self) -> (Q, Q) {
        let (value, half) = (self.value.number(), self.half_width.number());
        (Q::of(value - half), Q::of(value + half))
    }
}

impl<Q> fmt::Display for Stated<Q> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.text)
    }
}

impl<Q: Tellable> FromStr for Stated<Q> {
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Self, QuantityError> {
        read::stated(text)
    }
}

impl<Q> Serialize for Stated<Q> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&self.text)
    }
}

impl<'de, Q: Tellable> Deserialize<'de> for Stated<Q> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let kind = Q::KIND;
        from.deserialize_any(FromText {
            wanted: kind.name,
            example: kind.examples[0],
            of: PhantomData,
        })
    }
}

impl<Q: Tellable> JsonSchema for Stated<Q> {
    fn schema_name() -> Cow<'static, str> {
        format!("Stated{}", Q::KIND.type_name).into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let kind = Q::KIND;
        let unit = kind.unit;
        json_schema!({
            "type": "string",
            "description": format!("{} as it was read or told, with its unit", kind.name),
            "examples": [
                kind.examples[0], format!("about 60 {unit}"), format!("60..90 {unit}"), format!("up to 200 {unit}"),
                format!("over 90 {unit}"), format!("0 {unit}"),
            ],
        })
    }
}
