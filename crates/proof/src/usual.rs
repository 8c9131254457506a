//! A technician's usual order: three pairs at each outlet, from the panel outwards, until the fault is passed.
//!
//! On the circuit where the trouble shows. Plain readings first; the search ends with the first outlet that reads
//! abnormal: line-neutral or line-earth more than 10 % off nominal, or neutral-earth above 3 % of it. Where no outlet does,
//! the same round is made with a test load plugged in at each outlet (line-neutral and neutral-earth), ending with the
//! first that loses more than 5 % from line to neutral against its plain reading or lifts neutral-earth above 4 %. A round
//! that finds nothing is counted whole. Readings that the visit started with are not counted again.
//!
//! That order ends with something abnormal, and with no cause. `settled` counts the same order to the same certainty as
//! a led visit's: it goes on, the engine told every reading, until the engine would check nothing further.

use site::model::OutletIx;
use site::visit::{Contact, Pin};
use trace::Question;

use crate::sim::look::{Check, How, PAIRS, slot};
use crate::sim::story::{Story, faces};

/// Readings that the usual order takes.
#[must_use]
pub fn readings(story: &Story) -> usize {
    let world = &story.world;
    let nominal = world.premises.truth.volts;
    let order = order(story);
    let faces = faces(world);
    let told = |o: usize, a: Pin, b: Pin| {
        story.visit.readings.iter().take(3).any(|r| {
            (r.from, r.to)
                == (
                    Contact::Outlet(OutletIx(o), a),
                    Contact::Outlet(OutletIx(o), b),
                )
        })
    };
    let mistaken = world
        .faults
        .iter()
        .any(|f| f.kind.contains("named") || f.at == crate::sim::fault::At::Meter);
    let mut n = 0;
    for &o in &order {
        n += PAIRS.iter().filter(|(a, b)| !told(o, *a, *b)).count();
        let [ln, le, ne, ..] = faces[o];
        let off = |v: f64| (v / nominal - 1.0).abs() > 0.1;
        if off(ln) || off(le) || ne > 0.03 * nominal || (mistaken && o == story.here) {
            return n;
        }
    }
    debug_assert_eq!(slot(Pin::Earth), 2);
    for &o in &order {
        n += 2;
        let [ln, _, _, loaded, _, lifted, _] = faces[o];
        if ln - loaded > 0.05 * nominal || lifted > 0.04 * nominal {
            return n;
        }
    }
    n
}

/// Outlets of the circuit where the trouble shows, from the panel outwards.
fn order(story: &Story) -> Vec<usize> {
    let site = &story.world.premises.site;
    let circuit = site.outlets[story.here].circuit;
    let all = site.outlets_from_the_panel().into_iter().map(|o| o.0);
    all.filter(|o| site.outlets[*o].circuit == circuit)
        .collect()
}

/// Readings that the usual order takes until the engine, told them all, would check nothing further; all of them where
/// it never comes to that.
#[must_use]
pub fn settled(mut story: Story, seed: u64) -> usize {
    let order = order(&story);
    let plain = order
        .iter()
        .flat_map(|o| PAIRS.map(|(a, b)| Check::Volts(*o, a, b, How::Plain)));
    let loaded = order
        .iter()
        .flat_map(|o| [PAIRS[0], PAIRS[2]].map(|(a, b)| Check::Volts(*o, a, b, How::Loaded)));
    let checks: Vec<Check> = plain.chain(loaded).collect();
    let mut n = 0;
    for check in checks {
        let question = Question {
            site: &story.world.premises.site,
            visit: &story.visit,
            skill: story.visit.skill,
            seed,
        };
        if trace::trace(&question).next.is_none() {
            break;
        }
        story.world.look(check, &mut story.person, &mut story.visit);
        n += 1;
    }
    n
}
