//! Where each fault can sit, on invented sites.

use std::collections::HashSet;

use chain::alter::Spots;
use chain::wiring::Wiring;
use site::file::{Form, read_site};
use site::finding::Who;
use site::model::{CircuitIx, OutletIx, Site};
use site::region::Region;
use site::visit::{Condition, LoadScope, LoadsAt, Running, SwitchState};

use super::ALL;
use crate::causes::{Single, singles};

/// Everything that a North American site can have.
const RICH: &str = r#"
format = 1
name = "Everything at once (invented)"
region = "north-america"
service = { system = "split-phase 120/240 V" }
panel = [{ id = "main" }, { id = "annex", from = "main", run = "20 m", cable = "6 AWG copper" }]
circuit = [
    { id = "A1", leg = "A", breaker = "20 A", residual_current = "5 mA", arc_fault = "yes" },
    { id = "A2", leg = "A", breaker = "20 A", earth = "yes" },
    { id = "B2", leg = "B", breaker = "20 A", earth = "yes", shares_neutral_with = "A2" },
    { id = "A3", leg = "A", second_leg = "B", breaker = "20 A", earth = "yes" },
    { id = "A4", leg = "A", breaker = "15 A", earth = "no" },
    { id = "S1", panel = "annex", leg = "B", breaker = "20 A", earth = "yes" },
]
outlet = [
    { id = "desk", circuit = "A1", switched = "yes" },
    { id = "hall", after = "desk", residual_current = "5 mA" },
    { id = "left", circuit = "A2" },
    { id = "right", circuit = "B2" },
    { id = "rack", circuit = "A3", receptacle = "6-20" },
    { id = "attic", circuit = "A4", receptacle = "1-15" },
    { id = "shed", circuit = "S1" },
]
cord = [{ id = "strip", at = "hall", length = "2 m" }]
"#;

pub(super) fn rich() -> Site {
    match read_site(RICH, "rich.toml", Form::Toml) {
        Ok(document) => document.site,
        Err(problems) => panic!("{problems}"),
    }
}

/// A 230 V site whose earth comes on its own conductor.
fn separate_earth() -> Site {
    let text = r#"
format = 1
name = "Separate earth (invented)"
region = "iec-230"
service = { system = "three-phase 230/400 V", earthing = "TN-S" }
circuit = [{ id = "1", leg = "L1" }, { id = "2", leg = "L2" }]
outlet = [{ id = "a", circuit = "1", receptacle = "bs-1363" }, { id = "b", circuit = "2" }]
"#;
    match read_site(text, "separate.toml", Form::Toml) {
        Ok(document) => document.site,
        Err(problems) => panic!("{problems}"),
    }
}

fn tried(site: &Site, condition: Condition) -> Vec<Single> {
    let all: Vec<CircuitIx> = (0..site.circuits.len()).map(CircuitIx).collect();
    singles(&Wiring::of(site, &all), &[condition], &mut Spots::default())
}

fn sites() -> Vec<Site> {
    let assumed = |id| Region::find(id).map(|region| Site::assumed(region, &["desk"]));
    let regions = ["north-america", "iec-230", "japan"];
    regions
        .into_iter()
        .filter_map(assumed)
        .chain([rich(), separate_earth()])
        .collect()
}

#[test]
fn every_fault_can_sit_somewhere_and_changes_something() {
    let mut seen = HashSet::new();
    let mut idle = Vec::new();
    for site in &sites() {
        for single in tried(site, Condition::default()) {
            let recipe = &single.recipes[0];
            let changes =
                !recipe.is_empty() || recipe.volts.is_some() || recipe.frequency.is_some();
            if changes == single.fault.is_misreading() {
                idle.push(format!(
                    "{} at {} of {}",
                    single.fault.id,
                    single.at.key(site),
                    site.name
                ));
            }
            seen.insert(single.fault.id);
        }
    }
    idle.extend(
        ALL.iter()
            .filter(|f| !seen.contains(f.id))
            .map(|f| format!("{} nowhere", f.id)),
    );
    assert!(idle.is_empty(), "{idle:#?}");
}

#[test]
fn faults_of_the_whole_service_are_tried_once() {
    let found = tried(&rich(), Condition::default());
    let count = |id: &str| found.iter().filter(|s| s.fault.id == id).count();
    for id in [
        "service-neutral-open",
        "service-neutral-poor",
        "feeder-neutral-open",
        "feeder-earth-open",
    ] {
        assert_eq!(count(id), 1, "{id}");
    }
    for id in ["service-leg-open", "service-leg-poor", "feeder-line-open"] {
        assert_eq!(count(id), 2, "{id}");
    }
    assert_eq!(count("shared-neutral-open"), 1);
    assert_eq!(count("arc-device-open"), 1);
}

#[test]
fn reversals_are_left_to_receptacles_that_tell_line_from_neutral() {
    let at = |site: &Site, id: &str| {
        let found = tried(site, Condition::default());
        let of_it = found.iter().filter(|s| s.fault.id == id);
        of_it.map(|s| s.at.key(site)).collect::<Vec<_>>()
    };
    let europe = separate_earth();
    assert_eq!(at(&europe, "line-neutral-reversed-outlet"), ["outlet:a"]);
    assert_eq!(at(&europe, "line-neutral-reversed-circuit"), ["circuit:1"]);
    assert!(at(&europe, "neutral-earth-jumper-reversed").contains(&"outlet:b".to_owned()));
    let rich = rich();
    assert!(!at(&rich, "line-neutral-reversed-run").contains(&"run:rack".to_owned()));
    assert_eq!(at(&rich, "cord-reversed"), ["run:strip"]);
}

#[test]
fn what_is_fixed_is_not_asked_of_a_cord_and_the_other_way_round() {
    let site = rich();
    let found = tried(&site, Condition::default());
    let strip = found
        .iter()
        .filter(|s| s.at.key(&site).ends_with(":strip") && !s.fault.is_misreading());
    let electricians = strip
        .filter(|s| {
            s.fault
                .steps
                .iter()
                .any(|x| x.action.who == Who::Electrician)
        })
        .map(|s| s.fault.id);
    // A joint of neutral and earth may be in what is plugged in, wherever it is read.
    assert_eq!(electricians.collect::<Vec<_>>(), ["second-bond-outlet"]);
}

#[test]
fn what_is_told_of_switches_breakers_and_loads_is_believed() {
    let site = rich();
    let desk = site.outlet("desk").unwrap_or(OutletIx(0));
    let a1 = site.circuit("A1").unwrap_or(CircuitIx(0));
    let told = Condition {
        switches: vec![(desk, SwitchState::Closed)],
        breakers: vec![(a1, SwitchState::Closed)],
        loads: vec![LoadsAt {
            scope: LoadScope::Site,
            state: Running::Unplugged,
        }],
        ..Condition::default()
    };
    let silent = |condition: Condition| {
        let found = tried(&site, condition);
        let mut ids: Vec<_> = found
            .iter()
            .filter(|s| !s.fault.is_misreading() && s.recipes[0].is_empty())
            .filter(|s| s.recipes[0].volts.is_none() && s.recipes[0].frequency.is_none())
            .filter(|s| s.at.circuit(&site) == Some(a1))
            .map(|s| s.fault.id)
            .collect();
        ids.dedup();
        ids
    };
    assert!(silent(Condition::default()).is_empty());
    let expected = [
        "switched-neutral",
        "switched-outlet-off",
        "circuit-overloaded",
        "breaker-open",
        "arc-device-open",
        "standing-leakage",
    ];
    for id in expected {
        assert!(silent(told.clone()).contains(&id), "{id} is not silent");
    }
}
