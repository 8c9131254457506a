//! What work an invented building takes: counts, held so that a slow path is not entered unnoticed.

mod support;

use network::{Cx8, Order, Probe, Scratch, Seen, Spot, Work};
use support::wiring::{Leak, Wiring};

/// 20 places, two batches, every conductor of every run opened in turn and made a bad joint in turn. Nothing is ordered
/// or factored for a cause. How many opens need twice the precision depends on the loads behind them.
#[test]
fn pin_the_work_of_all_single_faults_of_twenty_places() {
    let wiring = Wiring::invent(1, 20, Leak::Usual);
    let batches = [wiring.batch(1), wiring.batch(2)];
    let order = Order::of(&wiring.topology).unwrap();
    assert_eq!(
        (
            wiring.topology.n_nodes(),
            wiring.topology.n_branches(),
            order.n_off_diagonals()
        ),
        PINNED_SIZES
    );
    let factors = order.factor(&batches).unwrap();
    assert_eq!(
        factors.work(),
        Work {
            factorings: 2,
            ..Work::default()
        }
    );
    let [line, neutral, earth] = wiring.places[19];
    let reads = [(line, neutral), (neutral, earth)].map(|(plus, minus)| Probe { plus, minus });
    let spots: Vec<_> = wiring
        .runs
        .iter()
        .flatten()
        .map(|&b| Spot::Branch(b))
        .collect();
    let probes = factors.probes(&reads, &[(0, 1)], &[], &spots).unwrap();
    let (mut scratch, mut seen) = (Scratch::default(), Seen::default());
    for (y, pinned) in [(1e-9, PINNED_OPENS), (0.5, PINNED_JOINTS)] {
        let mut work = Work::default();
        for (batch, spot) in
            (0..2).flat_map(|batch| (0..spots.len()).map(move |spot| (batch, spot)))
        {
            work += probes
                .under(batch, &[(spot, Cx8::from(y))], &mut scratch, &mut seen)
                .unwrap();
        }
        assert_eq!((work.updates, work.doubled), pinned);
        assert_eq!(
            work,
            Work {
                updates: work.updates,
                doubled: work.doubled,
                ..Work::default()
            }
        );
    }
}

const PINNED_SIZES: (usize, usize, usize) = (60, 133, 191);
const PINNED_OPENS: (u64, u64) = (114, 56);
const PINNED_JOINTS: (u64, u64) = (114, 0);
