//! Uncertainty and conformity against published examples and a reference library.

use metrology::{
    Accuracy, Budget, Component, Covariance, Farads, Hertz, Input, Limits, Measured, Ohms, Shape,
    Volts, conformance, conforms_above, conforms_below, global_risks, guard_band, normal_cdf,
    normal_quantile, specific_risks, student_quantile,
};

/// Fails with both numbers when they are further apart than the tolerance.
#[track_caller]
fn assert_close(got: f64, wanted: f64, tolerance: f64) {
    assert!(
        (got - wanted).abs() <= tolerance,
        "got {got}, wanted {wanted} within {tolerance}"
    );
}

fn volts(value: f64, u: f64) -> Measured<Volts> {
    Measured {
        value: Volts::from_si(value),
        u: Volts::from_si(u),
    }
}

/// SciPy 1.17.1, stats.norm.cdf((114.6 - 114.0) / 0.7). Tolerance 1e-14: an f64 near 114 V is good to 7e-15 V, which is
/// 3e-15 in the probability on either side; erfc adds less.
#[test]
fn ref_a_reading_just_above_its_limit_conforms_four_times_in_five() {
    assert_close(
        conforms_above(&volts(114.6, 0.7), Volts::from_si(114.0)),
        0.804_317_030_846_221_7,
        1e-14,
    );
}

/// mpmath 1.3.0 at 30 digits, by bisection of the regularised incomplete beta function. Tolerance 1e-12 relative: p is
/// within 1e-16, the tail of 5e-5 in the last but one case within 2e-12 of itself.
#[test]
fn ref_student_quantiles() {
    let cases = [
        (0.975, 1.0, 12.706_204_736_174_705),
        (0.975, 5.0, 2.570_581_835_636_315_5),
        (0.995, 16.0, 2.920_781_622_425_1),
        (0.975, 16.6, 2.113_694_949_762_441_5),
        (0.995, 2.0, 9.924_843_200_918_293),
        (0.9, 0.7, 5.009_947_959_646_404),
        (0.975, 1000.0, 1.962_339_080_826_408_5),
        (0.9999, 3.5, 16.295_284_596_958_677),
        (0.6, 10.0, 0.260_184_829_492_080_2),
    ];
    let miss = |(p, degrees, wanted): &(f64, f64, f64)| {
        let got = student_quantile(*p, *degrees);
        ((got - wanted).abs() > 1e-12 * wanted)
            .then(|| format!("t({p}, {degrees}) = {got}, mpmath {wanted}"))
    };
    let misses: Vec<_> = cases.iter().filter_map(miss).collect();
    assert!(misses.is_empty(), "{}", misses.join("\n"));
    // 1 - 0.9 is not quite 0.1.
    assert_close(
        student_quantile(0.1, 5.0),
        -student_quantile(0.9, 5.0),
        1e-14,
    );
    assert!(student_quantile(0.9, 0.0).is_nan() && student_quantile(1.2, 5.0).is_nan());
}

/// mpmath 1.3.0, `sqrt(2) erfinv(2p - 1)`. Tolerance 1e-14 relative: the bisection ends at neighbouring numbers, erfc is
/// good to an ulp or two, and the slope makes a little more of it at 0.6.
#[test]
fn ref_normal_quantiles() {
    let cases = [
        (0.95, 1.644_853_626_951_472_7),
        (0.975, 1.959_963_984_540_054_2),
        (1e-12, -7.034_483_825_301_132),
        (0.6, 0.253_347_103_135_799_8),
    ];
    for (p, wanted) in cases {
        assert_close(normal_quantile(p), wanted, 1e-14 * f64::abs(wanted));
    }
    assert_eq!(
        (normal_quantile(0.0), normal_quantile(1.0)),
        (f64::NEG_INFINITY, f64::INFINITY)
    );
}

/// JCGM 100:2008, Annex H.1, end-gauge calibration (inputs from memory). Printed: u_c = 32 nm (31.70 nm from the inputs),
/// ν_eff = 16, U_99 = 93 nm with k = 2.92. Tolerances: half of the last digit.
#[test]
fn ref_gum_h1_end_gauge() {
    let d = Budget::of([
        Component::new("comparisons", 5.8).degrees(24.0),
        Component::new("comparator, random", 3.9).degrees(5.0),
        Component::new("comparator, systematic", 6.7).degrees(8.0),
    ])
    .combined();
    assert_close(d.u, 9.7, 0.05);
    assert_close(d.degrees, 25.4, 0.05);

    let (l_s, alpha_s, theta_bar) = (50.000_623e6, 11.5e-6, -0.1);
    let length = Budget::of([
        Component::new("standard", 25.0).degrees(18.0),
        Component::new("difference", d.u).degrees(d.degrees),
        Component::new("difference of expansion coefficients", 0.58e-6)
            .times(-l_s * theta_bar)
            .degrees(50.0),
        Component::new("difference of temperatures", 0.029)
            .times(-l_s * alpha_s)
            .degrees(2.0),
    ])
    .combined();
    assert_close(length.u, 31.70, 0.05);
    assert_close(length.degrees, 16.6, 0.1);
    assert_close(length.coverage_factor(0.99), 2.92, 0.005);
    assert_close(length.expanded(0.99), 93.0, 0.5);
}

/// JCGM 100:2008, Annex H.2, resistance, reactance and impedance from simultaneous readings (data from memory, results
/// recomputed from them; the publication prints u_X = 0.295). Tolerances: half of the last digit.
#[test]
fn ref_gum_h2_resistance_and_reactance() {
    let v = [5.007, 4.994, 5.005, 4.990, 4.999];
    let i = [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3];
    let phi = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433];
    let (means, covariance) = Covariance::of_means(&[&v, &i, &phi]).unwrap();
    let (z, phi) = (means[0] / means[1], means[2]);
    let (r, x) = (z * phi.cos(), z * phi.sin());
    assert_close(r, 127.732, 5e-4);
    assert_close(x, 219.847, 5e-4);
    assert_close(z, 254.260, 5e-4);

    let by = |y: f64, by_phi: f64| [y / means[0], -y / means[1], by_phi];
    let results = covariance.propagated(&[&by(r, -x), &by(x, r), &by(z, 0.0)]);
    assert_close(results.u(0), 0.071, 5e-4);
    assert_close(results.u(1), 0.296, 5e-4);
    assert_close(results.u(2), 0.236, 5e-4);
    assert_close(results.correlation(0, 1), -0.588, 5e-4);
    assert_close(results.correlation(0, 2), -0.485, 5e-4);
    assert_close(results.correlation(1, 2), 0.993, 5e-4);
}

/// H.2 again, for R alone, through a budget with correlated inputs: the same u_R = 0.071 Ω.
#[test]
fn ref_gum_h2_through_a_budget() {
    let v = [5.007, 4.994, 5.005, 4.990, 4.999];
    let i = [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3];
    let phi = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433];
    let (means, covariance) = Covariance::of_means(&[&v, &i, &phi]).unwrap();
    let (r, x) = (
        means[0] / means[1] * means[2].cos(),
        means[0] / means[1] * means[2].sin(),
    );
    let mut budget = Budget::of([
        Component::new("voltage", covariance.u(0))
            .times(r / means[0])
            .degrees(4.0),
        Component::new("current", covariance.u(1))
            .times(-r / means[1])
            .degrees(4.0),
        Component::new("phase", covariance.u(2))
            .times(-x)
            .degrees(4.0),
    ]);
    for (a, b) in [(0, 1), (0, 2), (1, 2)] {
        budget
            .correlations
            .push((a, b, covariance.correlation(a, b)));
    }
    assert_close(budget.combined().u, 0.071, 5e-4);
}

/// JCGM 106:2012, one-sided example (recollected): -5.47 V, u = 0.05 V, upper limit -5.40 V; Φ(1.4) = 0.9192, printed
/// 0.92. Tolerance: half of the last digit.
#[test]
fn ref_jcgm_106_one_sided() {
    let p = conforms_below(&volts(-5.47, 0.05), Volts::from_si(-5.40));
    assert_close(p, 0.9192, 5e-5);
    let risks = specific_risks(&volts(-5.47, 0.05), &Limits::below(Volts::from_si(-5.40)));
    assert_close(risks.consumer, 0.0808, 5e-5);
}

/// JCGM 106 clause 7 on four readings of a voltage, u = half-width / √3 (computed). Tolerance: half of the last digit.
#[test]
fn ref_conformity_of_voltage_readings() {
    let cases = [
        (126.8, "1.0 % + 3", 114.0, 126.0, 0.9053, 0.1884, 0.2449),
        (125.2, "1.0 % + 3", 114.0, 126.0, 0.8960, 0.8140, 0.7577),
        (113.6, "0.7 % + 3", 114.0, 126.0, 0.6323, 0.2635, 0.3174),
        (107.9, "1.2 % + 10", 108.0, 126.0, 1.3249, 0.4699, 0.4782),
    ];
    let mut misses = Vec::new();
    for (value, sheet, low, high, u, gaussian, rectangular) in cases {
        let sheet: Accuracy = sheet.parse().unwrap();
        let reading = volts(value, sheet.half_width(value, 0.1) / 3f64.sqrt());
        let limits = Limits::between(Volts::from_si(low), Volts::from_si(high));
        let got = [
            reading.u.si(),
            conformance(&reading, &limits, Shape::Normal),
            conformance(&reading, &limits, Shape::Rectangular),
        ];
        for (got, wanted) in got.into_iter().zip([u, gaussian, rectangular]) {
            if (got - wanted).abs() > 5.000_1e-5 {
                misses.push(format!(
                    "{value} V with {sheet}: got {got}, wanted {wanted}"
                ));
            }
        }
    }
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}

/// JCGM 106 clause 9 (resistor example recollected), double integrals by mpmath 1.3.0 at 30 digits; u0 = 0.12 Ω,
/// u_m = 0.04 Ω, tolerance ±0.2 Ω, accepted within ±0.2 Ω and within ±0.12 Ω (a guard band of 2 u_m). Tolerance 1e-10: the
/// rule's own error, as the module argues.
#[test]
fn ref_global_risks() {
    let process = Measured {
        value: Ohms::from_si(1500.0),
        u: Ohms::from_si(0.12),
    };
    let u_m = Ohms::from_si(0.04);
    let limits = Limits::between(Ohms::from_si(1499.8), Ohms::from_si(1500.2));
    let plain = global_risks(&process, u_m, &limits, &limits);
    assert_close(plain.nonconforming, 0.095_580_704_545_629_4, 1e-10);
    assert_close(plain.consumer, 0.018_942_206_717_029_1, 1e-10);
    assert_close(plain.producer, 0.037_207_800_178_057_7, 1e-10);
    let guarded = global_risks(&process, u_m, &limits, &limits.guarded(u_m * 2.0));
    assert_close(guarded.consumer, 0.000_468_633_598_870_355, 1e-10);
    assert_close(guarded.producer, 0.247_669_640_201_152, 1e-10);
}

/// JCGM 106:2012, 8.3.2: a guard band of 2u keeps the risk at the limit to 1 - Φ(2) = 0.0228.
#[test]
fn ref_a_guard_band_of_two_u_keeps_the_risk_to_two_percent() {
    assert_close(1.0 - normal_cdf(2.0), 0.0228, 5e-5);
    assert_close(
        guard_band(Volts::from_si(0.5), 1.0 - normal_cdf(2.0)).si(),
        1.0,
        1e-12,
    );
    let limits = Limits::between(Volts::from_si(114.0), Volts::from_si(126.0));
    let edge = volts(limits.guarded(Volts::from_si(1.0)).upper.unwrap().si(), 0.5);
    assert_close(specific_risks(&edge, &limits).consumer, 0.0228, 5e-5);
}

/// Ghost voltage on a floating wire coupled to a live one by one capacitance, computed as `V Zm / (Zm + 1/(jωC))`:
/// live volts, hertz, coupling in pF, meter in ohms and pF, reading. Tolerance: half of the fourth digit.
#[test]
fn ref_a_meters_input_loads_a_ghost_voltage() {
    let cases = [
        (120.0, 60.0, 800.0, 10e6, 0.0, 113.9),
        (120.0, 60.0, 800.0, 10e6, 100.0, 102.3),
        (120.0, 60.0, 2400.0, 10e6, 0.0, 119.3),
        (120.0, 60.0, 800.0, 1e6, 0.0, 34.65),
        (120.0, 60.0, 800.0, 3e3, 0.0, 0.1086),
        (120.0, 60.0, 800.0, 300e3, 0.0, 10.81),
        (230.0, 50.0, 800.0, 10e6, 0.0, 213.7),
        (230.0, 50.0, 800.0, 400e3, 0.0, 23.01),
        (230.0, 50.0, 3000.0, 3e3, 0.0, 0.6503),
    ];
    let mut misses = Vec::new();
    for (live, hertz, coupling, r, c, wanted) in cases {
        let frequency = Hertz::from_si(hertz);
        let input = Input {
            resistance: Ohms::from_si(r),
            capacitance: Farads::from_si(c * 1e-12),
        };
        let through = Farads::from_si(coupling * 1e-12).admittance(frequency);
        let divider = through / (through + input.admittance(frequency));
        let got = live * divider.norm();
        if (got - wanted).abs() > 5e-4 * wanted {
            misses.push(format!(
                "{live} V through {coupling} pF on {r} ohm, {c} pF: {got}, wanted {wanted}"
            ));
        }
    }
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}
