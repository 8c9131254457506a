//! The number in front of a unit, with either decimal sign, kept as digits so that a prefix costs no accuracy.

use super::QuantityError;
use std::ops::Range;

/// A number as it was written, not yet scaled by its unit.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Number {
    /// Sign, digits and decimal point, as `f64` parses them.
    digits: String,
    exponent: i32,
    /// Digits after the decimal sign, as shown.
    pub decimals: u8,
    /// Where it stands in the input.
    pub at: Range<usize>,
}

impl Number {
    /// Reads the number at the start of `input[from..]` (spaces before it allowed).
    pub fn read(input: &str, from: usize) -> Result<Number, QuantityError> {
        let text = &input[from..];
        let start = from + (text.len() - text.trim_start().len());
        let mut at = start;
        let mut digits = String::new();
        let rest = &input[start..];
        if let Some(minus) = ["-", "\u{2212}"]
            .into_iter()
            .find(|it| rest.starts_with(it))
        {
            digits.push('-');
            at += minus.len();
        } else if rest.starts_with('+') {
            at += 1;
        }
        at += input[at..].len() - input[at..].trim_start().len();
        let body_start = at;
        let body_len = body_length(&input[at..]);
        let body = &input[at..at + body_len];
        at += body_len;
        if !body.contains(|c: char| c.is_ascii_digit()) {
            return Err(no_number(input, start));
        }
        let plain = plain_decimal(body).map_err(|hint| QuantityError {
            what: format!("\"{body}\" can be read in two ways"),
            hint: Some(hint),
            at: body_start..at,
        })?;
        let decimals = plain.find('.').map_or(0, |point| plain.len() - point - 1);
        digits.push_str(&plain);
        let (exponent, length) = exponent_of(&input[at..]);
        at += length;
        Ok(Number {
            digits,
            exponent,
            decimals: decimals.min(255) as u8,
            at: start..at,
        })
    }

    /// The number times ten to `exponent`, rounded once.
    pub fn times_ten_to(&self, exponent: i32) -> f64 {
        // Digits with at most one point and an integer exponent always parse; too large ones become infinite.
        format!("{}e{}", self.digits, self.exponent.saturating_add(exponent))
            .parse()
            .unwrap_or(f64::NAN)
    }

    /// One unit of the last digit shown, times ten to `exponent`.
    pub fn last_digit(&self, exponent: i32) -> f64 {
        libm::exp10(f64::from(self.exponent.saturating_add(exponent)) - f64::from(self.decimals))
    }

    /// The number alone, as it should be repeated in a hint.
    pub fn shown(&self) -> String {
        let point_trimmed = self.digits.trim_end_matches('.');
        if self.exponent == 0 {
            point_trimmed.to_owned()
        } else {
            format!("{point_trimmed}e{}", self.exponent)
        }
    }
}

/// Length of the digits, points and commas at the start; two points in a row end them (`60..90`).
fn body_length(rest: &str) -> usize {
    let other = rest
        .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ','))
        .unwrap_or(rest.len());
    rest.find("..").map_or(other, |range| range.min(other))
}

/// Digits with at most one decimal point out of digits, points and commas; or a hint on what to write instead.
fn plain_decimal(body: &str) -> Result<String, String> {
    let (commas, points) = (body.matches(',').count(), body.matches('.').count());
    let without = |sign: char| body.replace(sign, "");
    let hint = |text: &str| {
        format!(
            "write {} with a decimal point and nothing between the thousands",
            quoted(text)
        )
    };
    match (commas, points) {
        (0, 0 | 1) => Ok(body.to_owned()),
        (1, 0) => {
            let (whole, part) = body.split_once(',').unwrap_or((body, ""));
            if part.is_empty() {
                return Err(format!("write {}", quoted(whole)));
            }
            let thousands =
                part.len() == 3 && (1..=3).contains(&whole.len()) && !whole.starts_with('0');
            if thousands {
                let decimal = format!("{whole}.{}", part.trim_end_matches('0'));
                Err(format!(
                    "write {} or {}",
                    quoted(&without(',')),
                    quoted(decimal.trim_end_matches('.'))
                ))
            } else {
                Ok(body.replace(',', "."))
            }
        }
        (_, 0 | 1) => Err(hint(&without(','))),
        _ => Err(hint(&without('.').replace(',', "."))),
    }
}

fn quoted(text: &str) -> String {
    format!("\"{text}\"")
}

/// A power of ten after the digits (`1e-9`) and its length in bytes; none unless digits follow the `e`.
fn exponent_of(rest: &str) -> (i32, usize) {
    let Some(after) = rest.strip_prefix(['e', 'E']) else {
        return (0, 0);
    };
    let signed = after.strip_prefix(['+', '-']).unwrap_or(after);
    let n_digits = signed.bytes().take_while(u8::is_ascii_digit).count();
    if n_digits == 0 {
        return (0, 0);
    }
    let length = rest.len() - signed.len() + n_digits;
    let size: i32 = signed[..n_digits].parse().unwrap_or(i32::MAX / 2);
    (if after.starts_with('-') { -size } else { size }, length)
}

fn no_number(input: &str, start: usize) -> QuantityError {
    let rest = &input[start..];
    let length = rest.find(char::is_whitespace).unwrap_or(rest.len());
    let word = &rest[..length];
    let bare = word.trim_start_matches(['-', '+']).to_ascii_lowercase();
    let (what, hint) = if word.is_empty() {
        ("nothing is written".to_owned(), None)
    } else if ["nan", "inf", "infinity", "∞"].contains(&bare.as_str()) {
        (
            format!("\"{word}\" is not something that can be measured"),
            None,
        )
    } else if bare == "ol" || bare == "o.l" {
        let hint = "write the end of the range that was chosen, as \"over 20 MΩ\"".to_owned();
        (
            "the display showed that the reading is out of range".to_owned(),
            Some(hint),
        )
    } else {
        (format!("\"{word}\" is not a number"), None)
    };
    QuantityError {
        what,
        hint,
        at: start..start + length,
    }
}
