//! Worked examples of wiring: computed with independent scripts (nodal analysis in numpy), basis "computed".
//!
//! Each is laid out on the bench: the wiring that the chain makes of a site, with the example's values on its branches.
//! A cable's resistance comes from its gauge, metal and temperature: 0.017241 Ω·mm²/m, 0.00393 1/K,
//! `0.127 mm · 92^((36−n)/39)`. Tolerances are those that the examples state; values are printed with six digits.

mod support;

use chain::alter::Alteration;
use chain::element::{Conductor, Element};
use network::loaded;
use num_complex::Complex64;
use site::model::{CircuitIx, Site};
use support::{Bench, Table, at_celsius, open, series, site};

const OPEN_RUN: Conductor = Conductor::Neutral;

/// One outlet, `near`, at the end of `run` of a cable; 75 °C.
fn branch(cable: &str, run: &str) -> Site {
    at_celsius(
        &format!(
            r#"
            format = 1
            name = "Worked example (invented)"
            region = "north-america"
            circuit = [{{ id = "1", leg = "A", cable = "{cable} copper" }}]
            outlet = [{{ id = "near", circuit = "1", run = "{run}" }}]
            "#
        ),
        75.0,
    )
}

/// Two outlets one after the other on 12 AWG; 75 °C.
fn two(first: &str, second: &str) -> Site {
    at_celsius(
        &format!(
            r#"
            format = 1
            name = "Worked example (invented)"
            region = "north-america"
            circuit = [{{ id = "1", leg = "A", cable = "12 AWG copper" }}]
            outlet = [
                {{ id = "near", circuit = "1", run = "{first}" }},
                {{ id = "far", after = "near", run = "{second}" }},
            ]
            "#
        ),
        75.0,
    )
}

/// Circuits of all legs on one neutral, 20 m of 12 AWG at 75 °C: outlets `a`, `b` and, in wye, `c`.
fn shared(system: &str, n: usize) -> Site {
    let legs = ["A", "B", "C"].into_iter().take(n);
    let names = legs.map(|leg| (leg, leg.to_ascii_lowercase()));
    let (mut circuits, mut outlets) = (String::new(), String::new());
    for (leg, id) in names {
        let with = if leg == "A" {
            ""
        } else {
            ", shares_neutral_with = \"A\""
        };
        circuits +=
            &format!("{{ id = \"{leg}\", leg = \"{leg}\", cable = \"12 AWG copper\"{with} }},");
        outlets += &format!("{{ id = \"{id}\", circuit = \"{leg}\", run = \"20 m\" }},");
    }
    at_celsius(
        &format!(
            "format = 1\nname = \"Worked example (invented)\"\nregion = \"north-america\"\n\
            service = {{ system = \"{system}\" }}\ncircuit = [{circuits}]\noutlet = [{outlets}]"
        ),
        75.0,
    )
}

fn hot_neutral_ground(bench: &Bench<'_>, altered: &[Alteration], outlet: &str) -> [f64; 3] {
    [("line", "neutral"), ("neutral", "earth"), ("line", "earth")]
        .map(|(a, b)| bench.volts(altered, &format!("{outlet} {a}"), &format!("{outlet} {b}")))
}

fn rows(table: &mut Table, what: &str, got: &[f64], want: &[f64], tolerance: f64) {
    for (k, (got, want)) in got.iter().zip(want).enumerate() {
        table.row(&format!("{what}, value {k}"), *got, *want, tolerance);
    }
}

/// Examples "branch-20m-12", "branch-30m-14", "branch-20m-12-noload", "bad-neutral", "bad-hot", "ng-swap",
/// "ng-swap-upstream": 120 V behind 0.05 Ω, load 10 Ω; hot-neutral, neutral-ground, hot-ground.
#[test]
fn ref_a_loaded_branch_reads_as_worked_out() {
    let mut table = Table::default();
    let mut branch_of =
        |what: &str, cable: &str, run: &str, load: f64, ohms: [f64; 2], want: [f64; 3]| {
            let site = branch(cable, run);
            let mut bench = Bench::of(&site, 0.05);
            bench.load("near", load);
            let run = Element::Run(bench.outlet("near"));
            let joints = [
                series(run, Conductor::Line, ohms[0]),
                series(run, Conductor::Neutral, ohms[1]),
            ];
            let got = hot_neutral_ground(&bench, &joints, "near");
            rows(&mut table, what, &got, &want, 1e-4);
        };
    branch_of(
        "branch-20m-12",
        "12 AWG",
        "20 m",
        0.1,
        [0.0, 0.0],
        [116.466, 1.47608, 117.942],
    );
    branch_of(
        "branch-30m-14",
        "14 AWG",
        "30 m",
        0.1,
        [0.0, 0.0],
        [112.628, 3.40458, 116.032],
    );
    branch_of(
        "branch-20m-12-noload",
        "12 AWG",
        "20 m",
        0.0,
        [0.0, 0.0],
        [120.0, 0.0, 120.0],
    );
    branch_of(
        "bad-neutral",
        "12 AWG",
        "20 m",
        0.1,
        [0.0, 0.5],
        [111.075, 6.96153, 118.037],
    );
    branch_of(
        "bad-hot",
        "12 AWG",
        "20 m",
        0.1,
        [0.5, 0.0],
        [111.075, 1.40777, 112.483],
    );

    let swap = |bench: &Bench<'_>, outlet: &str| Alteration::Exchange {
        at: Element::Outlet(bench.outlet(outlet)),
        one: Conductor::Neutral,
        other: Conductor::Earth,
    };
    let site = branch("12 AWG", "20 m");
    let mut bench = Bench::of(&site, 0.05);
    bench.load("near", 0.1);
    let got = hot_neutral_ground(&bench, &[swap(&bench, "near")], "near");
    rows(
        &mut table,
        "ng-swap",
        &got,
        &[116.466, 1.47608, 117.942],
        1e-4,
    );

    let site = two("10 m", "10 m");
    let mut bench = Bench::of(&site, 0.05);
    bench.load("near", 0.1);
    let got = hot_neutral_ground(&bench, &[swap(&bench, "far")], "far");
    rows(
        &mut table,
        "ng-swap-upstream",
        &got,
        &[118.663, 0.747232, 117.916],
        1e-4,
    );
    table.end();
}

/// Examples "bootleg-share" and "bootleg-no-ground": 120 V behind 0.05 Ω, 20 m of 12 AWG, load 10 Ω, joint of 2 mΩ.
#[test]
fn ref_a_second_bond_shares_the_current_and_a_false_ground_rises() {
    let mut table = Table::default();
    let site = branch("12 AWG", "20 m");
    let mut bench = Bench::of(&site, 0.05);
    bench.load("near", 0.1);
    let joint = bench.joined("near neutral", "near earth", 2e-3);
    let [hot_neutral, neutral_ground, _] = hot_neutral_ground(&bench, &[joint], "near");
    let run = Element::Run(bench.outlet("near"));
    let ohms = 20.0 * 6.33698e-3;
    let amps = |of| bench.along(&[joint], run, of) / ohms;
    let got = [
        hot_neutral,
        neutral_ground,
        amps(Conductor::Neutral),
        amps(Conductor::Earth),
    ];
    rows(
        &mut table,
        "bootleg-share",
        &got,
        &[117.181, 0.0116263, 5.9049, 5.81316],
        1e-4,
    );

    let no_ground = [
        joint,
        open(Element::Outlet(bench.outlet("near")), Conductor::Earth),
    ];
    let [hot_neutral, neutral_ground, _] = hot_neutral_ground(&bench, &no_ground, "near");
    let case = bench.volts(&no_ground, "near earth", "true earth");
    let got = [hot_neutral, neutral_ground, case];
    rows(
        &mut table,
        "bootleg-no-ground",
        &got,
        &[116.466, 0.0, 1.47608],
        1e-4,
    );
    table.end();
}

/// Examples "lost-neutral-144-14p4", "lost-neutral-20-30", "lost-neutral-28p8-28p8", "multiwire-ok": 2 × 120 V behind
/// 0.05 Ω each, 20 m of 12 AWG; volts at both loads and the shift of the neutral.
#[test]
fn ref_a_shared_neutral_lost_divides_240_v_by_the_loads() {
    let mut table = Table::default();
    let site = shared("split-phase 120/240 V", 2);
    let mut case = |what: &str, loads: [f64; 2], is_lost: bool, want: [f64; 3]| {
        let mut bench = Bench::of(&site, 0.05);
        for id in ["a", "b"] {
            // The loads hang where the shared cable ends.
            let run = Element::Run(bench.outlet(id));
            bench.resist(run, Conductor::Neutral, 1e-6);
        }
        bench.load("a", 1.0 / loads[0]);
        bench.load("b", 1.0 / loads[1]);
        let lost = [open(Element::Circuit(CircuitIx(0)), Conductor::Neutral)];
        let altered = if is_lost { &lost[..] } else { &[] };
        let got = [
            ("a line", "a neutral"),
            ("b line", "b neutral"),
            ("a neutral", "a earth"),
        ]
        .map(|(from, to)| bench.volts(altered, from, to));
        rows(&mut table, what, &got, &want, 1e-4);
    };
    case(
        "lost-neutral-144-14p4",
        [144.0, 14.4],
        true,
        [217.696, 21.7696, 97.9632],
    );
    case(
        "lost-neutral-20-30",
        [20.0, 30.0],
        true,
        [95.3261, 142.989, 23.8315],
    );
    case(
        "lost-neutral-28p8-28p8",
        [28.8, 28.8],
        true,
        [119.268, 119.268, 0.0],
    );
    case(
        "multiwire-ok",
        [144.0, 14.4],
        false,
        [120.781, 117.627, 0.928978],
    );
    table.end();
}

/// Example "wye-lost-neutral": 208Y/120 V behind 1 mΩ, loads of 10, 20 and 40 Ω; and "two-of-wye": two legs loaded with
/// 10 A each bring 10 A into the neutral. The lines are of thick wire, as the examples have none.
#[test]
fn ref_a_wye_without_its_neutral_shifts_as_worked_out() {
    let mut table = Table::default();
    let site = shared("wye 120/208 V", 3);
    let mut bench = Bench::of(&site, 1e-3);
    for (id, circuit) in [("a", 0), ("b", 1), ("c", 2)] {
        let run = Element::Run(bench.outlet(id));
        bench.resist(run, Conductor::Line, 1e-6);
        bench.resist(run, Conductor::Neutral, 1e-6);
        bench.load(id, 0.1 / f64::from(1 << circuit));
    }
    let lost = [open(Element::Circuit(CircuitIx(0)), Conductor::Neutral)];
    let got = [
        ("a line", "a neutral"),
        ("b line", "b neutral"),
        ("c line", "c neutral"),
        ("a neutral", "a earth"),
    ]
    .map(|(from, to)| bench.volts(&lost, from, to));
    rows(
        &mut table,
        "wye-lost-neutral",
        &got,
        &[78.5531, 136.058, 157.111, 45.3533],
        1e-3,
    );

    let mut bench = Bench::of(&site, 1e-5);
    for id in ["a", "b"] {
        bench.resist(Element::Run(bench.outlet(id)), Conductor::Line, 1e-6);
        bench.load(id, 1.0 / 12.0);
    }
    let (shared, ohms) = (Element::Circuit(CircuitIx(0)), 1e-5);
    bench.resist(shared, Conductor::Neutral, ohms);
    let amps = bench.along(&[], shared, Conductor::Neutral) / ohms;
    // 1e-5 Ω and the 0.1 m behind the shared cable stand before 12 Ω.
    table.row("two-of-wye", amps, 10.0, 1e-4);
    table.end();
}

/// Example "service-neutral-electrode": service neutral open, return through electrodes of 2 Ω and 10 Ω; 2 × 120 V behind
/// 0.03 Ω, loads of 30 Ω and 12 Ω.
#[test]
fn ref_a_lost_service_neutral_returns_through_the_electrodes() {
    let mut table = Table::default();
    let site = site(
        r#"
        format = 1
        name = "Worked example (invented)"
        region = "north-america"
        circuit = [{ id = "1", leg = "A" }, { id = "2", leg = "B" }]
        outlet = [{ id = "a", circuit = "1" }, { id = "b", circuit = "2" }]
        "#,
    );
    let mut bench = Bench::of(&site, 0.03);
    for (id, ohms) in [("a", 30.0), ("b", 12.0)] {
        let run = Element::Run(bench.outlet(id));
        for of in Conductor::THREE {
            bench.resist(run, of, 1e-6);
        }
        bench.load(id, 1.0 / ohms);
    }
    bench.electrodes(2.0, 10.0);
    let lost = [open(Element::Service, Conductor::Neutral)];
    let got = [
        ("a line", "a neutral"),
        ("b line", "b neutral"),
        ("a earth", "true earth"),
    ]
    .map(|(from, to)| bench.volts(&lost, from, to));
    let want = [149.782, 89.844, 24.9428];
    rows(&mut table, "service-neutral-electrode", &got, &want, 1e-4);
    table.row("earth current", got[2] / 10.0, 2.49428, 1e-4);
    table.end();
}

/// One outlet on wires of no resistance, behind a source of none, with its neutral broken.
fn ideal(region: &str) -> Site {
    site(&format!(
        r#"
        format = 1
        name = "Worked example (invented)"
        region = "{region}"
        circuit = [{{ id = "1" }}]
        outlet = [{{ id = "near", circuit = "1", run = "0.1 m" }}]
        "#
    ))
}

/// Examples "open-neutral-load-10M", "-300k", "-3k": neutral open, a lamp of 144 Ω on, 1.6 nF neutral to ground at 60 Hz, the
/// meter across neutral and ground.
#[test]
fn ref_an_open_neutral_behind_a_lamp_is_live_on_any_meter() {
    let mut table = Table::default();
    let site = ideal("north-america");
    let mut bench = Bench::of(&site, 1e-6);
    bench.load("near", 1.0 / 144.0);
    bench.capacitance(("near", Conductor::Neutral), Conductor::Earth, 1.6e-9);
    let run = Element::Run(bench.outlet("near"));
    for (meter, neutral_ground, hot_neutral) in [
        (1e7, 119.998, 0.0105652),
        (3e5, 119.942, 0.0585073),
        (3e3, 114.495, 5.49579),
    ] {
        let altered = [
            open(run, OPEN_RUN),
            bench.joined("near neutral", "near earth", meter),
        ];
        let [hn, ng, _] = hot_neutral_ground(&bench, &altered, "near");
        rows(
            &mut table,
            &format!("meter of {meter} ohm"),
            &[ng, hn],
            &[neutral_ground, hot_neutral],
            1e-4,
        );
    }
    table.end();
}

/// Examples "open-neutral-ghost-10M", "-3k", and the table of ghost voltages "ghost-1" to "ghost-9" and "ghost-div-1" to
/// "ghost-div-4": `V Z_m / (Z_m + 1/(jωC))` on a floating neutral, magnitude. A capacitance of the meter is put
/// beside the one to ground.
#[test]
fn ref_a_floating_neutral_shows_the_ghost_voltages_of_the_table() {
    let mut table = Table::default();
    let (america, europe) = (ideal("north-america"), ideal("iec-230"));
    // Name, hot, coupled to hot and to ground in nF, meter in ohms, reading, printed digits.
    let examples = [
        (
            "open-neutral-ghost-10M",
            &america,
            1.6,
            1.6,
            1e7,
            59.7949,
            1e-4,
        ),
        (
            "open-neutral-ghost-3k",
            &america,
            1.6,
            1.6,
            3e3,
            0.217145,
            1e-4,
        ),
        ("ghost-1", &america, 0.8, 0.0, 1e7, 113.9, 5e-4),
        (
            "ghost-2, with 100 pF of the meter",
            &america,
            0.8,
            0.1,
            1e7,
            102.3,
            5e-4,
        ),
        ("ghost-3", &america, 2.4, 0.0, 1e7, 119.3, 5e-4),
        ("ghost-4", &america, 0.8, 0.0, 1e6, 34.65, 5e-4),
        ("ghost-5", &america, 0.8, 0.0, 3e3, 0.1086, 5e-4),
        ("ghost-6", &america, 0.8, 0.0, 3e5, 10.81, 5e-4),
        ("ghost-7", &europe, 0.8, 0.0, 1e7, 213.7, 5e-4),
        ("ghost-8", &europe, 0.8, 0.0, 4e5, 23.01, 5e-4),
        ("ghost-9", &europe, 3.0, 0.0, 3e3, 0.6503, 5e-4),
        ("ghost-div-1", &america, 0.8, 0.8, 1e7, 59.19, 5e-4),
        ("ghost-div-2", &america, 0.8, 0.8, 1e12, 60.0, 5e-4),
        ("ghost-div-3", &america, 0.8, 0.8, 3e3, 0.1086, 5e-4),
        ("ghost-div-4", &america, 2.4, 0.8, 1e7, 89.69, 5e-4),
    ];
    for (what, site, hot, ground, meter, reading, tolerance) in examples {
        let mut bench = Bench::of(site, 1e-6);
        bench.capacitance(("near", Conductor::Line), Conductor::Neutral, hot * 1e-9);
        bench.capacitance(
            ("near", Conductor::Neutral),
            Conductor::Earth,
            ground * 1e-9,
        );
        let run = Element::Run(bench.outlet("near"));
        let at = bench.at(&[open(run, OPEN_RUN)], "near neutral", "near earth");
        let read = loaded(at.volts, at.ohms, Complex64::from(1.0 / meter)).norm();
        table.row(what, read, reading, tolerance);
    }
    table.end();
}

/// Examples "open-ground-ycaps-10M", "-3k" and "ycap-touch-current": ground open, three machines with 4.7 nF to their case on
/// each side, 1.6 nF of cable on each side (no cable in the touch current); 120 V, 60 Hz.
#[test]
fn ref_machines_without_ground_hold_their_cases_near_half_the_line() {
    let mut table = Table::default();
    let site = ideal("north-america");
    let mut bench = Bench::of(&site, 1e-6);
    bench.filter("near", 3.0 * 4.7e-9);
    let run = Element::Run(bench.outlet("near"));
    let lost = open(run, Conductor::Earth);
    let touch = [lost, bench.joined("near earth", "true earth", 2000.0)];
    let milliamps = bench.volts(&touch, "near earth", "true earth") / 2.0;
    table.row("ycap-touch-current", milliamps, 0.637725, 1e-4);

    bench.capacitance(("near", Conductor::Line), Conductor::Earth, 1.6e-9);
    bench.capacitance(("near", Conductor::Neutral), Conductor::Earth, 1.6e-9);
    for (meter, neutral_ground, hot_ground) in [(1e7, 59.9979, 60.0064), (3e3, 2.12941, 119.943)] {
        let altered = [lost, bench.joined("near neutral", "near earth", meter)];
        let [_, ng, hg] = hot_neutral_ground(&bench, &altered, "near");
        rows(
            &mut table,
            &format!("meter of {meter} ohm"),
            &[ng, hg],
            &[neutral_ground, hot_ground],
            1e-4,
        );
    }
    table.end();
}

/// Examples "thevenin-hn" and "smw-neutral": 120 V behind 0.05 + j0.02 Ω, 20 m of 12 AWG, load 10 Ω; then 0.5 Ω more in
/// the neutral.
#[test]
fn ref_hot_neutral_has_the_worked_out_source_behind_it() {
    let mut table = Table::default();
    let site = branch("12 AWG", "20 m");
    let mut bench = Bench::of(&site, Complex64::new(0.05, 0.02));
    bench.load("near", 0.1);
    let at = bench.at(&[], "near line", "near neutral");
    let got = [at.volts.norm(), at.ohms.re, at.ohms.im];
    rows(
        &mut table,
        "thevenin-hn",
        &got,
        &[116.465, 0.294577, 0.0188391],
        1e-4,
    );
    let run = Element::Run(bench.outlet("near"));
    let got = hot_neutral_ground(&bench, &[series(run, Conductor::Neutral, 0.5)], "near");
    rows(
        &mut table,
        "smw-neutral",
        &got[..2],
        &[111.075, 6.96152],
        1e-5,
    );
    table.end();
}

/// Example "daisy": 12 m and 6 m of 12 AWG, 5 A at the first outlet and 3 A at the second; 120 V behind 0.05 Ω.
#[test]
fn ref_drops_add_up_along_two_outlets() {
    let mut table = Table::default();
    let site = two("12 m", "6 m");
    let mut bench = Bench::of(&site, 0.05);
    let mut got = [120.0; 4];
    for _ in 0..8 {
        // Constant currents: the admittances that draw them at the voltages of the round before.
        bench.load("near", 5.0 / got[0]);
        bench.load("far", 3.0 / got[2]);
        let near = hot_neutral_ground(&bench, &[], "near");
        let far = hot_neutral_ground(&bench, &[], "far");
        got = [near[0], near[1], far[0], far[1]];
    }
    rows(
        &mut table,
        "daisy",
        &got,
        &[118.383, 0.608351, 118.155, 0.722416],
        1e-4,
    );
    table.end();
}

/// Examples "fault-120-12awg" and "fault-120-14awg": a short circuit of hot and ground at the outlet, 0.05 Ω at the source;
/// current and touch voltage.
#[test]
fn ref_a_fault_to_ground_lifts_it_by_the_drop_along_it() {
    let mut table = Table::default();
    for (cable, run, metres, ohms, amps, touch) in [
        ("12 AWG", "30 m", 30.0, 6.33698e-3, 278.928, 53.0268),
        ("14 AWG", "40 m", 40.0, 10.0762e-3, 140.171, 56.4957),
    ] {
        let site = branch(cable, run);
        let bench = Bench::of(&site, 0.05);
        let short = [bench.joined("near line", "near earth", 1e-6)];
        let run = Element::Run(bench.outlet("near"));
        let got = [
            bench.along(&short, run, Conductor::Line) / (ohms * metres),
            bench.volts(&short, "near earth", "panel earth"),
        ];
        rows(&mut table, cable, &got, &[amps, touch], 1e-4);
    }
    table.end();
}
