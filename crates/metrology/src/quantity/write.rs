//! A quantity becomes text, with the prefix that keeps the number between 1 and 1000 where there is one.

use super::kind::Kind;
use std::fmt;

/// Significant digits shown when none are asked for: a hand-held meter's.
const SHOWN_DIGITS: usize = 4;

/// For `Display`: at most four significant digits, or as many as the precision asks for.
pub(super) fn shown(kind: &Kind, number: f64, f: &mut fmt::Formatter<'_>) -> fmt::Result {
    let digits = f.precision().unwrap_or(SHOWN_DIGITS).clamp(1, 17);
    f.pad_integral(true, "", &text(kind, number, Some(digits)))
}

/// For files: the shortest text that reads back to the same number.
pub(super) fn exact(kind: &Kind, number: f64) -> String {
    text(kind, number, None)
}

fn text(kind: &Kind, number: f64, digits: Option<usize>) -> String {
    if !number.is_finite() {
        return format!("{number} {}", kind.unit);
    }
    if let Some((unit, size)) = clock_unit(kind, number) {
        return format!("{} {unit}", number / size);
    }
    let (negative, mantissa, exponent) = decimal(number, digits);
    if mantissa == "0" {
        return format!("0 {}", kind.unit);
    }
    let (prefix, prefix_exponent) = prefix_for(kind, exponent - kind.exponent);
    let sign = if negative { "-" } else { "" };
    format!(
        "{sign}{} {prefix}{}",
        placed(&mantissa, exponent - kind.exponent - prefix_exponent),
        kind.unit
    )
}

/// Whole hours and minutes are written as such.
fn clock_unit(kind: &Kind, seconds: f64) -> Option<(&'static str, f64)> {
    if kind.unit != "s" || !(60.0..1e9).contains(&seconds) {
        return None;
    }
    [("h", 3600.0), ("min", 60.0)]
        .into_iter()
        .find(|(_, size)| seconds % size == 0.0)
}

/// Sign, significant digits without trailing zeros, and the power of ten of the first of them.
fn decimal(number: f64, digits: Option<usize>) -> (bool, String, i32) {
    let written = match digits {
        Some(digits) => format!("{:.*e}", digits - 1, number.abs()),
        None => format!("{:e}", number.abs()),
    };
    // `{:e}` always writes an `e` and an integer after it.
    let (mantissa, exponent) = written.split_once('e').unwrap_or((&written, "0"));
    let mantissa = mantissa.replace('.', "");
    let trimmed = mantissa.trim_end_matches('0');
    let mantissa = if trimmed.is_empty() { "0" } else { trimmed };
    (
        number < 0.0,
        mantissa.to_owned(),
        exponent.parse().unwrap_or(0),
    )
}

/// The prefix for a number whose first digit stands at this power of ten.
fn prefix_for(kind: &Kind, exponent: i32) -> (&'static str, i32) {
    [
        ("p", -12),
        ("n", -9),
        ("µ", -6),
        ("m", -3),
        ("", 0),
        ("k", 3),
        ("M", 6),
        ("G", 9),
    ]
    .into_iter()
    .filter(|(sign, _)| sign.is_empty() || kind.prefixes.contains(sign))
    .min_by_key(|(_, size)| {
        let first = exponent - size;
        if first < 0 {
            -first
        } else {
            (first - 2).max(0)
        }
    })
    .unwrap_or(("", 0))
}

/// Digits with the decimal point put so that the first of them has this power of ten.
fn placed(mantissa: &str, exponent: i32) -> String {
    let n = mantissa.len() as i32;
    if !(-7..=15).contains(&exponent) {
        let (first, rest) = mantissa.split_at(1);
        let point = if rest.is_empty() { "" } else { "." };
        format!("{first}{point}{rest}e{exponent}")
    } else if exponent < 0 {
        format!("0.{}{mantissa}", "0".repeat((-exponent - 1) as usize))
    } else if exponent + 1 >= n {
        format!("{mantissa}{}", "0".repeat((exponent + 1 - n) as usize))
    } else {
        let (whole, part) = mantissa.split_at((exponent + 1) as usize);
        format!("{whole}.{part}")
    }
}

#[cfg(test)]
mod tests {
    use super::super::{
        AmpHours, Celsius, Farads, Fraction, Metres, Ohms, Quantity, Seconds, SquareMetres, Volts,
    };

    #[test]
    fn a_quantity_is_written_as_people_write_it() {
        let cases = [
            (Ohms::from_si(4700.0).to_string(), "4.7 kΩ"),
            (Volts::from_si(120.0).to_string(), "120 V"),
            (Volts::from_si(118.299_999_9).to_string(), "118.3 V"),
            (Volts::from_si(999.96).to_string(), "1 kV"),
            (Volts::from_si(-0.0015).to_string(), "-1.5 mV"),
            (Volts::from_si(0.0).to_string(), "0 V"),
            (SquareMetres::from_si(2.5e-6).to_string(), "2.5 mm²"),
            (format!("{:.3}", Metres::from_si(13.716)), "13.7 m"),
            (Farads::from_si(800e-12).to_string(), "800 pF"),
            (Fraction::from_si(0.9192).to_string(), "91.92 %"),
            (Celsius::from_si(75.0).to_string(), "75 °C"),
            (AmpHours::from_si(9.0).to_string(), "9 Ah"),
            (Seconds::from_si(0.006).to_string(), "6 ms"),
            (Seconds::from_si(72000.0).to_string(), "20 h"),
            (Seconds::from_si(90.0).to_string(), "90 s"),
            (Ohms::from_si(1e30).to_string(), "1e21 GΩ"),
            (Volts::from_si(1e-12).to_string(), "0.000001 µV"),
            (format!("[{:>9}]", Volts::from_si(120.0)), "[    120 V]"),
        ];
        for (got, wanted) in cases {
            assert_eq!(got, wanted);
        }
        assert_eq!(Volts::from_si(118.299_999_9).exact(), "118.2999999 V");
    }
}
