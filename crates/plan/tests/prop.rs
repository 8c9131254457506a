//! Laws over machines and supplies.

mod support;

use metrology::{Budget, Component, Function, RangeId, SharedId};
use plan::{Demand, Moment};
use site::finding::Verdict;
use site::machine::PartKind;
use site::supply::Rail;
use support::{build, fit, near};

const MACHINES: [&str; 8] = [
    "processor 65 W, 2 disks 3.5, 4 memory",
    "processor 125 W, 4 memory DDR5, graphics 300 W, solid-state slot",
    "2 processors 95 W, 8 memory DDR4, 12 disks 3.5, stagger 3 s",
    "board, optical, 3 fans, pump, 4 usb",
    "processor, graphics, disk, card",
    "processor 35 W, 2 disks 2.5, solid-state, on 9 h",
    "4 graphics 220 W peak 400 W, board",
    "disk 3.5 spin-up 2.8 A, disk 2.5, disk",
];

/// The doubt of a sum is that of `metrology::Budget` with the same contributions, which is written apart from it.
#[test]
fn prop_a_sum_has_the_doubt_of_its_budget() {
    for machine in MACHINES {
        let demand = Demand::of(&build(machine));
        for moment in Moment::ALL {
            let mut all = Vec::new();
            for flow in demand.flows(moment) {
                let volts = flow.rail.volts().si();
                for (source, g) in flow.amps.by_source().iter().enumerate() {
                    let one = Component::new("", *g).times(volts);
                    all.push(one.shared(SharedId {
                        meter: source,
                        range: RangeId {
                            function: Function::AcVolts,
                            index: 0,
                        },
                    }));
                }
            }
            let wanted = Budget::of(all).combined().u;
            let got = demand.watts(moment).u();
            assert!(
                near(got, wanted, 1e-9 * wanted.max(1.0)),
                "{machine} {moment:?}: {got} {wanted}"
            );
        }
    }
}

#[test]
fn prop_rails_add_up_to_the_whole_and_nothing_is_below_zero() {
    for machine in MACHINES {
        let demand = Demand::of(&build(machine));
        for moment in Moment::ALL {
            let mut sum = 0.0;
            for (name, rail) in Rail::NAMES {
                if rail.family() != rail {
                    continue;
                }
                let amps = demand.amps(moment, rail);
                assert!(
                    amps.value() >= 0.0 && amps.u() >= 0.0,
                    "{machine} {name} {moment:?}"
                );
                sum += rail.volts().si() * amps.value();
            }
            let whole = demand.watts(moment).value();
            assert!(
                near(sum, whole, 1e-9),
                "{machine} {moment:?}: {sum} {whole}"
            );
        }
        let at = |moment| demand.watts(moment).value();
        assert!(at(Moment::Off) < at(Moment::Idle), "{machine}");
        assert!(
            at(Moment::Idle) < at(Moment::Typical) && at(Moment::Typical) < at(Moment::Sustained),
            "{machine}"
        );
        assert!(
            at(Moment::Sustained) <= at(Moment::Peak) + 1e-9,
            "{machine}"
        );
        assert!(
            at(Moment::Peak) <= at(Moment::Excursion) + 1e-9,
            "{machine}"
        );
    }
}

/// More of everything never makes a limit hold less surely, and a part more never makes it hold more surely.
#[test]
fn prop_a_larger_supply_is_never_worse() {
    let keys = |k: f64| {
        format!(
            "rating = \"{:.0} W\"\nrails = [{{ rail = \"+12 V\", max = \"{:.1} A\" }}, {{ rail = \"+5 V\", max = \"{:.1} A\" }}, {{ rail = \"+3.3 V\", max = \"{:.1} A\" }}, {{ rail = \"-12 V\", max = \"0.5 A\" }}, {{ rail = \"+5 VSB\", max = \"{:.1} A\" }}]\ninput = {{ from = \"100 V\", to = \"240 V\" }}",
            300.0 * k,
            22.0 * k,
            14.0 * k,
            14.0 * k,
            2.0 * k
        )
    };
    let mut seen = Vec::new();
    for machine in MACHINES {
        let mut before: Option<(f64, Verdict)> = None;
        for k in [0.5, 0.8, 1.0, 1.5, 2.0, 4.0, 8.0] {
            let it = fit(machine, &keys(k));
            if let Some((holds, verdict)) = before {
                assert!(
                    it.holds >= holds - 1e-12 && it.verdict <= verdict,
                    "{machine} {k}"
                );
            }
            before = Some((it.holds, it.verdict));
            seen.push(it.verdict);
        }
        let more = fit(&format!("{machine}, 6 disks 3.5"), &keys(1.0));
        assert!(
            more.holds <= fit(machine, &keys(1.0)).holds + 1e-12,
            "{machine}"
        );
    }
    for verdict in [Verdict::Advice, Verdict::Undecided, Verdict::Defect] {
        assert!(
            seen.contains(&verdict),
            "no supply here is {verdict:?}: {seen:?}"
        );
    }
}

/// Whatever is told or not, every finding has a statement and an action, and what stops the use has a caution or is plain.
#[test]
fn prop_every_finding_is_whole() {
    for machine in MACHINES {
        for keys in [
            "",
            "rating = \"200 W\"",
            "selector = \"230 V\"",
            "selector = \"not known\"\nform = \"SFX\"",
            "connectors = [{ connector = \"main-20\" }]",
            "input = { from = \"10 V\", to = \"20 V\" }",
        ] {
            let it = fit(machine, keys);
            assert!(!it.findings.is_empty());
            assert!(
                it.findings
                    .is_sorted_by_key(|it| std::cmp::Reverse(it.verdict))
            );
            assert_eq!(it.verdict, it.findings[0].verdict);
            for it in &it.findings {
                assert!(
                    !it.statement.is_empty() && !it.statement.contains("NaN"),
                    "{it:?}"
                );
                if it.verdict == Verdict::Danger {
                    assert!(!it.caution.is_empty(), "{it:?}");
                }
            }
        }
    }
}

/// Whatever stands on the label of whatever part, every figure is a number.
#[test]
fn prop_any_label_on_any_part_gives_numbers() {
    for (kind, of) in PartKind::NAMES {
        for (rail, _) in Rail::NAMES {
            for more in ["", ", peak = \"90 W\""] {
                let text = format!(
                    "{{ kind = \"{kind}\", count = 3, nameplate = [{{ rail = \"{rail}\", current = \"2 A\" }}]{more} }}"
                );
                let demand = Demand::of(&build(&text));
                for moment in Moment::ALL {
                    let watts = demand.watts(moment);
                    let sound = watts.value().is_finite() && watts.u().is_finite();
                    assert!(
                        sound && watts.value() >= 0.0,
                        "{of:?} {rail} {moment:?}: {watts:?}"
                    );
                }
            }
        }
    }
}
