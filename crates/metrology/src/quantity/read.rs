//! What people write becomes a quantity, or an error that says what to write instead. Never a silent default unit.

use super::kind::{ALL, Kind, Quantity, Sign, prefix_exponent};
use super::number::Number;
use std::fmt;
use std::ops::Range;

/// A text that is not the quantity asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QuantityError {
    /// What is wrong.
    pub what: String,
    /// What to write instead, where that can be said.
    pub hint: Option<String>,
    /// Where, in bytes of the text that was read.
    pub at: Range<usize>,
}

impl fmt::Display for QuantityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.what)?;
        match &self.hint {
            Some(hint) => write!(f, "; {hint}"),
            None => Ok(()),
        }
    }
}

impl std::error::Error for QuantityError {}

/// What a unit does to the number before it: `number * factor * 10^exponent + offset`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Scale {
    pub exponent: i32,
    pub factor: f64,
    pub offset: f64,
}

impl Scale {
    pub fn apply(&self, number: &Number) -> f64 {
        let scaled = number.times_ten_to(self.exponent);
        if self.factor == 1.0 && self.offset == 0.0 {
            scaled
        } else {
            scaled * self.factor + self.offset
        }
    }

    /// Size of one unit of the last digit shown.
    pub fn last_digit(&self, number: &Number) -> f64 {
        number.last_digit(self.exponent) * self.factor
    }
}

/// The unit at `input[unit]`, as one of this kind.
pub(crate) fn scale_of_unit(kind: &Kind, text: &str) -> Option<Scale> {
    let text = text.trim();
    let spelled = |prefixed: bool| {
        kind.spellings.iter().find_map(|it| {
            let head = strip_spelling(text, it.text, it.any_case)?;
            let exponent = match (prefixed, head.is_empty()) {
                (false, true) => 0,
                (true, false) if it.prefix => prefix_exponent(kind, head.trim_end())?,
                _ => return None,
            };
            Some(Scale {
                exponent: it.exponent + exponent,
                factor: it.factor,
                offset: it.offset,
            })
        })
    };
    spelled(false).or_else(|| spelled(true))
}

fn strip_spelling<'a>(text: &'a str, spelling: &str, any_case: bool) -> Option<&'a str> {
    if !any_case {
        return text.strip_suffix(spelling);
    }
    let cut = text.len().checked_sub(spelling.len())?;
    let tail = text.get(cut..)?;
    tail.eq_ignore_ascii_case(spelling).then(|| &text[..cut])
}

/// A whole text as one quantity: number, unit, nothing else.
pub(crate) fn whole<Q: Quantity>(input: &str) -> Result<Q, QuantityError> {
    let kind = Q::KIND;
    let number = Number::read(input, 0)?;
    let scale = unit_after(kind, input, &number)?;
    in_bounds(
        kind,
        scale.apply(&number),
        number.at.start..input.trim_end().len(),
    )
    .map(Q::of)
}

/// The unit that follows a number up to the end of the text, or why there is none.
pub(crate) fn unit_after(
    kind: &Kind,
    input: &str,
    number: &Number,
) -> Result<Scale, QuantityError> {
    let rest = &input[number.at.end..];
    let unit = rest.trim();
    let at = if unit.is_empty() {
        number.at.clone()
    } else {
        let start = number.at.end + (rest.len() - rest.trim_start().len());
        start..start + unit.len()
    };
    scale_of_unit(kind, unit).ok_or_else(|| wrong_unit(kind, number, unit, at))
}

fn wrong_unit(kind: &Kind, number: &Number, unit: &str, at: Range<usize>) -> QuantityError {
    let shown = number.shown();
    let example = kind.examples[0];
    let with_unit = if kind.unit == "%" {
        example.to_owned()
    } else {
        format!("{shown} {}", kind.unit)
    };
    let other = || ALL.iter().find(|it| scale_of_unit(it, unit).is_some());
    let (what, hint) = if unit.is_empty() {
        (
            format!("{shown} has no unit"),
            format!("write \"{with_unit}\""),
        )
    } else if unit.starts_with(|c: char| c.is_ascii_digit() || c == ',' || c == '.') {
        (
            format!("\"{shown} {unit}\" has more than one number"),
            format!("write one number and its unit, as \"{example}\""),
        )
    } else if prefix_exponent(kind, unit).is_some() {
        (
            format!("\"{shown} {unit}\" has a prefix but no unit"),
            format!("write \"{shown} {unit}{}\"", kind.unit),
        )
    } else if let Some(right) = right_case(kind, unit) {
        (
            format!("\"{unit}\" is not a unit of {}", bare_name(kind)),
            format!("write \"{shown} {right}\""),
        )
    } else if let Some(other) = other() {
        let what = format!(
            "\"{shown} {unit}\" is {}, and {} is wanted here",
            other.name, kind.name
        );
        (what, format!("write it as \"{example}\""))
    } else {
        (
            format!("\"{unit}\" is not a unit of {}", bare_name(kind)),
            format!("write \"{with_unit}\""),
        )
    };
    QuantityError {
        what,
        hint: Some(hint),
        at,
    }
}

/// The name without its article.
fn bare_name(kind: &Kind) -> &str {
    kind.name
        .split_once(' ')
        .map_or(kind.name, |(_, name)| name)
}

/// The unit with its prefix in the case that makes sense here, where only that is wrong: `MA` for `mA`.
fn right_case(kind: &Kind, unit: &str) -> Option<String> {
    let first = unit.chars().next().filter(char::is_ascii_uppercase)?;
    let lowered = format!("{}{}", first.to_ascii_lowercase(), &unit[1..]);
    scale_of_unit(kind, &lowered).map(|_| lowered)
}

/// Refuses what cannot be: too large for a number, below zero where nothing is.
pub(crate) fn in_bounds(kind: &Kind, value: f64, at: Range<usize>) -> Result<f64, QuantityError> {
    let what = if !value.is_finite() {
        "the number is too large".to_owned()
    } else if kind.sign == Sign::NotNegative && value < 0.0 {
        format!("{} cannot be below zero", kind.name)
    } else if kind.floor.is_some_and(|floor| value < floor) {
        "nothing is colder than -273.15 °C".to_owned()
    } else {
        return Ok(value);
    };
    Err(QuantityError {
        what,
        hint: None,
        at,
    })
}

#[cfg(test)]
mod tests {
    use super::super::{
        AmpHours, Amps, Celsius, Farads, Fraction, Hertz, Metres, Ohms, Seconds, SquareMetres,
        VoltAmps, Volts, Watts,
    };
    use super::*;

    #[test]
    fn what_people_write_is_read() {
        let mut misses = Vec::new();
        let mut check = |written: &str, read: Result<f64, QuantityError>, wanted: f64| match read {
            Ok(got) if (got - wanted).abs() <= 1e-15 * wanted.abs() => {}
            other => misses.push(format!("{written}: wanted {wanted:e}, got {other:?}")),
        };
        macro_rules! reads { ($($quantity:ty: $($text:literal = $wanted:expr),+;)+) => { $($(
            check($text, $text.parse::<$quantity>().map(|it| it.si()), $wanted);
        )+)+ } }
        reads! {
            Volts: "120 V" = 120.0, "120V" = 120.0, " 120  v " = 120.0, "1,5 V" = 1.5, "0,500 V" = 0.5, "-3 V" = -3.0,
                "−3 V" = -3.0, "+3.3 V" = 3.3, "120 VAC" = 120.0, "120 volts ac" = 120.0, "50 mV" = 0.05, "3.5kV" = 3500.0,
                "1e3 V" = 1000.0, ".5 V" = 0.5, "12345,678 V" = 12345.678, "- 3 V" = -3.0;
            Ohms: "4.7kΩ" = 4700.0, "4.7 kohm" = 4700.0, "4.7 K\u{2126}" = 4700.0, "10 Mohm" = 1e7, "10 megohms" = 1e7,
                "5 mΩ" = 5e-3, "10R" = 10.0, "0.3 Ohms" = 0.3;
            SquareMetres: "2.5 mm²" = 2.5e-6, "2.5 mm2" = 2.5e-6, "2.5 sqmm" = 2.5e-6, "1,5mm²" = 1.5e-6;
            Metres: "45 ft" = 13.716, "45'" = 13.716, "12 m" = 12.0, "25 cm" = 0.25, "6 in" = 0.1524, "2 mm" = 2e-3;
            Amps: "20 A" = 20.0, "30 mA" = 0.03, "3.5 µA" = 3.5e-6, "3.5 μA" = 3.5e-6, "3.5 uA" = 3.5e-6, "15 amps" = 15.0;
            Watts: "450 W" = 450.0; VoltAmps: "1.5 kVA" = 1500.0; Hertz: "60 Hz" = 60.0, "60hz" = 60.0;
            Seconds: "6 ms" = 6e-3, "20 h" = 72000.0, "5 min" = 300.0; AmpHours: "9 Ah" = 9.0, "500 mAh" = 0.5;
            Celsius: "75 °C" = 75.0, "75 C" = 75.0, "75°C" = 75.0, "167 F" = 75.0, "-40 °F" = -40.0;
            Farads: "100 pF" = 1e-10, "330 uF" = 330e-6; Fraction: "80 %" = 0.8, "0.5%" = 0.005;
        }
        assert!(misses.is_empty(), "{}", misses.join("\n"));
    }

    #[test]
    fn what_cannot_be_read_says_what_to_write() {
        let cases = [
            ("20".parse::<Amps>().err(), "20 has no unit; write \"20 A\""),
            (
                "20 V".parse::<Amps>().err(),
                "\"20 V\" is a voltage, and a current is wanted here; write it as \"20 A\"",
            ),
            (
                "20 parsec".parse::<Metres>().err(),
                "\"parsec\" is not a unit of length; write \"20 m\"",
            ),
            (
                "10 k".parse::<Ohms>().err(),
                "\"10 k\" has a prefix but no unit; write \"10 kΩ\"",
            ),
            (
                "30 MA".parse::<Amps>().err(),
                "\"MA\" is not a unit of current; write \"30 mA\"",
            ),
            (
                "0.8".parse::<Fraction>().err(),
                "0.8 has no unit; write \"80 %\"",
            ),
            (
                "nan V".parse::<Volts>().err(),
                "\"nan\" is not something that can be measured",
            ),
            (
                "-inf V".parse::<Volts>().err(),
                "\"-inf\" is not something that can be measured",
            ),
            ("1e999 V".parse::<Volts>().err(), "the number is too large"),
            ("".parse::<Volts>().err(), "nothing is written"),
            ("V".parse::<Volts>().err(), "\"V\" is not a number"),
            (
                "-3 Ω".parse::<Ohms>().err(),
                "a resistance cannot be below zero",
            ),
            (
                "-300 C".parse::<Celsius>().err(),
                "nothing is colder than -273.15 °C",
            ),
            (
                "1,200 V".parse::<Volts>().err(),
                "\"1,200\" can be read in two ways; write \"1200\" or \"1.2\"",
            ),
            (
                "1 200 V".parse::<Volts>().err(),
                "\"1 200 V\" has more than one number; write one number and its unit, as \"120 V\"",
            ),
            (
                "1,234.5 V".parse::<Volts>().err(),
                "\"1,234.5\" can be read in two ways; \
                 write \"1234.5\" with a decimal point and nothing between the thousands",
            ),
        ];
        for (error, wanted) in cases {
            assert_eq!(error.map(|it| it.to_string()).as_deref(), Some(wanted));
        }
    }

    #[test]
    fn an_error_points_at_the_bytes_that_are_wrong() {
        assert_eq!("20 V".parse::<Amps>().unwrap_err().at, 3..4);
        assert_eq!(" 20".parse::<Amps>().unwrap_err().at, 1..3);
        assert_eq!("1,200 V".parse::<Volts>().unwrap_err().at, 0..5);
    }
}
