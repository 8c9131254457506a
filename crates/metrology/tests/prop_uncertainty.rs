//! Laws of uncertainty and conformity.

use metrology::{
    Conformity, Ensemble, Function, Limits, Measured, Meter, Shape, Volts, conformance, normal_cdf,
    normal_quantile, student_quantile, what_would_decide,
};
use proptest::prelude::*;

fn readings() -> impl Strategy<Value = Ensemble> {
    let one = (
        0..2_usize,
        prop::sample::select(vec!["cheap", "mid", "good"]),
        -500.0..500.0_f64,
        0.0..3.0_f64,
    );
    prop::collection::vec(one, 1..8).prop_map(|told| {
        let mut all = Ensemble::default();
        for (place, class, value, wording_u) in told {
            let meter = Meter::class(class).unwrap_or(Meter::unknown());
            all.read(place, meter, Function::AcVolts, value, wording_u);
        }
        all
    })
}

fn measured(value: f64, u: f64) -> Measured<Volts> {
    Measured {
        value: Volts::from_si(value),
        u: Volts::from_si(u),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, failure_persistence: None, ..ProptestConfig::default() })]

    /// No weighted sum has a negative variance, and the diagonal is what each reading has alone.
    #[test]
    fn prop_readings_have_a_true_covariance(all in readings(), weights in prop::collection::vec(-2.0..2.0_f64, 8)) {
        let covariance = all.covariance();
        let n = all.members.len();
        let variance: f64 = (0..n).flat_map(|i| (0..n).map(move |j| (i, j)))
            .map(|(i, j)| weights[i] * weights[j] * covariance.get(i, j)).sum();
        let independent: f64 = all.members.iter().zip(&weights).map(|(it, w)| (w * it.independent_u).powi(2)).sum();
        // Sums of 64 terms of at most 4 * 12 V² round to 1e-12 V².
        prop_assert!(variance >= independent - 1e-11, "{variance} < {independent}");
        // The root undoes the square to within rounding of numbers up to 1000 V².
        prop_assert!((covariance.u_of(&weights[..n]).powi(2) - variance.max(0.0)).abs() < 1e-10);
        for (i, member) in all.members.iter().enumerate() {
            let alone = member.independent_u.powi(2) + member.shared.iter().map(|(_, g)| g * g).sum::<f64>();
            prop_assert!((covariance.get(i, i) - alone).abs() < 1e-12);
            for j in 0..n {
                prop_assert!(covariance.correlation(i, j).abs() <= 1.0);
            }
        }
    }

    #[test]
    fn prop_inside_and_outside_make_one(
        y in 100.0..140.0_f64, u in 0.0..20.0_f64, low in 100.0..120.0_f64, room in 0.0..20.0_f64,
        shape in prop::sample::select(vec![Shape::Normal, Shape::Rectangular]),
    ) {
        let reading = measured(y, u);
        let (low, high) = (Volts::from_si(low), Volts::from_si(low + room));
        let within = conformance(&reading, &Limits::between(low, high), shape);
        let below = conformance(&reading, &Limits::below(low), shape);
        let above = conformance(&reading, &Limits::above(high), shape);
        prop_assert!((0.0..=1.0).contains(&within));
        // A reading known exactly and standing on a limit counts on both sides of it.
        if u > 1e-6 {
            // Differences of volts near 120 are good to 1e-14 V, which is 1e-8 of the smallest u.
            prop_assert!((within + below + above - 1.0).abs() < 1e-7, "{below} + {within} + {above}");
        }
        let wider = conformance(&reading, &Limits::between(low, high).guarded(Volts::from_si(-1.0)), shape);
        prop_assert!(wider >= within - 1e-15);
    }

    /// A reading with the uncertainty that is said to decide is decided, and with a little more it is not.
    #[test]
    fn prop_what_would_decide_decides(y in 100.0..140.0_f64) {
        let limits = Limits::between(Volts::from_si(114.0), Volts::from_si(126.0));
        let mid = Meter::class("mid").unwrap_or(Meter::unknown());
        let would = what_would_decide(Volts::from_si(y), &limits, mid, Function::AcVolts);
        let decided = |u: f64| {
            Conformity::of(conformance(&measured(y, u), &limits, Shape::Normal)) != Conformity::Undecided
        };
        let needed = would.needed_u.map_or(0.0, Volts::si);
        prop_assert!(decided(needed));
        // Outside, the far limit keeps a wide doubt decided a little longer than the near limit alone asks.
        if limits.hold(Volts::from_si(y)) {
            prop_assert!(!decided(needed * 1.001 + 1e-12));
        }
    }

    #[test]
    fn prop_quantiles_invert_and_order(p in 1e-6..0.999_999_f64, degrees in 0.5..200.0_f64) {
        // The slope at p = 1e-6 is 5e-6, so an ulp of z gives less than 1e-15.
        prop_assert!((normal_cdf(normal_quantile(p)) - p).abs() < 1e-15);
        // Student's tails are the heavier ones.
        prop_assert!(student_quantile(p, degrees).abs() >= normal_quantile(p).abs() * (1.0 - 1e-12));
    }
}
