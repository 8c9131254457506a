//! Whether a reading is within its limits, as a probability.
//!
//! `p = Φ((T_U − y)/u) − Φ((T_L − y)/u)`; y: reading, u: its standard uncertainty, T: limits. Rectangular doubt of
//! half-width `a = u √3`: the part of `y ± a` that lies within. A limit itself is within. Source: JCGM 106:2012, clause 7
//! (from memory). Held by: tests/ref.rs, tests/prop_uncertainty.rs.

mod decide;
mod risk;

pub use decide::{WouldDecide, what_would_decide};
pub use risk::{GlobalRisks, SpecificRisks, global_risks, specific_risks};

use crate::distribution::{normal_cdf, normal_quantile};
use crate::doubt::Measured;
use crate::quantity::Quantity;
use crate::stated::Shape;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// From this probability of conformance on a reading is good.
pub const CONFORMS_FROM: f64 = 0.95;
/// Down to this probability of conformance it is undecided; below, a defect.
pub const FAILS_TO: f64 = 0.05;

/// The limits of a quantity; a missing one is not asked for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Limits<Q> {
    /// Smallest value that conforms.
    pub lower: Option<Q>,
    /// Largest value that conforms.
    pub upper: Option<Q>,
}

impl<Q: Quantity> Limits<Q> {
    /// At least this.
    pub const fn above(lower: Q) -> Self {
        Limits {
            lower: Some(lower),
            upper: None,
        }
    }

    /// At most this.
    pub const fn below(upper: Q) -> Self {
        Limits {
            lower: None,
            upper: Some(upper),
        }
    }

    /// From the first to the second.
    pub const fn between(lower: Q, upper: Q) -> Self {
        Limits {
            lower: Some(lower),
            upper: Some(upper),
        }
    }

    /// Whether a value known exactly conforms.
    pub fn hold(&self, value: Q) -> bool {
        self.lower.is_none_or(|it| it <= value) && self.upper.is_none_or(|it| value <= it)
    }

    /// Limits of acceptance with a guard band of width w inside each limit; a negative width widens them. A band wider
    /// than half of the room leaves nothing that is accepted. Source: JCGM 106:2012, 8.3 (from memory).
    pub fn guarded(&self, w: Q) -> Self {
        let w = w.number();
        Limits {
            lower: self.lower.map(|it| Q::of(it.number() + w)),
            upper: self.upper.map(|it| Q::of(it.number() - w)),
        }
    }

    /// Both as numbers, infinite where there is none.
    fn numbers(&self) -> (f64, f64) {
        (
            self.lower.map_or(f64::NEG_INFINITY, Q::number),
            self.upper.map_or(f64::INFINITY, Q::number),
        )
    }
}

/// Width of the guard band that keeps the risk of accepting what does not conform to at most this, at one limit:
/// `w = z_(1−risk) u`. Two standard uncertainties keep it to 2.3 %.
pub fn guard_band<Q: Quantity>(u: Q, risk: f64) -> Q {
    Q::of(normal_quantile(1.0 - risk) * u.number())
}

/// Probability that the true value is within the limits; NaN if the reading is.
pub fn conformance<Q: Quantity>(reading: &Measured<Q>, limits: &Limits<Q>, shape: Shape) -> f64 {
    let (y, u) = (reading.value.number(), reading.u.number());
    let (low, high) = limits.numbers();
    if !y.is_finite() || u.is_nan() || low.is_nan() || high.is_nan() {
        return f64::NAN;
    }
    if high < low {
        return 0.0;
    }
    if u <= 0.0 {
        return if limits.hold(reading.value) { 1.0 } else { 0.0 };
    }
    match shape {
        // Counted from the side where the tail is small, so that small probabilities keep their digits.
        Shape::Normal if low > y => normal_cdf((y - low) / u) - normal_cdf((y - high) / u),
        Shape::Normal => normal_cdf((high - y) / u) - normal_cdf((low - y) / u),
        Shape::Rectangular => {
            let a = u * 3f64.sqrt();
            ((high.min(y + a) - low.max(y - a)) / (2.0 * a)).clamp(0.0, 1.0)
        }
    }
}

/// Probability that the true value is at least the limit, for bell-shaped doubt.
pub fn conforms_above<Q: Quantity>(reading: &Measured<Q>, limit: Q) -> f64 {
    conformance(reading, &Limits::above(limit), Shape::Normal)
}

/// Probability that the true value is at most the limit, for bell-shaped doubt.
pub fn conforms_below<Q: Quantity>(reading: &Measured<Q>, limit: Q) -> f64 {
    conformance(reading, &Limits::below(limit), Shape::Normal)
}

/// Probability that the true value is between the limits, for bell-shaped doubt.
pub fn conforms_between<Q: Quantity>(reading: &Measured<Q>, lower: Q, upper: Q) -> f64 {
    conformance(reading, &Limits::between(lower, upper), Shape::Normal)
}

/// What a probability of conformance decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Conformity {
    /// Within the limits, as good as certainly.
    Conforms,
    /// Outside, as good as certainly.
    Fails,
    /// The reading does not tell.
    Undecided,
}

impl Conformity {
    /// The decision at 95 % and 5 %; a probability that is NaN decides nothing.
    pub fn of(p: f64) -> Self {
        match p {
            _ if p >= CONFORMS_FROM => Conformity::Conforms,
            _ if p <= FAILS_TO => Conformity::Fails,
            _ => Conformity::Undecided,
        }
    }
}
