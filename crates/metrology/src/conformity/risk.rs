//! What accepting and rejecting costs: the risk of the one who gets it and of the one who made it.
//!
//! One reading: accepted, the true value is out of limits with `1 − p`; rejected, it is within with `p`. Over all that is
//! tested, with true values `η ~ N(y0, u0²)` and readings `N(η, u_m²)` accepted within A:
//! `R_C = ∫_(η outside T) φ(η) P(A|η) dη`, `R_P = ∫_(η inside T) φ(η) (1 − P(A|η)) dη`,
//! `P(A|η) = Φ((A_U − η)/u_m) − Φ((A_L − η)/u_m)`. The inner integral is in closed form, the outer by Simpson's rule between
//! all points where the integrand bends. Source: JCGM 106:2012, clause 9 (from memory). Held by: tests/ref.rs.

use super::{Limits, conformance};
use crate::distribution::{normal_cdf, normal_density};
use crate::doubt::Measured;
use crate::quantity::Quantity;
use crate::stated::Shape;

/// Risks of the decision on one reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpecificRisks {
    /// If it is accepted: that it does not conform.
    pub consumer: f64,
    /// If it is rejected: that it conforms.
    pub producer: f64,
}

/// Risks of deciding on one reading, for bell-shaped doubt.
pub fn specific_risks<Q: Quantity>(reading: &Measured<Q>, limits: &Limits<Q>) -> SpecificRisks {
    let producer = conformance(reading, limits, Shape::Normal);
    SpecificRisks {
        consumer: 1.0 - producer,
        producer,
    }
}

/// Risks over everything that is tested.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GlobalRisks {
    /// Part of everything that does not conform, tested or not.
    pub nonconforming: f64,
    /// Part that does not conform and is accepted.
    pub consumer: f64,
    /// Part that conforms and is rejected.
    pub producer: f64,
}

/// Risks of accepting readings of uncertainty `u_m` within `acceptance`, when true values scatter as `process`.
pub fn global_risks<Q: Quantity>(
    process: &Measured<Q>,
    u_m: Q,
    limits: &Limits<Q>,
    acceptance: &Limits<Q>,
) -> GlobalRisks {
    let (y0, u0) = (process.value.number(), process.u.number());
    let accepted = |eta: f64| {
        conformance(
            &Measured {
                value: Q::of(eta),
                u: u_m,
            },
            acceptance,
            Shape::Normal,
        )
    };
    let (low, high) = limits.numbers();
    // Ten standard deviations hold all but 1e-23 of the values.
    let (from, to) = (y0 - 10.0 * u0, y0 + 10.0 * u0);
    let (a_low, a_high) = acceptance.numbers();
    let reach = 9.0 * u_m.number();
    let mut bends = vec![from, to, y0, low, high];
    for edge in [a_low, a_high] {
        bends.extend([edge - reach, edge, edge + reach]);
    }
    bends.retain(|it| (from..=to).contains(it));
    bends.sort_by(f64::total_cmp);
    let (mut consumer, mut producer) = (0.0, 0.0);
    for piece in bends.windows(2) {
        let (start, end) = (piece[0], piece[1]);
        let within = (low..=high).contains(&(start + (end - start) / 2.0));
        let risk = simpson(start, end, |eta| {
            let density = normal_density((eta - y0) / u0) / u0;
            density
                * if within {
                    1.0 - accepted(eta)
                } else {
                    accepted(eta)
                }
        });
        if within {
            producer += risk
        } else {
            consumer += risk
        }
    }
    GlobalRisks {
        nonconforming: normal_cdf((low - y0) / u0) + normal_cdf((y0 - high) / u0),
        consumer,
        producer,
    }
}

/// `∫ f` by Simpson's rule on 400 intervals: 1e-11 of its size for pieces of at most ten standard deviations.
fn simpson(from: f64, to: f64, f: impl Fn(f64) -> f64) -> f64 {
    const N: i32 = 400;
    let step = (to - from) / f64::from(N);
    if step <= 0.0 {
        return 0.0;
    }
    let inner = |k: i32| f64::from(2 + 2 * (k % 2)) * f(from + f64::from(k) * step);
    step / 3.0 * (f(from) + (1..N).map(inner).sum::<f64>() + f(to))
}
