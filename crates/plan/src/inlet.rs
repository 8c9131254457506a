//! What a supply draws at its inlet.
//!
//! `P_in = P_out + P_r ℓ(x)`, `x = P_out / P_r`, `ℓ(x) = x (1/η(x) − 1)`, `I = P_in / (λ U)`. P_r: rating (W), η: efficiency,
//! known at some x; ℓ: loss over rating, straight lines between those points. Below the first the line goes on, down to
//! half of that loss and no further; above the last it goes on. λ: power factor, U: nominal voltage (V).
//! Doubt: `u(P_in)² = (P_in/P_out · u(P_out))² + (P_in · u(η)/η)²`, and that of λ on top for the current.
//! Standby: `P_in = P_out / η_sb`. Source of the form: ours; of the points: `data/rules.toml`, or told.
//! Held by: tests/exact.rs, tests/ref.rs (worked example of an inlet's current).

use metrology::{Amps, Fraction, Volts, Watts};
use site::supply::Supply;
use site::typical::Moment;

use crate::demand::Demand;
use crate::rules::{Doubted, FactorFrom, Rules};
use crate::sum::Sum;

/// What a supply draws at its inlet at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Inlet {
    /// Real power.
    pub power: Doubted<Watts>,
    /// Current.
    pub current: Doubted<Amps>,
    /// Output over input.
    pub efficiency: f64,
}

/// What a supply draws at its inlet for a demand; `None` where its rating is not known and its loss cannot be told.
pub fn inlet(demand: &Demand, supply: &Supply, moment: Moment, nominal: Volts) -> Option<Inlet> {
    let rules = Rules::built_in();
    let out = demand.watts(moment);
    let input = match moment {
        Moment::Off => out.times(1.0 / rules.standby_efficiency.value.si()),
        _ => input_for(&out, supply, nominal)?,
    };
    let (value, out_value) = (input.value(), out.value());
    let slope = if out_value > 0.0 {
        value / out_value
    } else {
        1.0
    };
    let eta = if value > 0.0 { out_value / value } else { 1.0 };
    let by_efficiency = value * rules.efficiency_doubt.value.si() / eta.max(0.1);
    let u = (slope * out.u()).hypot(by_efficiency);
    let factor = factor(supply).value;
    let lambda = factor.value.si();
    let current = value / (lambda * nominal.si());
    let relative = (u / value.max(f64::MIN_POSITIVE)).hypot(factor.u.si() / lambda);
    Some(Inlet {
        power: Doubted {
            value: Watts::from_si(value),
            u: Watts::from_si(u),
        },
        current: Doubted {
            value: Amps::from_si(current),
            u: Amps::from_si(current * relative),
        },
        efficiency: eta,
    })
}

/// The power factor of a supply, with its source.
pub(crate) fn factor(supply: &Supply) -> &'static metrology::Sourced<Doubted<Fraction>> {
    let from = match (supply.correction, supply.mark) {
        (Some(it), _) => FactorFrom::Correction(it),
        (None, Some(_)) => FactorFrom::Mark,
        (None, None) => FactorFrom::Nothing,
    };
    Rules::built_in().power_factor(from)
}

fn input_for(out: &Sum, supply: &Supply, nominal: Volts) -> Option<Sum> {
    let rating = supply.rating?.si();
    let points = points(supply, nominal);
    let loss = rating * loss(&points, out.value() / rating);
    let mut input = out.clone();
    input.add(1.0, &Sum::of(loss, 0, 0.0));
    Some(input)
}

/// Loss over rating at shares of the rating, the smallest first.
fn points(supply: &Supply, nominal: Volts) -> Vec<(f64, f64)> {
    let of = |x: f64, eta: f64| (x, x * (1.0 / eta - 1.0));
    if supply.efficiency.is_empty() {
        let levels = Rules::built_in().efficiency(supply.mark, nominal).value;
        let at = [0.2, 0.5, 1.0].into_iter().zip(levels);
        return at.map(|(x, eta)| of(x, eta.si())).collect();
    }
    let told = supply.efficiency.iter();
    told.map(|it| of(it.load.si(), it.efficiency.si()))
        .collect()
}

fn loss(points: &[(f64, f64)], x: f64) -> f64 {
    let Some(first) = points.first() else {
        return 0.0; // not reached: a rule or what was told always has a point
    };
    if points.len() == 1 {
        return first.1 * x / first.0; // one efficiency told is taken at every load
    }
    let above = points.iter().position(|it| it.0 >= x);
    let to = above.unwrap_or(points.len() - 1).max(1);
    let ((x0, y0), (x1, y1)) = (points[to - 1], points[to]);
    let line = if x1 > x0 {
        y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    } else {
        y1
    };
    if x < first.0 {
        line.max(first.1 / 2.0)
    } else {
        line.max(0.0)
    }
}

/// What the power factor of a supply rests on, for a page.
pub(crate) fn factor_says(supply: &Supply) -> String {
    let it = factor(supply);
    format!("power factor {:.2}: {}", it.value.value.si(), it.cited())
}
