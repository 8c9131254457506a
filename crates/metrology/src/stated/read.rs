//! The words around the number.

use super::words::{BETWEEN, Lead, PLUS_MINUS, lead_of};
use super::{Shape, Stated, Tellable, Wording};
use crate::quantity::{Kind, Number, QuantityError, in_bounds, scale_of_unit, unit_after};
use std::ops::Range;

/// One number with its unit, in the kept unit.
struct Told {
    value: f64,
    digit: f64,
    decimals: u8,
    at: Range<usize>,
}

impl Told {
    fn read(
        kind: &Kind,
        number: &Number,
        scale: crate::quantity::Scale,
    ) -> Result<Told, QuantityError> {
        let at = number.at.clone();
        let value = in_bounds(kind, scale.apply(number), at.clone())?;
        Ok(Told {
            value,
            digit: scale.last_digit(number),
            decimals: number.decimals,
            at,
        })
    }
}

pub(super) fn stated<Q: Tellable>(text: &str) -> Result<Stated<Q>, QuantityError> {
    // ASCII lower case keeps every byte where it was.
    let lower = text.to_ascii_lowercase();
    let words = lower.trim().trim_end_matches(['.', '!']);
    if Q::WIDTHS.words_for_zero.contains(&words) {
        let zero = Q::WIDTHS.zero.value.number();
        return Ok(made(text, 0.0, zero, Shape::Normal, Wording::Word, None));
    }
    let (lead, from) = lead_of(&lower);
    let (lead, to) = match " or so" {
        tail if lower.trim_end().ends_with(tail) && lead == Lead::None => {
            (Lead::About, lower.trim_end().len() - tail.len())
        }
        _ => (lead, text.len()),
    };
    // Both ends lie on character boundaries: what was cut off is ASCII or a whole sign.
    let body = &text[..to];
    let number = Number::read(body, from.min(to))?;
    if let Some((first, half)) = plus_minus_after(Q::KIND, body, &number)? {
        return Ok(made(
            text,
            first.value,
            half,
            Shape::Rectangular,
            Wording::Range,
            None,
        ));
    }
    if let Some((first, second)) = range_after(Q::KIND, body, &lower, &number)? {
        return range(text, first, second);
    }
    let told = Told::read(Q::KIND, &number, unit_after(Q::KIND, body, &number)?)?;
    match lead {
        Lead::Range => Err(QuantityError {
            what: "the other end of the range is missing".to_owned(),
            hint: Some(format!("write \"60..90 {}\"", Q::KIND.unit)),
            at: told.at,
        }),
        Lead::UpTo | Lead::AtLeast => one_sided(text, lead, &told),
        Lead::About | Lead::None => Ok(single(text, lead, &told)),
    }
}

fn made<Q: Tellable>(
    text: &str,
    value: f64,
    half: f64,
    shape: Shape,
    wording: Wording,
    digit: Option<f64>,
) -> Stated<Q> {
    let half_digit = digit.map(|it| Q::of(it / 2.0));
    Stated {
        value: Q::of(value),
        half_width: Q::of(half),
        shape,
        wording,
        text: text.trim().to_owned(),
        half_digit,
    }
}

/// A number without a second one, plain or `about`.
fn single<Q: Tellable>(text: &str, lead: Lead, told: &Told) -> Stated<Q> {
    let widths = Q::WIDTHS;
    let (value, digit) = (told.value, told.digit);
    let zero = if value == 0.0 {
        widths.zero.value.number()
    } else {
        0.0
    };
    let (half, shape, wording) = if lead == Lead::About {
        (
            (widths.about.value * value.abs()).max(digit).max(zero),
            Shape::Normal,
            Wording::About,
        )
    } else if told.decimals > 0 {
        (
            digit / 2.0,
            Shape::Rectangular,
            Wording::Display {
                decimals: told.decimals,
            },
        )
    } else if value == 0.0 {
        (zero, Shape::Normal, Wording::Zero)
    } else {
        (
            (widths.rounded.value * value.abs()).max(digit / 2.0),
            Shape::Rectangular,
            Wording::Rounded,
        )
    };
    made(text, value, half, shape, wording, Some(digit))
}

/// `up to` and `over`: everything from zero to the number, or from the number as far as the words reach.
fn one_sided<Q: Tellable>(text: &str, lead: Lead, told: &Told) -> Result<Stated<Q>, QuantityError> {
    if told.value <= 0.0 {
        let what = format!(
            "nothing follows from a bound of {}",
            Q::of(told.value).exact()
        );
        let hint = Some(format!(
            "write what the meter showed, as \"{}\"",
            Q::KIND.examples[0]
        ));
        return Err(QuantityError {
            what,
            hint,
            at: told.at.clone(),
        });
    }
    let (low, high, wording) = match lead {
        Lead::UpTo => (0.0, told.value, Wording::UpTo),
        _ => (
            told.value,
            told.value * (1.0 + Q::WIDTHS.reach.value),
            Wording::AtLeast,
        ),
    };
    let high = in_bounds(Q::KIND, high, told.at.clone())?;
    Ok(made(
        text,
        low + (high - low) / 2.0,
        (high - low) / 2.0,
        Shape::Rectangular,
        wording,
        None,
    ))
}

fn range<Q: Tellable>(text: &str, first: Told, second: Told) -> Result<Stated<Q>, QuantityError> {
    let (low, high) = (first.value.min(second.value), first.value.max(second.value));
    let digit = first.digit.min(second.digit);
    // The digits themselves are in doubt by half of the last one, so a range is never narrower than that.
    let half = in_bounds(Q::KIND, high - low, first.at)? / 2.0;
    Ok(made(
        text,
        low + half,
        half.max(digit / 2.0),
        Shape::Rectangular,
        Wording::Range,
        None,
    ))
}

/// The second number of a range, if one follows. A unit may stand at both or at the last only.
fn range_after(
    kind: &Kind,
    body: &str,
    lower: &str,
    number: &Number,
) -> Result<Option<(Told, Told)>, QuantityError> {
    let rest = &lower[number.at.end..body.len()];
    let found = BETWEEN
        .iter()
        .filter_map(|it| rest.find(it).map(|at| (at, it.len())))
        .min_by_key(|(at, n)| (*at, usize::MAX - n));
    let Some((at, length)) = found else {
        return Ok(None);
    };
    let second_from = number.at.end + at + length;
    let Ok(second) = Number::read(body, second_from) else {
        return Ok(None);
    };
    let second_scale = unit_after(kind, body, &second)?;
    let first_unit = body[number.at.end..number.at.end + at].trim();
    let first_scale = if first_unit.is_empty() {
        second_scale
    } else {
        match scale_of_unit(kind, first_unit) {
            Some(scale) => scale,
            None => unit_after(kind, &body[..number.at.end + at], number)?,
        }
    };
    Ok(Some((
        Told::read(kind, number, first_scale)?,
        Told::read(kind, &second, second_scale)?,
    )))
}

/// `120 ± 2 V`, `120 V ± 2 %`: the number and its half-width.
fn plus_minus_after(
    kind: &Kind,
    body: &str,
    number: &Number,
) -> Result<Option<(Told, f64)>, QuantityError> {
    let rest = &body[number.at.end..];
    let found = PLUS_MINUS
        .iter()
        .find_map(|it| rest.find(it).map(|at| (at, it.len())));
    let Some((at, length)) = found else {
        return Ok(None);
    };
    let first_end = number.at.end + at;
    let half = Number::read(body, first_end + length)?;
    let first_unit = &body[..first_end];
    let in_percent = body[half.at.end..].trim() == "%";
    let half_scale = if in_percent {
        None
    } else {
        Some(unit_after(kind, body, &half)?)
    };
    let first_scale = match half_scale {
        Some(scale) if first_unit[number.at.end..].trim().is_empty() => scale,
        _ => unit_after(kind, first_unit, number)?,
    };
    let told = Told::read(kind, number, first_scale)?;
    let width = half_scale
        .map_or_else(
            || half.times_ten_to(-2) * told.value,
            |scale| scale.apply(&half),
        )
        .abs();
    let width = in_bounds(kind, width, half.at.clone())?;
    Ok(Some((told, width)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Amps, Hertz, Ohms, Volts};

    #[test]
    fn a_wording_has_the_width_it_deserves() {
        let display = |decimals| Wording::Display { decimals };
        let cases: &[(&str, f64, f64, Wording)] = &[
            ("118.3 V", 118.3, 0.05, display(1)),
            ("120.0 V", 120.0, 0.05, display(1)),
            ("0.0 V", 0.0, 0.05, display(1)),
            ("1,5 V", 1.5, 0.05, display(1)),
            ("1.20 kV", 1200.0, 5.0, display(2)),
            ("120 V", 120.0, 3.6, Wording::Rounded),
            ("120V", 120.0, 3.6, Wording::Rounded),
            ("2 V", 2.0, 0.5, Wording::Rounded),
            ("-120 V", -120.0, 3.6, Wording::Rounded),
            ("about 60 V", 60.0, 9.0, Wording::About),
            ("~60V", 60.0, 9.0, Wording::About),
            ("60 V or so", 60.0, 9.0, Wording::About),
            ("about 2 V", 2.0, 1.0, Wording::About),
            ("almost 0 V", 0.0, 1.0, Wording::About),
            ("60..90 V", 75.0, 15.0, Wording::Range),
            ("60-90 V", 75.0, 15.0, Wording::Range),
            ("60 – 90 V", 75.0, 15.0, Wording::Range),
            ("60 to 90 V", 75.0, 15.0, Wording::Range),
            ("60V to 90V", 75.0, 15.0, Wording::Range),
            ("90...60 V", 75.0, 15.0, Wording::Range),
            ("between 60 and 90 V", 75.0, 15.0, Wording::Range),
            ("about 60 to 90 V", 75.0, 15.0, Wording::Range),
            ("-3..3 V", 0.0, 3.0, Wording::Range),
            ("900 mV - 1.1 V", 1.0, 0.1, Wording::Range),
            ("120 ± 2 V", 120.0, 2.0, Wording::Range),
            ("120 V +/- 2 %", 120.0, 2.4, Wording::Range),
            ("up to 200 V", 100.0, 100.0, Wording::UpTo),
            ("under 1 V", 0.5, 0.5, Wording::UpTo),
            ("<1 V", 0.5, 0.5, Wording::UpTo),
            ("over 90 V", 135.0, 45.0, Wording::AtLeast),
            ("more than 90V", 135.0, 45.0, Wording::AtLeast),
            ("0 V", 0.0, 1.0, Wording::Zero),
            ("zero", 0.0, 1.0, Wording::Word),
            ("Nothing", 0.0, 1.0, Wording::Word),
            ("dead", 0.0, 1.0, Wording::Word),
        ];
        let mut misses = Vec::new();
        for (text, value, half, wording) in cases {
            match text.parse::<Stated<Volts>>() {
                Ok(it)
                    if (it.value.si() - value).abs() < 1e-12
                        && (it.half_width.si() - half).abs() < 1e-12
                        && it.wording == *wording
                        && it.to_string() == *text => {}
                other => misses.push(format!(
                    "{text}: wanted {value} ± {half} {wording:?}, got {other:?}"
                )),
            }
        }
        assert!(misses.is_empty(), "{}", misses.join("\n"));
    }

    #[test]
    fn a_named_meter_narrows_a_rounded_word_to_its_digit() {
        let half = |text: &str| {
            text.parse::<Stated<Volts>>()
                .unwrap()
                .with_display()
                .half_width
                .si()
        };
        assert_eq!(
            [
                half("120 V"),
                half("0 V"),
                half("118.3 V"),
                half("about 60 V")
            ],
            [0.5, 0.5, 0.05, 9.0]
        );
        let shown = Stated::shown(Volts::from_si(118.3), 1);
        assert_eq!(shown, "118.3 V".parse().unwrap());
    }

    #[test]
    fn exact_standard_uncertainty_by_shape() {
        let u = |text: &str| text.parse::<Stated<Volts>>().unwrap().standard_u().si();
        assert_eq!(u("60..90 V"), 15.0 / 3f64.sqrt());
        assert_eq!(u("about 60 V"), 4.5);
    }

    #[test]
    fn other_quantities_have_their_own_words_and_widths() {
        let ohms: Stated<Ohms> = "dead short".parse().unwrap();
        assert_eq!((ohms.value.si(), ohms.half_width.si()), (0.0, 0.5));
        assert_eq!(
            "60 Hz".parse::<Stated<Hertz>>().unwrap().half_width.si(),
            0.6
        );
        assert_eq!(
            "30 mA".parse::<Stated<Amps>>().unwrap().half_width.si(),
            0.0009
        );
        assert!("dead short".parse::<Stated<Volts>>().is_err());
    }

    #[test]
    fn what_is_not_a_reading_says_what_to_write() {
        let says = |text: &str| text.parse::<Stated<Volts>>().unwrap_err().to_string();
        assert_eq!(says("120"), "120 has no unit; write \"120 V\"");
        assert_eq!(says("60..90"), "90 has no unit; write \"90 V\"");
        assert_eq!(
            says("about 60 A"),
            "\"60 A\" is a current, and a voltage is wanted here; write it as \"120 V\""
        );
        assert_eq!(
            says("60 A to 90 V"),
            "\"60 A\" is a current, and a voltage is wanted here; write it as \"120 V\""
        );
        assert_eq!(
            says("between 60 V"),
            "the other end of the range is missing; write \"60..90 V\""
        );
        assert_eq!(
            says("up to -5 V"),
            "nothing follows from a bound of -5 V; write what the meter showed, as \"120 V\""
        );
        assert!(says("nan V").contains("not something that can be measured"));
        assert!(says("OL").contains("out of range"));
        assert_eq!(says(" or so"), "nothing is written");
        assert!(says("weird").contains("not a number"));
    }

    #[test]
    fn a_stated_reading_keeps_its_text_through_json() {
        let read: Stated<Volts> = serde_json::from_str("\"about 60 V\"").unwrap();
        assert_eq!(serde_json::to_string(&read).unwrap(), "\"about 60 V\"");
        let error = serde_json::from_str::<Stated<Volts>>("120.5")
            .unwrap_err()
            .to_string();
        assert!(error.starts_with("120.5 has no unit"), "{error}");
    }
}
