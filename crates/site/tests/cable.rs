//! Cables against published tables and worked examples.

use metrology::{Amps, Celsius, Fraction, Hertz, Metres};
use site::cable::{CAPACITANCE_PER_METRE, drop_along, drop_along_with};
use site::model::Cable;
use site::region::Region;

fn cable(text: &str, celsius: f64) -> Cable {
    Cable::read(text, Celsius::from_si(celsius)).expect("a cable of the tables")
}

fn misses(rows: &[(&str, f64, f64)], temperature: f64, tolerance: f64) -> Vec<String> {
    let judge = |(text, wanted, per): &(&str, f64, f64)| {
        let got = cable(text, temperature).resistance_per_metre() * per;
        let off = got / wanted - 1.0;
        (off.abs() > tolerance)
            .then(|| format!("{text}: {got:.4} for {wanted} ({:+.2} %)", off * 100.0))
    };
    rows.iter().filter_map(judge).collect()
}

/// NEC chapter 9 table 8, uncoated conductors, d.c. at 75 °C in Ω/kft (1000 ft = 304.8 m); solid to 8 AWG, stranded
/// above. Tolerance 0.5 %: the table has three digits (0.1 for 4/0 aluminium only one, hence left out), and the factor
/// of stranding has two.
#[test]
fn ref_resistance_by_nec_table_8() {
    let copper = [
        ("14 AWG", 3.07),
        ("12 AWG", 1.93),
        ("10 AWG", 1.21),
        ("8 AWG", 0.764),
        ("6 AWG", 0.491),
        ("4 AWG", 0.308),
        ("3 AWG", 0.245),
        ("2 AWG", 0.194),
        ("1 AWG", 0.154),
        ("1/0 AWG", 0.122),
        ("2/0 AWG", 0.0967),
        ("3/0 AWG", 0.0766),
        ("4/0 AWG", 0.0608),
        ("14 AWG aluminium", 5.06),
        ("12 AWG aluminium", 3.18),
        ("8 AWG aluminium", 1.26),
        ("6 AWG aluminium", 0.808),
        ("2 AWG aluminium", 0.319),
        ("1/0 AWG aluminium", 0.201),
        ("3/0 AWG aluminium", 0.126),
    ];
    let rows: Vec<_> = copper.map(|(text, ohms)| (text, ohms, 304.8)).to_vec();
    let misses = misses(&rows, 75.0, 5e-3);
    assert!(misses.is_empty(), "{misses:#?}");
}

/// IEC 60228, Tables 1 and 2, greatest resistance at 20 °C in Ω/km. Tolerance 1e-9: the table itself is used.
#[test]
fn ref_resistance_by_iec_60228() {
    let rows = [
        ("1.5 mm²", 12.1, 1e3),
        ("2.5 mm²", 7.41, 1e3),
        ("4 mm²", 4.61, 1e3),
        ("6 mm²", 3.08, 1e3),
        ("10 mm²", 1.83, 1e3),
        ("16 mm²", 1.15, 1e3),
        ("25 mm²", 0.727, 1e3),
        ("16 mm² aluminium", 1.91, 1e3),
        ("50 mm² aluminium", 0.641, 1e3),
    ];
    let misses = misses(&rows, 20.0, 1e-9);
    assert!(misses.is_empty(), "{misses:#?}");
}

/// Computed from geometry independently: d = 0.127 mm * 92^((36-n)/39), R = 0.017241/A, 75 °C: times 1.21615.
/// Tolerance 5e-5: the digits given.
#[test]
fn exact_resistance_from_geometry() {
    let rows = [("12 AWG", 6.33698, 1e3), ("14 AWG", 10.0762, 1e3)];
    let misses = misses(&rows, 75.0, 5e-5);
    assert!(misses.is_empty(), "{misses:#?}");
}

/// BS 7671 appendix 4 prints 29, 18, 11 and 7.3 mV/A/m for two-core copper at 70 °C (computed 29, 17.7, 11, 7.37).
/// Tolerance 2 %: the prints have two digits.
#[test]
fn ref_drop_per_ampere_and_metre() {
    let rows = [
        ("1.5 mm²", 29.0, 2e3),
        ("2.5 mm²", 18.0, 2e3),
        ("4 mm²", 11.0, 2e3),
        ("6 mm²", 7.3, 2e3),
    ];
    let misses = misses(&rows, 70.0, 0.02);
    assert!(misses.is_empty(), "{misses:#?}");
}

/// 230 V, 2.5 mm² of 7.41 Ω/km, 25 m, 13 A at 70 °C: 5.76294 V, and 12 AWG solid at 75 °C with 16 A loses 3.6 V in
/// 17.8 m. Independent computation of `2 r L I`. Tolerance: the digits given.
#[test]
fn ref_drop_along_a_run() {
    let drop = |text, celsius, metres, amps| {
        let cable = cable(text, celsius);
        drop_along(Metres::from_si(metres), &cable, Amps::from_si(amps)).si()
    };
    assert!((drop("2.5 mm²", 70.0, 25.0, 13.0) - 5.76294).abs() < 1e-5);
    assert!((drop("12 AWG", 75.0, 17.75, 16.0) - 3.6).abs() < 0.01);
}

/// Two outlets in a row, 120 V behind 0.05 Ω, 12 AWG at 75 °C, runs of 12 m and 6 m, 5 A at the first and 3 A at the
/// second: 118.383 V and 118.155 V line to neutral, 0.608351 V and 0.722416 V neutral to earth. Sum of drops, computed
/// independently. Tolerance: the digits given.
#[test]
fn ref_two_outlets_in_a_row() {
    let cable = cable("12 AWG", 75.0);
    let drop = |metres, amps| drop_along(Metres::from_si(metres), &cable, Amps::from_si(amps)).si();
    let first = drop(12.0, 8.0);
    let second = first + drop(6.0, 3.0);
    let source = 120.0 - 0.05 * 8.0;
    assert!((source - first - 118.383).abs() < 5e-4);
    assert!((source - second - 118.155).abs() < 5e-4);
    assert!((first / 2.0 - 0.608351).abs() < 1e-6);
    assert!((second / 2.0 - 0.722416).abs() < 1e-6);
}

/// `L = μ0/π (ln(d/r) + 1/4)` with d = 3.9 mm and r = 1.03 mm gives 0.63 µH/m for 12 AWG cable. Tolerance: the digits.
#[test]
fn ref_inductance_of_a_cable() {
    let henries = cable("12 AWG", 20.0).loop_inductance_per_metre();
    assert!((henries * 1e6 - 0.63).abs() < 5e-3, "{henries:e}");
    let x = cable("12 AWG", 20.0).reactance_per_metre(Hertz::from_si(60.0));
    assert!((x - 0.5 * 376.991 * henries).abs() < 1e-8);
}

#[test]
fn exact_at_unity_power_factor_reactance_does_not_count() {
    let cable = cable("10 AWG", 40.0);
    let (run, load) = (Metres::from_si(30.0), Amps::from_si(10.0));
    let plain = drop_along(run, &cable, load);
    let with = drop_along_with(
        run,
        &cable,
        load,
        Fraction::from_si(1.0),
        Hertz::from_si(60.0),
    );
    assert_eq!(plain, with);
}

#[test]
fn capacitance_stands_between_its_bounds() {
    let spread = CAPACITANCE_PER_METRE.value;
    assert!(spread.low < spread.usual && spread.usual < spread.high);
    assert_eq!(
        cable("12 AWG", 20.0).capacitance_per_metre(),
        spread.usual.si()
    );
}

/// NEC 240.4(D): 15 A on 14 AWG, 20 A on 12 AWG, 30 A on 10 AWG.
#[test]
fn ref_smallest_cable_behind_a_breaker() {
    let region = Region::find("north-america").unwrap();
    let cable = |amps| {
        region
            .cable_for(Some(Amps::from_si(amps)))
            .value
            .to_string()
    };
    assert_eq!(cable(15.0), "14 AWG copper");
    assert_eq!(cable(20.0), "12 AWG copper");
    assert_eq!(cable(30.0), "10 AWG copper");
    assert_eq!(region.cable_for(None).value.to_string(), "14 AWG copper");
}
