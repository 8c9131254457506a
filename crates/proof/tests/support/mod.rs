//! Premises so plain that they can be worked out by hand.

#![allow(dead_code, reason = "each test program uses its part")]

use proof::chance::Chance;
use proof::sim::fault::{At, Fault};
use proof::sim::look::World;
use proof::sim::premises::Premises;

/// One circuit, outlets in a row, no loads, no capacitance, all joints a micro-ohm, 120 V exactly.
pub fn plain(n_circuits: usize, n_outlets: usize) -> Premises {
    let mut chance = Chance::new(5, 5);
    let mut it = loop {
        let it = Premises::of(&mut chance, "north-america", n_circuits, n_outlets);
        let split = it.site.service.system.id.starts_with("split");
        let row =
            (n_circuits..n_outlets).all(|o| it.site.outlets[o].after.is_some_and(|a| a.0 == o - 1));
        let fixed = it.site.outlets.iter().all(|o| o.id.starts_with("outlet"));
        let other_leg = n_circuits == 1 || it.site.circuits[0].leg != it.site.circuits[1].leg;
        let alone = it
            .site
            .circuits
            .iter()
            .all(|c| c.shares_neutral_with.is_none() && c.panel.0 == 0);
        if split && row && fixed && other_leg && alone {
            break it;
        }
    };
    it.site.loads.clear();
    let truth = &mut it.truth;
    truth.appliances.clear();
    truth.legs = vec![1.0; 2];
    truth.source = (1e-6, 0.0);
    truth.drop = 1e-6;
    truth.bond = 1e-6;
    truth.rest = vec![0.0; 2];
    truth.across = 0.0;
    truth.starts.iter_mut().for_each(|s| *s = [1e-6; 3]);
    truth.contacts.iter_mut().for_each(|s| *s = [1e-6; 3]);
    for run in &mut truth.runs {
        run.ohms = [0.1; 3];
        run.reactance = 0.0;
        run.farads = [0.0; 3];
        run.stray = [0.0; 3];
        run.leaks = [0.0; 3];
    }
    it
}

pub fn with(premises: Premises, faults: &[(&'static str, At, f64)]) -> World {
    let faults = faults
        .iter()
        .map(|(kind, at, how_bad)| Fault {
            kind,
            at: *at,
            leg: 0,
            how_bad: *how_bad,
        })
        .collect();
    World { premises, faults }
}
