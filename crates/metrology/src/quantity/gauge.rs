//! The size of a conductor: American wire gauge or cross-section.
//!
//! `d = 0.127 mm * 92^((36 - n) / 39)`, `A = π/4 d²`; n: gauge number, 1/0 = 0, 2/0 = -1, 3/0 = -2, 4/0 = -3.
//! Source: ASTM B258 (from memory). Held by: the `ref_` test below.

use super::number::Number;
use super::read::whole;
use super::serial::FromText;
use super::{Metres, Quantity, QuantityError, SquareMetres};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;
use std::str::FromStr;

/// The size of a conductor as it was written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Gauge {
    /// American wire gauge number; 0 is 1/0, -1 is 2/0, -2 is 3/0, -3 is 4/0.
    Awg(i8),
    /// Nominal cross-section.
    Metric(SquareMetres),
}

const EXAMPLES: [&str; 3] = ["12 AWG", "4/0 AWG", "2.5 mm²"];
const LARGEST: i8 = -3;
const SMALLEST: i8 = 40;

impl Gauge {
    /// Diameter of the solid conductor of that gauge or cross-section.
    pub fn diameter(self) -> Metres {
        Metres::from_si(match self {
            Gauge::Awg(n) => 0.127e-3 * libm::pow(92.0, (36.0 - f64::from(n)) / 39.0),
            Gauge::Metric(area) => (area.si() / std::f64::consts::FRAC_PI_4).sqrt(),
        })
    }

    /// Cross-section of the conductor.
    pub fn area(self) -> SquareMetres {
        match self {
            Gauge::Awg(_) => {
                let d = self.diameter().si();
                SquareMetres::from_si(std::f64::consts::FRAC_PI_4 * d * d)
            }
            Gauge::Metric(area) => area,
        }
    }
}

impl fmt::Display for Gauge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Gauge::Awg(n) if *n <= 0 => f.pad(&format!("{}/0 AWG", 1 - i16::from(*n))),
            Gauge::Awg(n) => f.pad(&format!("{n} AWG")),
            Gauge::Metric(area) => f.pad(&area.exact()),
        }
    }
}

impl FromStr for Gauge {
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let at = || text.len() - text.trim_start().len()..text.trim_end().len();
        let trimmed = text.trim();
        let number = match awg_part(trimmed) {
            Some(number) => number,
            None if !trimmed.contains('/') => return metric(text),
            None => trimmed,
        };
        let refused = |what: String| QuantityError {
            what,
            hint: Some("write \"12 AWG\", \"4/0 AWG\" or \"2.5 mm²\"".to_owned()),
            at: at(),
        };
        let n = match number.split_once('/') {
            Some((zeros, "0")) => zeros
                .trim()
                .parse::<i8>()
                .ok()
                .and_then(|it| 1i8.checked_sub(it))
                .filter(|n| *n <= 0),
            Some(_) => None,
            None if number.len() > 1 && number.bytes().all(|it| it == b'0') => {
                i8::try_from(number.len()).ok().map(|it| 1 - it)
            }
            None => number.parse().ok(),
        };
        match n {
            Some(n) if (LARGEST..=SMALLEST).contains(&n) => Ok(Gauge::Awg(n)),
            Some(_) => Err(refused(format!(
                "\"{trimmed}\" is outside the gauges from 4/0 to {SMALLEST} AWG"
            ))),
            None => Err(refused(format!("\"{trimmed}\" is not a wire size"))),
        }
    }
}

/// The number of a wire gauge, where the text says that it is one.
fn awg_part(text: &str) -> Option<&str> {
    let lower_tail = |text: &str, word: &str| {
        let cut = text.len().checked_sub(word.len())?;
        text.get(cut..)
            .filter(|it| it.eq_ignore_ascii_case(word))
            .map(|_| cut)
    };
    if let Some(cut) = ["awg", "gauge", "ga"]
        .into_iter()
        .find_map(|word| lower_tail(text, word))
    {
        return Some(text[..cut].trim().trim_start_matches('#').trim());
    }
    if let Some(head) = text.get(..3).filter(|it| it.eq_ignore_ascii_case("awg")) {
        return Some(text[head.len()..].trim());
    }
    text.strip_prefix('#').map(str::trim)
}

fn metric(text: &str) -> Result<Gauge, QuantityError> {
    if let Ok(number) = Number::read(text, 0)
        && text[number.at.end..].trim().is_empty()
    {
        let shown = number.shown();
        return Err(QuantityError {
            what: format!("{shown} has no unit"),
            hint: Some(format!("write \"{shown} AWG\" or \"{shown} mm²\"")),
            at: number.at,
        });
    }
    let area: SquareMetres = whole(text)?;
    if area.si() == 0.0 {
        let at = 0..text.trim_end().len();
        return Err(QuantityError {
            what: "a conductor has a cross-section above zero".to_owned(),
            hint: None,
            at,
        });
    }
    Ok(Gauge::Metric(area))
}

impl Serialize for Gauge {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Gauge {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_any(FromText {
            wanted: "a wire size",
            example: EXAMPLES[0],
            of: PhantomData,
        })
    }
}

impl JsonSchema for Gauge {
    fn schema_name() -> Cow<'static, str> {
        "Gauge".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "string",
            "description": "the size of a conductor, as \"12 AWG\" or \"2.5 mm²\"",
            "examples": EXAMPLES,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ASTM B258 geometry, computed to four digits: gauge, diameter in mm, area in mm². Tolerance: half of the fourth
    /// digit at its worst (1.024 and 1.309: 5e-4 relative).
    const GEOMETRY: [(i8, f64, f64); 19] = [
        (24, 0.5106, 0.2047),
        (23, 0.5733, 0.2582),
        (22, 0.6438, 0.3255),
        (20, 0.8118, 0.5176),
        (18, 1.024, 0.823),
        (16, 1.291, 1.309),
        (14, 1.628, 2.081),
        (12, 2.053, 3.309),
        (10, 2.588, 5.261),
        (8, 3.264, 8.366),
        (6, 4.115, 13.3),
        (4, 5.189, 21.15),
        (3, 5.827, 26.67),
        (2, 6.544, 33.63),
        (1, 7.348, 42.41),
        (0, 8.251, 53.48),
        (-1, 9.266, 67.43),
        (-2, 10.4, 85.03),
        (-3, 11.68, 107.2),
    ];

    #[test]
    fn ref_gauges_have_the_published_geometry() {
        let mut misses = Vec::new();
        for (n, d, a) in GEOMETRY {
            let gauge = Gauge::Awg(n);
            let (got_d, got_a) = (gauge.diameter().si() * 1e3, gauge.area().si() * 1e6);
            if (got_d / d - 1.0).abs() > 5e-4 || (got_a / a - 1.0).abs() > 5e-4 {
                misses.push(format!(
                    "{gauge}: {got_d} mm, {got_a} mm²; published {d} mm, {a} mm²"
                ));
            }
        }
        assert!(misses.is_empty(), "{}", misses.join("\n"));
    }

    #[test]
    fn wire_sizes_read_and_write() {
        let cases = [
            ("12 AWG", "12 AWG"),
            ("12awg", "12 AWG"),
            ("AWG 12", "12 AWG"),
            ("#12", "12 AWG"),
            ("14 ga", "14 AWG"),
            ("4/0 AWG", "4/0 AWG"),
            ("1/0", "1/0 AWG"),
            ("0 AWG", "1/0 AWG"),
            ("00 AWG", "2/0 AWG"),
            ("2.5 mm²", "2.5 mm²"),
            ("1,5 mm2", "1.5 mm²"),
            ("2.5 sqmm", "2.5 mm²"),
        ];
        for (written, wanted) in cases {
            assert_eq!(
                written.parse::<Gauge>().map(|it| it.to_string()),
                Ok(wanted.to_owned())
            );
        }
    }

    #[test]
    fn a_size_that_is_none_says_what_to_write() {
        let says = |text: &str| text.parse::<Gauge>().unwrap_err().to_string();
        assert_eq!(says("12"), "12 has no unit; write \"12 AWG\" or \"12 mm²\"");
        assert!(says("5/0 AWG").starts_with("\"5/0 AWG\" is outside the gauges"));
        assert!(says("twelve AWG").starts_with("\"twelve AWG\" is not a wire size"));
        assert!(says("0 mm²").starts_with("a conductor has"));
        assert!(says("20 A").contains("is a current"));
        assert!(serde_json::from_str::<Gauge>("12").is_err());
    }
}
