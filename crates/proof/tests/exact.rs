//! The simulator against what can be worked out by hand.

mod support;

use num_complex::Complex64;
use proof::calibration::{Bin, bins, expected_error};
use proof::sim::fault::At;
use proof::sim::look::{Check, How, TEST_LOAD, World};
use proof::sim::person::Person;
use site::visit::{Lamp, Pin, Sign, Skill, Visit};
use support::{plain, with};

const LN: (Pin, Pin) = (Pin::Line, Pin::Neutral);
const LE: (Pin, Pin) = (Pin::Line, Pin::Earth);
const NE: (Pin, Pin) = (Pin::Neutral, Pin::Earth);

/// A meter that loads nothing.
fn nothing() -> Complex64 {
    Complex64::from(1e-12)
}

fn near(got: f64, wanted: f64, within: f64) {
    assert!((got - wanted).abs() < within, "{got} for {wanted}");
}

/// `V = 120 R / (R + 2 r)`, R = 120² / 1000, r = 0.1 Ω a run. Tolerance: the micro-ohms of everything else, 8 A.
#[test]
fn exact_a_test_load_drops_the_voltage_of_its_run() {
    let world = with(plain(1, 3), &[]);
    let load = 120.0 * 120.0 / TEST_LOAD;
    let volts = world.volts(0, LN, Some((0, TEST_LOAD)), nothing());
    near(volts, 120.0 * load / (load + 0.2), 1e-3);
    near(
        world.volts(1, NE, Some((1, TEST_LOAD)), nothing()),
        0.2 * 120.0 / (load + 0.4),
        1e-3,
    );
}

/// A poor neutral joint of 2 Ω at the second outlet's run lifts neutral against earth by `I (0.2 + 2)`.
#[test]
fn exact_a_poor_neutral_lifts_under_load() {
    let world = with(plain(1, 3), &[("poor-neutral-run", At::Run(1), 2.0)]);
    let amps = 120.0 / (14.4 + 0.4 + 2.0);
    near(
        world.volts(1, NE, Some((1, TEST_LOAD)), nothing()),
        2.2 * amps,
        1e-3,
    );
    near(
        world.volts(0, NE, Some((0, TEST_LOAD)), nothing()),
        0.1 * 120.0 / 14.6,
        1e-3,
    );
}

/// An open neutral with a load behind it: the load lifts the neutral to the line; a meter of 10 MΩ sees 120 V from it to
/// earth and nothing from line to neutral. The load of 14.4 Ω drops 0.2 mV under the meter.
#[test]
fn exact_an_open_neutral_is_lifted_by_a_load() {
    let world = with(plain(1, 3), &[("open-neutral-run", At::Run(1), 1e12)]);
    let test = Some((2, TEST_LOAD));
    let meter = Complex64::from(1e-7);
    near(world.volts(1, NE, test, meter), 120.0, 0.01);
    near(world.volts(1, LN, test, meter), 0.0, 0.01);
    near(world.volts(1, LE, test, meter), 120.0, 0.01);
    near(world.volts(0, LN, test, meter), 120.0, 0.01);
}

/// An earth contact that hangs between two equal capacitors C of a filter stands at half the voltage behind 2 C:
/// `V = 60 |jω2C / (jω2C + G)|`; 4.7 nF, 60 Hz, 3 kΩ gives 0.64 V.
#[test]
fn exact_a_floating_earth_stands_at_half_and_falls_on_low_impedance() {
    let mut premises = plain(1, 3);
    let mut chance = proof::chance::Chance::new(1, 1);
    let mut machine = loop {
        let it = proof::sim::appliance::Appliance::draw(&mut chance, 1, 120.0);
        if it.kind.name == "desktop computer" {
            break it;
        }
    };
    machine.to_case = 4.7e-9;
    machine.on = false;
    machine.hard_switch = false;
    premises.truth.appliances.push(machine);
    let omega = premises.truth.omega;
    let world = with(premises, &[("open-earth-terminal", At::Outlet(1), 1e12)]);
    let source = Complex64::new(0.0, 2.0 * omega * 4.7e-9);
    for (conductance, within) in [(1e-7, 0.01), (1.0 / 3000.0, 1e-3)] {
        let meter = Complex64::from(conductance);
        near(
            world.volts(1, NE, None, meter),
            60.0 * (source / (source + meter)).norm(),
            within,
        );
    }
}

/// A lost service neutral: 14.4 Ω on one leg and nothing else but 1440 Ω on the other share 240 V. The electrodes are
/// taken away.
#[test]
fn exact_a_lost_service_neutral_shares_the_legs_by_load() {
    let mut premises = plain(2, 4);
    premises.truth.electrodes = (1e9, 1e9);
    let (here, there) = (premises.site.circuits[0].leg, premises.site.circuits[1].leg);
    assert_ne!(here, there);
    premises.truth.rest[there] = 10.0;
    let world = with(premises, &[("service-neutral-open", At::Service, 1e12)]);
    let volts = world.volts(0, LN, Some((0, TEST_LOAD)), nothing());
    near(volts, 240.0 * 14.4 / (14.4 + 0.2 + 1440.0), 0.01);
}

/// Reversed bootleg: all three pairs normal, the earth contact at line voltage against the soil.
#[test]
fn exact_a_reversed_bootleg_reads_right_and_is_live() {
    let world = with(
        plain(2, 4),
        &[("neutral-earth-jumper-reversed", At::Outlet(0), 0.0)],
    );
    near(world.volts(0, LN, None, nothing()), 120.0, 0.01);
    near(world.volts(0, LE, None, nothing()), 120.0, 0.01);
    near(world.volts(0, NE, None, nothing()), 0.0, 0.01);
    let mut visit = empty();
    world.look(
        Check::Detector(0, Pin::Earth),
        &mut Person::exact(),
        &mut visit,
    );
    world.look(Check::Between(0, 1), &mut Person::exact(), &mut visit);
    let signals = visit.observations[0].what;
    assert!(
        matches!(
            signals,
            Sign::Detector {
                signals: site::visit::Signals::Yes,
                ..
            }
        ),
        "{signals:?}"
    );
    let site::visit::Told::Volts(volts) = &visit.readings[0].value else {
        panic!("a voltage")
    };
    near(volts.value.si(), 120.0, 0.5);
}

/// The lamp patterns that testers print: right, open earth, open neutral, reversed.
#[test]
fn exact_lamps_show_the_printed_patterns() {
    let patterns = [
        (None, [true, true, false]),
        (
            Some(("open-earth-terminal", At::Outlet(1), 1e12)),
            [true, false, false],
        ),
        (
            Some(("open-neutral-terminal", At::Outlet(1), 1e12)),
            [false, true, false],
        ),
        (
            Some(("open-line-terminal", At::Outlet(1), 1e12)),
            [false, false, false],
        ),
        (
            Some(("line-neutral-reversed-outlet", At::Outlet(1), 0.0)),
            [true, false, true],
        ),
        (
            Some(("line-earth-reversed-outlet", At::Outlet(1), 0.0)),
            [false, true, true],
        ),
    ];
    for (fault, wanted) in patterns {
        let world = with(plain(1, 3), &fault.into_iter().collect::<Vec<_>>());
        let mut visit = empty();
        world.look(Check::Lamps(1), &mut Person::exact(), &mut visit);
        let Sign::Lamps {
            line_neutral,
            line_earth,
            neutral_earth,
        } = visit.observations[0].what
        else {
            panic!("lamps")
        };
        assert_eq!(
            [line_neutral, line_earth, neutral_earth].map(|l| l == Lamp::Lit),
            wanted,
            "{fault:?}"
        );
    }
}

/// Two bins: ten at 0.25 of which four are true, ten at 0.95 all true: (0.15 + 0.05) / 2.
#[test]
fn exact_expected_calibration_error() {
    let mut pairs: Vec<(f64, bool)> = (0..10).map(|i| (0.25, i < 4)).collect();
    pairs.extend((0..10).map(|_| (0.95, true)));
    let bins: Vec<Bin> = bins(&pairs);
    assert!((expected_error(&bins) - 0.1).abs() < 1e-12);
}

#[test]
fn exact_a_key_says_what_is_checked() {
    let world: World = with(plain(2, 4), &[]);
    let wanted = [
        (
            "volts:outlet1:line-neutral",
            Some(Check::Volts(0, Pin::Line, Pin::Neutral, How::Plain)),
        ),
        (
            "volts:outlet2:neutral-earth:load",
            Some(Check::Volts(1, Pin::Neutral, Pin::Earth, How::Loaded)),
        ),
        (
            "volts:outlet1:line-earth:low-impedance",
            Some(Check::Volts(0, Pin::Line, Pin::Earth, How::LowImpedance)),
        ),
        ("lamps:outlet3", Some(Check::Lamps(2))),
        (
            "detector:outlet1:earth",
            Some(Check::Detector(0, Pin::Earth)),
        ),
        ("breaker:C2", Some(Check::Breaker(1))),
        ("switch:outlet2", Some(Check::Switch(1))),
        ("between:outlet1:outlet2:earth", Some(Check::Between(0, 1))),
        ("volts:nowhere:line-neutral", None),
        ("smell:outlet1", None),
    ];
    for (key, check) in wanted {
        assert_eq!(Check::of(key, &world), check, "{key}");
    }
}

fn empty() -> Visit {
    Visit {
        site: "simulated".into(),
        date: None,
        skill: Skill::Technician,
        meters: Person::exact().meters(),
        readings: Vec::new(),
        observations: Vec::new(),
        cannot: Vec::new(),
    }
}
