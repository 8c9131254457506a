//! Bars: how probable a cause is, and which way a reading leans.

use maud::{Markup, html};

/// A share of a whole, from 0 to 1; what is no number is drawn as nothing.
pub fn share(share: f64) -> Markup {
    let width = if share.is_finite() {
        (share.clamp(0.0, 1.0) * 1000.0).round() / 10.0
    } else {
        0.0
    };
    html! {
        svg .bar viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true" {
            rect .back x="0" y="0" width="100" height="10" {}
            rect .part x="0" y="0" width=(width) height="10" {}
        }
    }
}

/// Odds of 1000 : 1 reach the end of the bar; the rest is cut there.
const END: f64 = 6.9;

/// A weight, natural logarithm of a likelihood ratio: to the right and filled for, to the left and hollow against.
pub fn lean(weight: f64) -> Markup {
    let part = if weight.is_finite() {
        (weight / END).clamp(-1.0, 1.0)
    } else {
        0.0
    };
    let width = (part.abs() * 490.0).round() / 10.0;
    let (class, x) = match part < 0.0 {
        true => ("against", 50.0 - width),
        false => ("for", 50.0),
    };
    html! {
        svg .lean viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true" {
            rect class=(class) x=(x) y="2" width=(width) height="6" {}
            path .middle d="M50 0v10" {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_number_draws_an_empty_bar() {
        for it in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            for drawn in [share(it), lean(it)] {
                let text = drawn.into_string();
                assert!(!text.contains("NaN") && !text.contains("inf"), "{text}");
            }
        }
    }

    #[test]
    fn evidence_leans_to_its_own_side_and_stays_in_the_picture() {
        let right = lean(50.0).into_string();
        assert!(
            right.contains("x=\"50\"") && right.contains("width=\"49\""),
            "{right}"
        );
        let left = lean(-50.0).into_string();
        assert!(
            left.contains("x=\"1\"") && left.contains("against"),
            "{left}"
        );
    }
}
