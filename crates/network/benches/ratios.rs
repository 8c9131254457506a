//! How much faster than the general tools: `cargo bench -p network`. Ratios within one run; the times beside them are
//! for orientation only.

#[path = "../tests/support/mod.rs"]
mod support;

use network::{Cx8, LANES, Order, Probe, Scratch, Seen, Spot};
use std::hint::black_box;
use std::time::Instant;
use support::chance::Chance;
use support::wiring::{Leak, Wiring};

/// Best of several, seconds for one call.
fn time(calls: usize, mut it: impl FnMut()) -> f64 {
    let mut best = f64::INFINITY;
    for _ in 0..9 {
        let start = Instant::now();
        for _ in 0..calls {
            it();
        }
        best = best.min(start.elapsed().as_secs_f64() / calls as f64);
    }
    best
}

fn main() {
    println!("per sample (8 at once), one core:");
    for n_places in [7, 20, 67] {
        parts(n_places);
    }
}

/// Our own steps among themselves.
fn parts(n_places: usize) {
    let wiring = Wiring::invent(1, n_places, Leak::Usual);
    let mut chance = Chance::new(7);
    let batches = [wiring.batch(1)];
    let order = Order::of(&wiring.topology).expect("joined");
    let us = |seconds: f64| 1e6 * seconds / LANES as f64;
    let factor = time(200, || {
        black_box(order.factor(black_box(&batches)).expect("regular"));
    });
    let factors = order.factor(&batches).expect("regular");
    let state = time(200, || {
        black_box(factors.state(0));
    });
    let pairs: Vec<_> = (0..6)
        .map(|_| wiring.any_pair(&mut chance))
        .map(|(plus, minus)| Probe { plus, minus })
        .collect();
    let mut spots: Vec<_> = wiring
        .runs
        .iter()
        .flatten()
        .map(|&b| Spot::Branch(b))
        .collect();
    spots.extend(
        (0..20)
            .map(|_| wiring.any_pair(&mut chance))
            .map(|(a, b)| Spot::Across(a, b)),
    );
    let prepare = time(5, || {
        black_box(factors.probes(&pairs, &[], &[], &spots).expect("known"));
    });
    let probes = factors.probes(&pairs, &[], &[], &spots).expect("known");
    println!(
        "{:4} nodes  factor {:.3} us, state {:.3} us, prepare {} spots {:.1} us",
        3 * n_places,
        us(factor),
        us(state),
        spots.len(),
        us(prepare)
    );
    let (mut scratch, mut seen) = (Scratch::default(), Seen::default());
    for k in [1, 2, 3, 4, 8, 12] {
        let causes = |open: bool, chance: &mut Chance| {
            (0..16)
                .map(|_| {
                    let mut spot = chance.below(spots.len());
                    (0..k)
                        .map(|_| {
                            spot = (spot + 1) % spots.len();
                            let y = if open { 1e-10 } else { 0.5 };
                            (spot, Cx8::from(y))
                        })
                        .collect::<Vec<_>>()
                })
                .collect::<Vec<_>>()
        };
        print!("            {k:2} changes:");
        for (name, open) in [("joints", false), ("opens", true)] {
            let causes = causes(open, &mut chance);
            let mut work = network::Work::default();
            let t = time(20, || {
                for cause in &causes {
                    work += probes
                        .under(0, black_box(cause), &mut scratch, &mut seen)
                        .expect("leaky");
                }
            });
            let again = time(2, || {
                for cause in &causes {
                    probes
                        .under_refined(0, black_box(cause), &mut scratch, &mut seen)
                        .expect("leaky");
                }
            });
            print!(
                "  {name} {:.3} us ({:.0} % doubled, {:.0} % refactored; all refactored {:.2} us)",
                us(t / 16.0),
                100.0 * work.doubled as f64 / work.updates as f64,
                100.0 * work.refactorings as f64 / work.updates as f64,
                us(again / 16.0)
            );
        }
        println!();
    }
}
