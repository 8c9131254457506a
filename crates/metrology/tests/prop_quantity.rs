//! Laws of reading and writing quantities.

use metrology::{
    AmpHours, Amps, Celsius, Farads, Fraction, Gauge, Henries, Hertz, Metres, Ohms, Quantity,
    QuantityError, Seconds, Siemens, SquareMetres, VoltAmps, Volts, WattHours, Watts,
};
use proptest::prelude::*;
use std::fmt::Display;
use std::str::FromStr;

/// Exact text reads back to the same bits; shown text to within half of its fourth digit.
fn reads_back<Q: Quantity + Display + FromStr<Err = QuantityError>>(
    number: f64,
) -> Result<(), TestCaseError> {
    let value = Q::of(number);
    let exact = value.exact();
    prop_assert_eq!(exact.parse::<Q>().map(Q::number), Ok(number), "{}", exact);
    let shown = value.to_string();
    let read = shown.parse::<Q>().map(Q::number);
    // Four digits: at most 5e-4 relative; the parsing itself rounds once more.
    prop_assert!(
        read.as_ref()
            .is_ok_and(|it| (it - number).abs() <= 5.001e-4 * number.abs()),
        "{number:e} shown as {shown} reads as {read:?}"
    );
    Ok(())
}

/// Zero, and sizes from the smallest leakage to the largest fault current and beyond.
fn sizes() -> impl Strategy<Value = f64> {
    prop_oneof![
        9 => (1.0..10.0_f64, -15..12_i32).prop_map(|(mantissa, exponent)| mantissa * 10f64.powi(exponent)),
        2 => (1..2000_u32, -3..4_i32).prop_map(|(digits, exponent)| f64::from(digits) * 10f64.powi(exponent)),
        1 => Just(0.0),
        1 => prop::num::f64::POSITIVE.prop_filter("finite", |it| it.is_finite()),
    ]
}

fn error_points_inside(text: &str, error: &QuantityError) -> Result<(), TestCaseError> {
    let at = error.at.clone();
    prop_assert!(
        at.start <= at.end && at.end <= text.len(),
        "{error:?} points outside {text:?}"
    );
    prop_assert!(
        text.is_char_boundary(at.start) && text.is_char_boundary(at.end),
        "{error:?} splits a character"
    );
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn prop_what_is_written_reads_back(number in sizes(), sign in prop_oneof![Just(1.0), Just(-1.0)]) {
        reads_back::<Volts>(sign * number)?;
        reads_back::<Amps>(sign * number)?;
        reads_back::<Watts>(sign * number)?;
        reads_back::<Fraction>(sign * number)?;
        reads_back::<Celsius>(number)?;
        reads_back::<Ohms>(number)?;
        reads_back::<Siemens>(number)?;
        reads_back::<VoltAmps>(number)?;
        reads_back::<Metres>(number)?;
        reads_back::<SquareMetres>(number)?;
        reads_back::<Hertz>(number)?;
        reads_back::<Seconds>(number)?;
        reads_back::<Farads>(number)?;
        reads_back::<Henries>(number)?;
        reads_back::<WattHours>(number)?;
        reads_back::<AmpHours>(number)?;
    }

    #[test]
    fn prop_gauges_read_back(n in -3..=40_i8) {
        prop_assert_eq!(Gauge::Awg(n).to_string().parse(), Ok(Gauge::Awg(n)));
    }

    #[test]
    fn prop_no_text_breaks_the_reader(text in prop_oneof![
        any::<String>(),
        "[-+0-9.,eE ]{0,12}[ ]?[a-zA-ZΩµ²°'\"%/#~]{0,6}",
    ]) {
        macro_rules! each { ($($quantity:ty),+) => { $(
            match text.parse::<$quantity>() {
                Ok(value) => prop_assert!(value.si().is_finite(), "{} read as {:?}", text, value),
                Err(error) => error_points_inside(&text, &error)?,
            }
        )+ } }
        each!(Volts, Amps, Ohms, Siemens, Watts, VoltAmps, Metres, SquareMetres, Hertz, Seconds, Farads, Henries,
            Celsius, WattHours, AmpHours, Fraction);
        if let Err(error) = text.parse::<Gauge>() {
            error_points_inside(&text, &error)?;
        }
    }
}
