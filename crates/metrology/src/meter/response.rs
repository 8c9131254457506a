//! What a meter shows of a wave that is no sine.
//!
//! An average-responding meter shows `π/(2√2) mean|v|`, right for a sine only. Over the true RMS it shows
//! `π/(2√2) mean|v| / rms(v)`. Source: form factor of a sine, closed form. Held by: the `exact_` test below.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::f64::consts::{FRAC_1_SQRT_2, FRAC_2_PI, PI};

/// How a meter arrives at its reading of an alternating quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Response {
    /// Computes the true RMS.
    TrueRms,
    /// Rectifies, averages and scales as if the wave were a sine.
    Average,
}

/// A wave of known shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Wave {
    /// Sine.
    Sine,
    /// Square.
    Square,
    /// Triangle.
    Triangle,
    /// Peak half of the time, zero the other half: a simple inverter's output.
    Stepped,
}

impl Wave {
    /// Mean of the absolute value, and RMS, both over the peak.
    const fn mean_and_rms(self) -> (f64, f64) {
        match self {
            Wave::Sine => (FRAC_2_PI, FRAC_1_SQRT_2),
            Wave::Square => (1.0, 1.0),
            // 1/√3, the RMS of a ramp.
            Wave::Triangle => (0.5, 0.577_350_269_189_625_8),
            Wave::Stepped => (0.5, FRAC_1_SQRT_2),
        }
    }
}

impl Response {
    /// What the meter shows over the true RMS.
    pub const fn reads(self, wave: Wave) -> f64 {
        let (mean, rms) = wave.mean_and_rms();
        match self {
            Response::TrueRms => 1.0,
            Response::Average => PI * FRAC_1_SQRT_2 / 2.0 * mean / rms,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed forms of `π/(2√2) mean/rms`: square `π/(2√2)` = 1.1107, triangle `π√6/8` = 0.9619, stepped `π/4` = 0.7854.
    /// Tolerance: a handful of roundings.
    #[test]
    fn exact_an_average_responding_meter_misreads_other_waves() {
        let cases = [
            (Wave::Sine, 1.0),
            (Wave::Square, PI / 8f64.sqrt()),
            (Wave::Triangle, PI * 6f64.sqrt() / 8.0),
            (Wave::Stepped, PI / 4.0),
        ];
        for (wave, wanted) in cases {
            let got = Response::Average.reads(wave);
            assert!(
                (got - wanted).abs() < 1e-15,
                "{wave:?}: {got}, closed form {wanted}"
            );
            assert_eq!(Response::TrueRms.reads(wave), 1.0);
        }
    }
}
