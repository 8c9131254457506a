//! How wide a wording is: judgement, in one place.

use crate::quantity::{Amps, Hertz, Ohms, Quantity, Volts};
use crate::sourced::Sourced;

/// A quantity that people tell as a reading.
pub trait Tellable: Quantity {
    /// How wide each wording is for it.
    const WIDTHS: Widths<Self>;
}

/// Widths of wordings for one quantity.
#[derive(Debug, Clone)]
pub struct Widths<Q> {
    /// Half-width of a number without decimals and without a meter, as a fraction of it.
    pub rounded: Sourced<f64>,
    /// Half-width of `about`, as a fraction of the number.
    pub about: Sourced<f64>,
    /// How far `over 90` may reach, as a fraction on top of the number.
    pub reach: Sourced<f64>,
    /// Half-width of zero, said without a meter.
    pub zero: Sourced<Q>,
    /// Words that mean zero.
    pub words_for_zero: &'static [&'static str],
}

const ROUNDED: &str = "our guess: 120 is said for anything from 116 to 124";
const ABOUT: &str = "our guess: about 60 is said for anything from 51 to 69";
const REACH: &str = "our guess: who says over 90 would have said over 180 beyond 180";

impl Tellable for Volts {
    const WIDTHS: Widths<Self> = Widths {
        rounded: Sourced::judged(0.03, ROUNDED),
        about: Sourced::judged(0.15, ABOUT),
        reach: Sourced::judged(1.0, REACH),
        zero: Sourced::judged(
            Volts::from_si(1.0),
            "our guess: up to a volt is told as nothing",
        ),
        words_for_zero: &[
            "zero",
            "nothing",
            "none",
            "dead",
            "no voltage",
            "no volts",
            "no reading",
            "no power",
        ],
    };
}

impl Tellable for Amps {
    const WIDTHS: Widths<Self> = Widths {
        rounded: Sourced::judged(0.03, ROUNDED),
        about: Sourced::judged(0.15, ABOUT),
        reach: Sourced::judged(1.0, REACH),
        zero: Sourced::judged(
            Amps::from_si(0.05),
            "our guess: the last digit of an ordinary clamp, five times",
        ),
        words_for_zero: &[
            "zero",
            "nothing",
            "none",
            "no current",
            "no amps",
            "no reading",
        ],
    };
}

impl Tellable for Ohms {
    const WIDTHS: Widths<Self> = Widths {
        rounded: Sourced::judged(0.03, ROUNDED),
        about: Sourced::judged(0.15, ABOUT),
        reach: Sourced::judged(1.0, REACH),
        zero: Sourced::judged(
            Ohms::from_si(0.5),
            "our guess: the resistance of a pair of leads and its contacts",
        ),
        words_for_zero: &["zero", "no resistance", "dead short", "short"],
    };
}

impl Tellable for Hertz {
    const WIDTHS: Widths<Self> = Widths {
        rounded: Sourced::judged(
            0.01,
            "our guess: 60 Hz is said for anything from 59.4 to 60.6",
        ),
        about: Sourced::judged(
            0.05,
            "our guess: about 60 Hz is said for anything from 57 to 63",
        ),
        reach: Sourced::judged(1.0, REACH),
        zero: Sourced::judged(Hertz::from_si(0.5), "our guess"),
        words_for_zero: &["zero", "nothing", "none", "no frequency", "no reading"],
    };
}
