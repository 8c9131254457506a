//! What would turn an undecided reading into a decision.

use super::{CONFORMS_FROM, Conformity, Limits, conformance};
use crate::distribution::normal_quantile;
use crate::doubt::{Measured, doubt_on};
use crate::meter::{Function, Meter, RangeId};
use crate::quantity::Quantity;
use crate::stated::Shape;

/// What would decide, if the better reading shows about the same value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WouldDecide<Q> {
    /// Largest standard uncertainty that decides; nothing where the reading stands on its limit.
    pub needed_u: Option<Q>,
    /// A range of the meter in hand that is good enough: read again on it, to its last digit.
    pub range: Option<RangeId>,
    /// Else the humblest class of meter that is good enough.
    pub meter: Option<&'static Meter>,
}

/// What would decide about a reading against its limits, taken with this meter on this function.
pub fn what_would_decide<Q: Quantity>(
    value: Q,
    limits: &Limits<Q>,
    meter: &Meter,
    function: Function,
) -> WouldDecide<Q> {
    let Some(needed) = needed_u(value, limits) else {
        return WouldDecide {
            needed_u: None,
            range: None,
            meter: None,
        };
    };
    let reading = value.number();
    // On its own: a rectangular distribution of the sheet's half-width.
    let best_range = |meter: &Meter| -> Option<(RangeId, f64)> {
        let ranges = meter.scale(function)?.ranges.iter().enumerate();
        ranges
            .filter(|(_, it)| reading.abs() <= it.full_scale)
            .filter_map(|(index, _)| {
                let id = RangeId {
                    function,
                    index: u8::try_from(index).ok()?,
                };
                Some((id, doubt_on(meter, id, reading).alone()))
            })
            .min_by(|a, b| a.1.total_cmp(&b.1))
    };
    let range = best_range(meter)
        .filter(|(_, u)| *u <= needed.number())
        .map(|(id, _)| id);
    let better = || {
        let classes = Meter::classes()
            .iter()
            .filter_map(|it| Some((it, best_range(it)?.1)));
        let enough = classes.filter(|(_, u)| *u <= needed.number());
        enough.max_by(|a, b| a.1.total_cmp(&b.1)).map(|(it, _)| it)
    };
    WouldDecide {
        needed_u: Some(needed),
        range,
        meter: if range.is_some() { None } else { better() },
    }
}

/// The largest standard uncertainty at which a reading of this value is decided, for bell-shaped doubt.
fn needed_u<Q: Quantity>(value: Q, limits: &Limits<Q>) -> Option<Q> {
    let y = value.number();
    let (low, high) = limits.numbers();
    let nearest = (y - low).abs().min((y - high).abs());
    // Enough if the nearest limit stood alone. Outside, a second limit only helps; inside, it may ask for less.
    let one_sided = nearest / normal_quantile(CONFORMS_FROM);
    if !one_sided.is_finite() || one_sided <= 0.0 {
        return None;
    }
    let decided = |u: f64| {
        let p = conformance(&Measured { value, u: Q::of(u) }, limits, Shape::Normal);
        Conformity::of(p) != Conformity::Undecided
    };
    let (mut enough, mut too_much) = (0.0, one_sided * (1.0 + 1e-9));
    for _ in 0..60 {
        let middle = 0.5 * (enough + too_much);
        if decided(middle) {
            enough = middle
        } else {
            too_much = middle
        }
    }
    Some(Q::of(enough))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Volts;

    const RANGE_A: Limits<Volts> = Limits::between(Volts::from_si(114.0), Volts::from_si(126.0));

    /// One limit far away: `u = |y − T| / 1.6449`; 1 V gives 0.6080 V. The good meter (0.7 % + 3: 0.674 V) is not enough,
    /// the high-grade one (0.4 % + 40 counts of 10 mV: 0.520 V) is.
    #[test]
    fn exact_a_reading_one_volt_inside_its_limit_needs_the_better_meter() {
        let mid = Meter::class("mid").unwrap();
        let would = what_would_decide(Volts::from_si(125.0), &RANGE_A, mid, Function::AcVolts);
        // 1e-6: the bisection ends at 1e-9, and the far limit (12 V, 18 u away) adds nothing.
        assert!((would.needed_u.unwrap().si() - 1.0 / 1.644_853_626_951_472_7).abs() < 1e-6);
        assert_eq!(would.range, None);
        assert_eq!(
            would.meter.and_then(|it| it.class.as_deref()),
            Some("high-grade")
        );
    }

    /// 2 V inside asks for 1.216 V; the cheap meter gives 1.436 V, the middle one 0.889 V, which is enough.
    #[test]
    fn the_humblest_meter_that_decides_is_named() {
        let cheap = Meter::class("cheap").unwrap();
        let would = what_would_decide(Volts::from_si(124.0), &RANGE_A, cheap, Function::AcVolts);
        assert_eq!(would.meter.and_then(|it| it.class.as_deref()), Some("mid"));
    }

    #[test]
    fn a_rounded_word_is_decided_by_the_display_of_the_same_meter() {
        let mid = Meter::class("mid").unwrap();
        let would = what_would_decide(Volts::from_si(120.0), &RANGE_A, mid, Function::AcVolts);
        assert_eq!(would.range.map(|it| it.index), Some(2));
        assert_eq!(would.meter, None);
    }

    #[test]
    fn nothing_decides_a_reading_on_its_limit() {
        let mid = Meter::class("mid").unwrap();
        let would = what_would_decide(Volts::from_si(126.0), &RANGE_A, mid, Function::AcVolts);
        assert_eq!(
            (would.needed_u, would.range, would.meter),
            (None, None, None)
        );
    }

    /// In the middle both tails count: `2Φ(6/u) − 1 = 0.95`, `u = 6 / 1.959964`.
    #[test]
    fn exact_in_the_middle_both_limits_count() {
        let u = needed_u(Volts::from_si(120.0), &RANGE_A).unwrap().si();
        assert!((u - 6.0 / 1.959_963_984_540_054_2).abs() < 1e-9);
    }
}
