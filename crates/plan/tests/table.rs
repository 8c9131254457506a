//! Machines against hand calculations: each value worked out on paper from the source's own figures, the formula and the
//! source beside it. The code's data are rounded to two or three figures, so a value may differ by half of the last one
//! kept: that is the tolerance of each.

mod support;

use plan::{Demand, Moment};
use site::supply::Rail;
use support::{build, near};

/// What is looked at.
enum Of {
    /// Current from a rail, in amperes.
    Rail(Rail),
    /// Power from some rails, in watts.
    Power(&'static [Rail]),
    /// Power from all rails, in watts.
    All,
}

struct Case {
    machine: &'static str,
    of: Of,
    moment: Moment,
    /// Worked out by hand.
    wanted: f64,
    tolerance: f64,
    formula: &'static str,
    source: &'static str,
}

const P12: Of = Of::Rail(Rail::Plus12);
const P5: Of = Of::Rail(Rail::Plus5);
const SUSTAINED: Moment = Moment::Sustained;
const START: Moment = Moment::Start;

#[rustfmt::skip]
const CASES: [Case; 44] = [
    // worked examples: base 6 A, four disks of 2.0 A for 8 s while starting and 0.4 A running
    Case { machine: FOUR_DISKS, of: P12, moment: START, wanted: 14.0, tolerance: 1e-9, formula: "6 + 4 × 2.0", source: "worked example of a start with four disks" },
    Case { machine: FOUR_DISKS, of: P12, moment: SUSTAINED, wanted: 7.6, tolerance: 1e-9, formula: "6 + 4 × 0.4", source: "worked example of a start with four disks" },
    Case { machine: FOUR_DISKS_2_S, of: P12, moment: START, wanted: 14.0, tolerance: 1e-9, formula: "6 + 4 × 2.0: with 2 s between them all four overlap from 6 s to 8 s", source: "worked example of a start with four disks" },
    // 4 s apart two overlap; the other two idle at 0.39 / 0.62 of their label: 6 + 2 × 2.0 + 2 × 0.2516
    Case { machine: FOUR_DISKS_4_S, of: P12, moment: START, wanted: 10.503, tolerance: 1e-3, formula: "6 + 2 × 2.0 + 2 × 0.4 × 0.39/0.62", source: "8 s of speeding up as in the worked example; idle over working of three manuals" },
    // worked example of a rail budget: 14 A, 9 A, 11 A
    Case { machine: BUDGET, of: Of::Power(&[Rail::Plus12]), moment: SUSTAINED, wanted: 168.0, tolerance: 1e-9, formula: "12 × 14", source: "worked example of a rail budget" },
    Case { machine: BUDGET, of: Of::Power(&[Rail::Plus5, Rail::Plus33]), moment: SUSTAINED, wanted: 81.3, tolerance: 1e-9, formula: "5 × 9 + 3.3 × 11", source: "worked example of a rail budget" },
    Case { machine: BUDGET, of: Of::All, moment: SUSTAINED, wanted: 249.3, tolerance: 1e-9, formula: "168 + 45 + 36.3", source: "worked example of a rail budget" },
    // processors behind a regulator of 88 %, beside a board of 0.85 A
    Case { machine: "processor 65 W", of: P12, moment: SUSTAINED, wanted: 7.005, tolerance: 1e-3, formula: "65 / (12 × 0.88) + 0.85", source: "base power of a 65 W part; regulator of 0.88; board of 25 W, 0.85 A of it from +12 V (ours)" },
    Case { machine: "processor 125 W, board", of: P12, moment: SUSTAINED, wanted: 12.687, tolerance: 1e-3, formula: "125 / (12 × 0.88) + 0.85", source: "base power of a 125 W part, as above" },
    Case { machine: "2 processors 95 W, board", of: P12, moment: SUSTAINED, wanted: 18.842, tolerance: 1e-3, formula: "2 × 95 / (12 × 0.88) + 0.85", source: "base power of a 95 W part, as above" },
    Case { machine: "processor 65 W peak 90 W", of: P12, moment: Moment::Peak, wanted: 9.373, tolerance: 1e-3, formula: "90 / (12 × 0.88) + 0.85", source: "65 W parts draw 90 W to 220 W for up to a minute: the least of it, told" },
    // half way between 90 W and 220 W is 155 W of 65 W, between 180 W and 253 W is 217 W of 125 W: 238 % and 173 %; 190 % is taken
    Case { machine: "processor 65 W", of: P12, moment: Moment::Peak, wanted: 12.545, tolerance: 1e-3, formula: "1.9 × 65 / (12 × 0.88) + 0.85", source: "common practice of short peaks, as taken" },
    Case { machine: "processor 35 W", of: Of::Rail(Rail::Plus33), moment: SUSTAINED, wanted: 2.2, tolerance: 1e-9, formula: "7.3 W of a board's 25 W from +3.3 V", source: "board between 25 W and 40 W (hardware notes), shared out (ours)" },
    // memory behind the same regulator, from +5 V
    Case { machine: "4 memory DDR4", of: P5, moment: SUSTAINED, wanted: 2.045, tolerance: 1e-3, formula: "4 × 2.25 / (5 × 0.88)", source: "1.5 W to 3 W a DDR4 module (common practice)" },
    Case { machine: "2 memory DDR3", of: P5, moment: SUSTAINED, wanted: 1.136, tolerance: 1e-3, formula: "2 × 2.5 / (5 × 0.88)", source: "2 W to 3 W a DDR3 module (hardware notes)" },
    Case { machine: "4 memory DDR2", of: P5, moment: SUSTAINED, wanted: 3.409, tolerance: 1e-3, formula: "4 × 3.75 / (5 × 0.88)", source: "3 W to 4.5 W a DDR2 module (hardware notes)" },
    Case { machine: "2 memory DDR", of: P5, moment: SUSTAINED, wanted: 2.159, tolerance: 1e-3, formula: "2 × 4.75 / (5 × 0.88)", source: "4 W to 5.5 W a DDR module (hardware notes)" },
    Case { machine: "2 memory DDR5", of: P5, moment: SUSTAINED, wanted: 1.591, tolerance: 1e-3, formula: "2 × 3.5 / (5 × 0.88)", source: "2 W to 5 W a DDR5 module (common practice)" },
    // disks: means of product manuals; two figures are kept
    Case { machine: "2 disks 3.5", of: P12, moment: SUSTAINED, wanted: 1.2327, tolerance: 0.01, formula: "2 × (0.397 + 0.762 + 0.69) / 3", source: "three product manuals, operating or random read, 12 V" },
    Case { machine: "2 disks 3.5", of: P5, moment: SUSTAINED, wanted: 1.2753, tolerance: 0.01, formula: "2 × (0.641 + 0.772 + 0.50) / 3", source: "the same, 5 V" },
    Case { machine: "2 disks 3.5", of: P12, moment: START, wanted: 4.22, tolerance: 0.03, formula: "2 × (2.0 + 2.8 + 2.0 + 1.72 + 2.03) / 5", source: "five product manuals, spin-up, 12 V" },
    Case { machine: "8 disks 3.5", of: P12, moment: START, wanted: 16.88, tolerance: 0.1, formula: "8 × 2.11", source: "the same" },
    Case { machine: "2 disks 3.5", of: P5, moment: START, wanted: 1.2, tolerance: 1e-9, formula: "2 × 0.60", source: "product manual of a server drive, start, 5 V" },
    Case { machine: "disk 3.5", of: Of::All, moment: Moment::Idle, wanted: 7.204, tolerance: 0.08, formula: "12 × (0.272 + 0.520 + 0.39) / 3 + 5 × (0.415 + 0.611 + 0.46) / 3", source: "three product manuals, idle" },
    Case { machine: "2 disks 2.5", of: P5, moment: START, wanted: 1.9, tolerance: 1e-9, formula: "2 × (0.9 + 5.0 / 5) / 2", source: "two product manuals: 0.9 A, 5.0 W" },
    Case { machine: "disk 2.5", of: Of::All, moment: SUSTAINED, wanted: 2.25, tolerance: 0.03, formula: "(2.3 + 2.2) / 2", source: "two product manuals, seek" },
    Case { machine: "{ kind = \"disk-3.5\", count = 2, nameplate = [{ rail = \"+12 V\", current = \"0.55 A\" }, { rail = \"+5 V\", current = \"0.6 A\" }] }", of: Of::All, moment: SUSTAINED, wanted: 19.2, tolerance: 1e-9, formula: "2 × (12 × 0.55 + 5 × 0.6)", source: "currents of a label, invented" },
    Case { machine: "disk 3.5 8 W", of: Of::All, moment: SUSTAINED, wanted: 8.0, tolerance: 1e-9, formula: "8", source: "active power of a 3.5 inch disk (common practice), told" },
    Case { machine: "disk 3.5 spin-up 2.8 A, disk 3.5 spin-up 1.72 A", of: P12, moment: START, wanted: 4.52, tolerance: 1e-9, formula: "2.8 + 1.72", source: "the hungriest and the most modest of five product manuals" },
    Case { machine: "2 solid-state", of: P5, moment: SUSTAINED, wanted: 0.8, tolerance: 1e-9, formula: "2 × 2 / 5", source: "1 W to 3 W active (common practice)" },
    Case { machine: "solid-state slot", of: P12, moment: SUSTAINED, wanted: 0.568, tolerance: 1e-3, formula: "6 / (12 × 0.88)", source: "4 W to 8 W active, made on the board (common practice)" },
    Case { machine: "optical", of: Of::All, moment: SUSTAINED, wanted: 21.25, tolerance: 1e-9, formula: "12 × 1.25 + 5 × 1.25", source: "1.0 A to 1.5 A on each rail, 15 W to 25 W in all (upgrading handbook, table 18.26)" },
    Case { machine: "3 fans", of: P12, moment: SUSTAINED, wanted: 0.475, tolerance: 0.015, formula: "3 × (0.8 + 3) / 2 / 12", source: "0.8 W to 3 W a fan of 120 mm (common practice)" },
    Case { machine: "3 fans", of: P12, moment: START, wanted: 0.7125, tolerance: 0.015, formula: "1.5 × 0.475", source: "1.5 times the running current at the start (component tables)" },
    Case { machine: "pump", of: Of::All, moment: SUSTAINED, wanted: 11.5, tolerance: 0.06, formula: "(3 + 20) / 2", source: "10 W to 20 W (article on estimating wattage), 3 W by judgement" },
    Case { machine: "card", of: Of::All, moment: SUSTAINED, wanted: 17.5, tolerance: 0.06, formula: "(10 + 25) / 2", source: "10 W to 25 W a card (upgrading handbook, table 18.26)" },
    Case { machine: "2 usb", of: P5, moment: SUSTAINED, wanted: 1.4, tolerance: 1e-9, formula: "2 × (2 + 5) / 2 / 5", source: "2 W to 5 W a port (upgrading handbook, table 18.26)" },
    Case { machine: "graphics 120 W", of: P12, moment: SUSTAINED, wanted: 10.0, tolerance: 1e-9, formula: "120 / 12", source: "board power of a card, told" },
    Case { machine: "2 graphics 220 W", of: P12, moment: SUSTAINED, wanted: 36.667, tolerance: 1e-3, formula: "2 × 220 / 12", source: "board power of a card, told" },
    Case { machine: "graphics 300 W", of: P12, moment: Moment::Excursion, wanted: 40.0, tolerance: 1e-9, formula: "1.6 × 300 / 12", source: "160 % for 10 ms, which supplies must bear (design guide 336521, table 3-3)" },
    Case { machine: "graphics 300 W peak 600 W", of: P12, moment: Moment::Excursion, wanted: 50.0, tolerance: 1e-9, formula: "600 / 12", source: "200 % for 100 µs (design guide 336521, table 3-3), told as the peak" },
    // whole machines; board: 12 × 0.85 + 5 × 1.5 + 3.3 × 2.2 + 12 × 0.03 + 5 × 0.3 = 26.82 W
    Case { machine: "processor 65 W, 2 memory DDR4, solid-state, 2 fans", of: Of::All, moment: SUSTAINED, wanted: 111.64, tolerance: 0.05, formula: "65/0.88 + 2 × 2.25/0.88 + 2 + 2 × 12 × 0.16 + 26.82", source: "an office machine; sources as above" },
    Case { machine: "processor 125 W, 4 memory DDR5, graphics 300 W, 2 disks 3.5, solid-state slot, 3 fans", of: Of::All, moment: SUSTAINED, wanted: 518.63, tolerance: 0.2, formula: "125/0.88 + 4 × 3.5/0.88 + 300 + 2 × (12 × 0.62 + 5 × 0.64) + 6/0.88 + 3 × 12 × 0.16 + 26.82", source: "a workstation; sources as above" },
    Case { machine: "2 processors 95 W, 8 memory DDR4, 8 disks 3.5", of: P12, moment: START, wanted: 30.325, tolerance: 0.1, formula: "0.7 × 2 × 95 / (12 × 0.88) + 8 × 2.11 + 0.85", source: "a storage machine at its start; processor at 70 % there (ours), disks of five product manuals" },
];

const FOUR_DISKS: &str = "{ kind = \"board\", nameplate = [{ rail = \"+12 V\", current = \"6 A\" }] }, { kind = \"disk-3.5\", count = 4, spin_up = \"2.0 A\", nameplate = [{ rail = \"+12 V\", current = \"0.4 A\" }] }";
const FOUR_DISKS_2_S: &str = "{ kind = \"board\", nameplate = [{ rail = \"+12 V\", current = \"6 A\" }] }, { kind = \"disk-3.5\", count = 4, spin_up = \"2.0 A\", nameplate = [{ rail = \"+12 V\", current = \"0.4 A\" }] }\nstagger = \"2 s\"";
const FOUR_DISKS_4_S: &str = "{ kind = \"board\", nameplate = [{ rail = \"+12 V\", current = \"6 A\" }] }, { kind = \"disk-3.5\", count = 4, spin_up = \"2.0 A\", nameplate = [{ rail = \"+12 V\", current = \"0.4 A\" }] }\nstagger = \"4 s\"";
const BUDGET: &str = "{ kind = \"board\", nameplate = [{ rail = \"+12 V\", current = \"14 A\" }, { rail = \"+5 V\", current = \"9 A\" }, { rail = \"+3.3 V\", current = \"11 A\" }] }";

#[test]
fn ref_what_machines_draw_is_what_was_worked_out_by_hand() {
    let mut misses = Vec::new();
    for it in &CASES {
        let demand = Demand::of(&build(it.machine));
        let sum = match it.of {
            Of::Rail(rail) => demand.amps(it.moment, rail),
            Of::Power(rails) => demand.watts_of(it.moment, rails),
            Of::All => demand.watts(it.moment),
        };
        if !near(sum.value(), it.wanted, it.tolerance) {
            misses.push(format!(
                "{} {:?}: {} by the code, {} by hand: {} ({})",
                it.machine,
                it.moment,
                sum.value(),
                it.wanted,
                it.formula,
                it.source
            ));
        }
    }
    let mut machines: Vec<&str> = CASES.iter().map(|it| it.machine).collect();
    machines.sort_unstable();
    machines.dedup();
    assert!(machines.len() >= 30, "{} machines", machines.len());
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}
