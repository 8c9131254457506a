//! What a data sheet promises: percent of reading plus counts of the last digit.
//!
//! Half-width of the doubt `a |x| + n r`; a: fraction of the reading x, n: counts, r: resolution of the range.

use crate::quantity::{Fraction, FromText, Number, Quantity, QuantityError};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;
use std::str::FromStr;

/// Accuracy of a meter on a range, written as on its data sheet: `0.8 % + 3`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accuracy {
    /// Part of the reading.
    pub gain: Fraction,
    /// Counts of the last digit.
    pub counts: f64,
}

const EXAMPLES: [&str; 3] = ["0.8 % + 3", "1.0 % + 3 digits", "2 %"];
const HINT: &str = "write percent of reading plus digits, as \"0.8 % + 3\"";
const OF_READING: [&str; 5] = ["of reading", "of rdg", "reading", "rdg", ""];
const COUNTS: [&str; 8] = ["", "digits", "digit", "dgts", "dgt", "counts", "count", "d"];

impl Accuracy {
    /// From a fraction of the reading and counts of the last digit.
    pub const fn new(gain: Fraction, counts: f64) -> Self {
        Accuracy { gain, counts }
    }

    /// Half-width of the doubt of a reading on a range of this resolution, both in the same unit.
    ///
    /// A sheet that names no counts still leaves half of the last digit open.
    pub fn half_width(&self, reading: f64, resolution: f64) -> f64 {
        self.gain.si() * reading.abs() + self.counts.max(0.5) * resolution
    }
}

impl fmt::Display for Accuracy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.counts {
            0.0 => f.pad(&self.gain.exact()),
            counts => f.pad(&format!("{} + {counts}", self.gain.exact())),
        }
    }
}

impl FromStr for Accuracy {
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let refused = |what: String, at: std::ops::Range<usize>| QuantityError {
            what,
            hint: Some(HINT.to_owned()),
            at,
        };
        let leading = text.len() - text.trim_start_matches([' ', '\t', '±', '(']).len();
        let end = text.trim_end_matches([' ', '\t', ')']).len().max(leading);
        let body = &text[..end];
        let gain = Number::read(body, leading)?;
        let rest = body[gain.at.end..].trim_start();
        let percent_at = end - rest.len();
        let Some(after) = rest.strip_prefix('%') else {
            let what = format!(
                "{} has no percent sign, so it is not clear what it is of",
                gain.shown()
            );
            return Err(refused(what, gain.at));
        };
        let (of, counts) = after
            .split_once('+')
            .map_or((after, None), |(of, counts)| (of, Some(counts)));
        if !OF_READING.contains(&of.trim().to_ascii_lowercase().as_str()) {
            let what = format!(
                "\"{}\" is not understood: percent of the reading is wanted",
                of.trim()
            );
            return Err(refused(what, percent_at..end));
        }
        let counts = match counts {
            None => 0.0,
            Some(counts) => {
                let number = Number::read(body, end - counts.len())?;
                let unit = body[number.at.end..].trim();
                if !COUNTS.contains(&unit.to_ascii_lowercase().as_str()) {
                    let what = format!("\"{unit}\" is not understood: digits are counted");
                    return Err(refused(what, number.at.end..end));
                }
                number.times_ten_to(0)
            }
        };
        let gain = gain.times_ten_to(-2);
        if !(0.0..1.0).contains(&gain) || !(0.0..=1e6).contains(&counts) {
            return Err(refused(
                format!("\"{}\" is no accuracy of a meter", text.trim()),
                leading..end,
            ));
        }
        Ok(Accuracy {
            gain: Fraction::from_si(gain),
            counts,
        })
    }
}

impl Serialize for Accuracy {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Accuracy {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_any(FromText {
            wanted: "an accuracy",
            example: EXAMPLES[0],
            of: PhantomData,
        })
    }
}

impl JsonSchema for Accuracy {
    fn schema_name() -> Cow<'static, str> {
        "Accuracy".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "string",
            "description": "accuracy as on a data sheet: percent of reading plus digits",
            "examples": EXAMPLES,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_accuracy_reads_as_on_a_data_sheet() {
        for (text, gain, counts, written) in [
            ("0.8 % + 3", 0.008, 3.0, "0.8 % + 3"),
            ("1.0% + 3 digits", 0.01, 3.0, "1 % + 3"),
            ("±(0.8% rdg + 3 dgt)", 0.008, 3.0, "0.8 % + 3"),
            ("0,5 % of reading + 2", 0.005, 2.0, "0.5 % + 2"),
            ("2 %", 0.02, 0.0, "2 %"),
        ] {
            let read: Accuracy = text.parse().unwrap();
            assert_eq!(
                (read.gain.si(), read.counts, read.to_string().as_str()),
                (gain, counts, written),
                "{text}"
            );
        }
    }

    #[test]
    fn what_is_no_accuracy_says_so() {
        for (text, wanted) in [
            ("0.8 + 3", "0.8 has no percent sign"),
            ("0.8 % of range + 3", "\"of range\" is not understood"),
            ("0.8 % + 3 V", "\"V\" is not understood"),
            ("150 % + 3", "is no accuracy"),
            ("", "nothing is written"),
            ("±()", "nothing is written"),
        ] {
            let error = text.parse::<Accuracy>().unwrap_err().to_string();
            assert!(error.contains(wanted), "{text}: {error}");
        }
        assert!(serde_json::from_str::<Accuracy>("0.8").is_err());
    }

    /// A meter data sheet as quoted on a contractor forum: 0.7 % + 2 counts of 0.1 V at 120 V gives 118.96 V to
    /// 121.04 V. Tolerance: rounding of two sums.
    #[test]
    fn ref_half_width_of_a_published_example() {
        let sheet: Accuracy = "0.7 % + 2".parse().unwrap();
        assert!((120.0 + sheet.half_width(120.0, 0.1) - 121.04).abs() < 1e-13);
    }
}
