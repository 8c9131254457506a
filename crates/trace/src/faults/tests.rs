//! Laws that every fault of the catalogue keeps.

use std::collections::HashSet;

use chain::alter::Spots;
use chain::wiring::Wiring;
use site::file::{Form, read_site};
use site::finding::{Use, Verdict, When, Who};

use site::model::{CircuitIx, OutletIx, Site};
use site::region::Region;
use site::visit::{Condition, LoadScope, LoadsAt, Running, SwitchState};

use super::ALL;
use crate::causes::{Single, singles};
use crate::fault::{Fault, Severity};

/// What a text may leave to be filled in.
const PLACEHOLDERS: [&str; 7] = [
    "at", "before", "circuit", "panel", "line", "neutral", "earth",
];

/// Words that are work behind a face or a cover, in any text.
const WORK: [&str; 10] = [
    "remake",
    "tighten",
    "rewire",
    "splice",
    "puts the",
    "exchanges the",
    "separates",
    "replaces the receptacle",
    "open the panel",
    "take off the cover",
];

fn misses(law: impl Fn(&Fault) -> Option<String>) {
    let broken: Vec<String> = ALL
        .iter()
        .filter_map(|f| law(f).map(|why| format!("{}: {why}", f.id)))
        .collect();
    assert!(broken.is_empty(), "{broken:#?}");
}

fn texts(fault: &Fault) -> [&'static str; 3] {
    [fault.says, fault.mends, fault.caution]
}

#[test]
fn ids_are_unique_kebab_case_and_found() {
    let mut seen = HashSet::new();
    for fault in ALL {
        assert!(seen.insert(fault.id), "{} stands twice", fault.id);
        assert!(super::find(fault.id).is_some_and(|f| core::ptr::eq(f, *fault)));
    }
    misses(|f| {
        let plain =
            f.id.split('-')
                .all(|w| !w.is_empty() && w.bytes().all(|b| b.is_ascii_lowercase()));
        (!plain).then(|| "is not kebab-case".to_owned())
    });
    assert!(super::find("something-else").is_none());
}

#[test]
fn a_danger_ends_use_at_once_and_harms() {
    misses(|f| {
        f.steps.iter().find_map(|s| {
            let danger = s.verdict == Verdict::Danger;
            let harm = s.harm.shock.max(s.harm.fire);
            let act = s.action.use_ == Use::Stop && s.action.when == When::Now;
            let wrong = match danger {
                true => !act || harm < 0.2 || s.action.who == Who::Nobody,
                false => harm >= 0.2 || (s.verdict == Verdict::Good && harm > 0.0),
            };
            wrong.then(|| format!("{s:?}"))
        })
    });
}

#[test]
fn harms_prevalences_and_signs_are_probabilities() {
    misses(|f| {
        let harms = f
            .steps
            .iter()
            .flat_map(|s| [s.harm.shock, s.harm.fire, s.harm.equipment]);
        let signs = f.signs.iter().map(|(_, p)| *p);
        let bad = harms.chain(signs).find(|p| !(0.0..1.0).contains(p));
        bad.map(|p| format!("{p}")).or_else(|| {
            let p = f.prevalence.value;
            (p <= 0.0 || p >= 0.2 || f.prevalence.source.is_empty())
                .then(|| format!("prevalence {p}"))
        })
    });
    misses(|f| {
        let kinds: HashSet<_> = f.signs.iter().map(|(k, _)| *k).collect();
        (kinds.len() != f.signs.len()).then(|| "names a sign twice".to_owned())
    });
}

#[test]
fn every_step_is_reached_and_they_rise() {
    misses(|f| {
        let (low, high) = (f.severity.at(0.0), f.severity.at(1.0));
        let mut last = f64::NEG_INFINITY;
        for (k, step) in f.steps.iter().enumerate() {
            if step.from <= last || step.from > high || (k > 0 && step.from <= low) {
                return Some(format!("step {k} from {} in {low} to {high}", step.from));
            }
            last = step.from;
        }
        (f.steps.is_empty() || f.steps[0].from > low).then(|| "does not begin".to_owned())
    });
}

#[test]
fn severities_are_in_order() {
    misses(|f| match f.severity {
        Severity::One => None,
        Severity::LogUniform(a, b) => (a <= 0.0 || b <= a).then(|| format!("{a} to {b}")),
        Severity::Uniform(a, b) => (a < 0.0 || b <= a).then(|| format!("{a} to {b}")),
    });
}

#[test]
fn texts_are_there_and_their_placeholders_known() {
    misses(|f| {
        texts(f).into_iter().find_map(|text| {
            if text.trim().len() < 10 {
                return Some(format!("says too little: {text:?}"));
            }
            let parts = text
                .split('{')
                .skip(1)
                .map(|rest| rest.split_once('}').map_or(rest, |p| p.0));
            parts
                .into_iter()
                .find(|p| !PLACEHOLDERS.contains(p))
                .map(|p| format!("{{{p}}}"))
        })
    });
    misses(|f| {
        let ends = !f.says.ends_with('.') && f.mends.ends_with('.') && f.caution.ends_with('.');
        (!ends).then(|| "a clause has no full stop, a sentence has one".to_owned())
    });
}

/// Conductors have their regional words, so a text that names one must leave the word open.
#[test]
fn texts_name_conductors_by_placeholder() {
    misses(|f| {
        let bare = |text: &str| {
            let open: String = text
                .split('{')
                .map(|p| p.split_once('}').map_or(p, |x| x.1))
                .collect();
            let words: Vec<String> = open
                .split(|c: char| !c.is_ascii_alphabetic())
                .map(str::to_ascii_lowercase)
                .collect();
            words
                .into_iter()
                .find(|w| ["neutral", "earth", "hot", "ground"].contains(&w.as_str()))
        };
        texts(f).into_iter().find_map(bare)
    });
}

#[test]
fn work_behind_a_cover_is_an_electricians_or_the_utilitys() {
    misses(|f| {
        texts(f).into_iter().find_map(|text| {
            let low = text.to_ascii_lowercase();
            let theirs = ["electrician", "utility", "do not"]
                .iter()
                .any(|w| low.contains(w));
            WORK.iter()
                .find(|w| low.contains(*w) && !theirs)
                .map(|w| format!("{w:?} in {text:?}"))
        })
    });
    misses(|f| {
        let electricians = f.steps.iter().all(|s| s.action.who == Who::Electrician);
        let named = f.mends.starts_with("A licensed electrician ");
        (electricians != named).then(|| f.mends.to_owned())
    });
    misses(|f| {
        let utilitys = f.steps.iter().any(|s| s.action.who == Who::Utility);
        (utilitys && !f.mends.contains("utility")).then(|| f.mends.to_owned())
    });
}

#[test]
fn a_mistake_of_measuring_leaves_the_installation_sound() {
    misses(|f| {
        let good = f.steps.iter().all(|s| s.verdict == Verdict::Good);
        (good != f.is_misreading()).then(|| "verdict and misreading disagree".to_owned())
    });
}

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

fn rich() -> Site {
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
