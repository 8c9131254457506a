//! Laws of the simulator over seeded random premises.

use proof::chance::Chance;
use proof::sim::fault::{Fault, KINDS, MISTAKES};
use proof::sim::look::World;
use proof::sim::premises::Premises;
use proof::sim::story::{Sort, Story, faces};

/// The engine's catalogue knows every kind that is simulated, so that none is lost for its name.
#[test]
fn prop_every_kind_is_in_the_catalogue() {
    let unknown: Vec<&str> = KINDS
        .iter()
        .chain(&MISTAKES)
        .map(|k| k.id)
        .filter(|id| trace::faults::find(id).is_none())
        .collect();
    assert!(unknown.is_empty(), "{unknown:?}");
}

/// Every kind that is not a mistake of the person changes the network wherever it can sit, and everything settles.
#[test]
fn prop_every_kind_does_something_everywhere() {
    let mut chance = Chance::new(11, 3);
    let mut met = vec![0; KINDS.len()];
    let mut idle = Vec::new();
    for _ in 0..60 {
        let premises = Premises::draw(&mut chance);
        for (k, kind) in KINDS.iter().enumerate() {
            for (at, leg) in kind.sits.places(&premises.site) {
                met[k] += 1;
                let how_bad = if kind.id.starts_with("supply") {
                    0.8
                } else {
                    5.0
                };
                let fault = Fault {
                    kind: kind.id,
                    at,
                    leg,
                    how_bad,
                };
                let needs_another = [
                    "neutral-borrowed",
                    "wrong-voltage-outlet",
                    "wrong-voltage-circuit",
                ];
                if fault.defects(&premises).is_empty() && !needs_another.contains(&kind.id) {
                    idle.push(format!("{} at {}", kind.id, at.key(&premises.site)));
                }
            }
        }
    }
    assert!(idle.is_empty(), "{idle:#?}");
    let never: Vec<&str> = KINDS
        .iter()
        .zip(&met)
        .filter(|(_, n)| **n == 0)
        .map(|(k, _)| k.id)
        .collect();
    assert!(never.is_empty(), "never possible: {never:?}");
}

/// Sound premises read sound: line-neutral within 13 % of nominal, neutral-earth below 7 %, all finite.
#[test]
fn prop_sound_premises_read_sound() {
    let mut chance = Chance::new(2, 9);
    let mut odd = Vec::new();
    for _ in 0..40 {
        let world = World {
            premises: Premises::draw(&mut chance),
            faults: Vec::new(),
        };
        let nominal = world.premises.truth.volts;
        for (o, face) in faces(&world).into_iter().enumerate() {
            let fine = |v: f64| (v / nominal - 1.0).abs() < 0.13;
            if !fine(face[0])
                || !fine(face[1])
                || face[2] > 0.07 * nominal
                || !face.iter().all(|v| v.is_finite())
            {
                odd.push(format!(
                    "{} outlet {o}: {face:.1?}",
                    world.premises.site.region.id
                ));
            }
        }
    }
    assert!(odd.is_empty(), "{odd:#?}");
}

/// A seed draws the same story every time, another seed another one.
#[test]
fn prop_a_seed_is_a_story() {
    let text = |seed, n| {
        let story = Story::draw(seed, n);
        format!(
            "{:?} {:?} {:?}",
            story.sort, story.world.faults, story.visit.readings
        )
    };
    for n in 0..6 {
        assert_eq!(text(4, n), text(4, n));
    }
    assert!((0..6).any(|n| text(4, n) != text(5, n)));
}

/// Every fault of a story shows somewhere, and two faults are told of where both show.
#[test]
fn prop_a_story_can_be_found_out() {
    let mut chance = Chance::new(8, 1);
    for sort in [Sort::Single, Sort::Double, Sort::Single, Sort::Double] {
        let story = Story::of(&mut chance, sort);
        assert!(
            story.world.where_all_show().contains(&story.here),
            "{:?}",
            story.world.faults
        );
        assert!(!story.visit.readings.is_empty() || !story.visit.observations.is_empty());
    }
}
