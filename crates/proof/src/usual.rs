//! A technician's usual order: three pairs at each outlet, from the panel outwards, until the fault is passed.
//!
//! On the circuit where the trouble shows. Plain readings first; the search ends with the first outlet that reads
//! abnormal: line-neutral or line-earth more than 10 % off nominal, or neutral-earth above 3 % of it. Where no outlet does,
//! the same round is made with a test load plugged in at each outlet (line-neutral and neutral-earth), ending with the
//! first that loses more than 5 % from line to neutral against its plain reading or lifts neutral-earth above 4 %. A round
//! that finds nothing is counted whole. Readings that the visit started with are not counted again.

use site::model::OutletIx;
use site::visit::{Contact, Pin};

use crate::sim::look::{PAIRS, slot};
use crate::sim::story::{Story, faces};

/// Readings that the usual order takes.
#[must_use]
pub fn readings(story: &Story) -> usize {
    let world = &story.world;
    let (site, nominal) = (&world.premises.site, world.premises.truth.volts);
    let circuit = site.outlets[story.here].circuit;
    let order: Vec<usize> = site
        .outlets_from_the_panel()
        .into_iter()
        .map(|o| o.0)
        .filter(|o| site.outlets[*o].circuit == circuit)
        .collect();
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
