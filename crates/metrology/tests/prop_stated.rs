//! Laws of reading what a person wrote for a reading, and of accuracies.

use metrology::{Accuracy, Amps, Fraction, Hertz, Ohms, QuantityError, Stated, Volts};
use proptest::prelude::*;

fn error_points_inside(text: &str, error: &QuantityError) -> Result<(), TestCaseError> {
    prop_assert!(
        text.get(error.at.clone()).is_some(),
        "{error:?} points outside {text:?}"
    );
    Ok(())
}

/// Made of the words and signs that readings are made of, in any order.
fn almost_readings() -> impl Strategy<Value = String> {
    let pieces = prop::sample::select(vec![
        "about", "~", "up to", "over", "between", "from", "and", "to", "..", "-", "–", "±", "+/-",
        "%", "V", "kV", "Ω", "A", "Hz", "µ", "0", "60", "1,5", "118.3", "1,200", "1e300", "dead",
        "or so", " ", "  ", "(", ".", "<", "nan", "OL",
    ]);
    prop::collection::vec(pieces, 0..7).prop_map(|it| it.join(""))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn prop_no_text_breaks_the_reader_of_readings(text in prop_oneof![any::<String>(), almost_readings()]) {
        macro_rules! each { ($($quantity:ty),+) => { $(
            match text.parse::<Stated<$quantity>>() {
                Ok(it) => {
                    prop_assert!(it.value.si().is_finite() && it.half_width.si().is_finite(), "{text}: {it:?}");
                    prop_assert!(it.half_width.si() >= 0.0 && it.standard_u().si() <= it.half_width.si(), "{text}: {it:?}");
                    // What is written is read again as the same.
                    prop_assert_eq!(it.to_string().parse::<Stated<$quantity>>(), Ok(it));
                }
                Err(error) => error_points_inside(&text, &error)?,
            }
        )+ } }
        each!(Volts, Amps, Ohms, Hertz);
        if let Err(error) = text.parse::<Accuracy>() {
            error_points_inside(&text, &error)?;
        }
    }

    #[test]
    fn prop_a_display_reads_back(value in -1000.0..1000.0_f64, decimals in 1..4_u8) {
        let shown = Stated::shown(Volts::from_si(value), decimals);
        let read: Stated<Volts> = shown.text.parse()?;
        prop_assert_eq!(read.wording, shown.wording);
        // The display rounds: never further off than its half-width (and the last bit of both).
        let off = (read.value - shown.value).abs().si();
        prop_assert!(off <= shown.half_width.si() + 1e-12, "{} from {value}", shown.text);
        let (low, high) = read.bounds();
        prop_assert!(low.si() - 1e-12 <= value && value <= high.si() + 1e-12);
    }

    #[test]
    fn prop_an_accuracy_reads_back(gain in 0..9999_u32, counts in 0..100_u32) {
        let sheet = Accuracy::new(Fraction::from_si(f64::from(gain) / 1e4), f64::from(counts));
        prop_assert_eq!(sheet.to_string().parse(), Ok(sheet));
    }
}
