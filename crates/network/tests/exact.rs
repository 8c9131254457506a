//! Closed forms.

use network::{
    Batch, BranchIx, Cx8, Load, NetworkError, NodeIx, Order, Probe, Running, Scratch, Seen, Spot,
    Topology, loaded, loaded_pair, loaded_three,
};
use num_complex::Complex64;

fn real(x: f64) -> Complex64 {
    Complex64::from(x)
}

#[track_caller]
fn close(got: Complex64, want: Complex64, within: f64) {
    let off = (got - want).norm();
    assert!(
        off <= within,
        "{got} for {want}: {off:.1e} off, allowed {within:.1e}"
    );
}

/// Source of `e` volts behind `r` ohms, feeding one node.
struct Feeder {
    order: Order,
    y: Vec<Complex64>,
    emf: Vec<Complex64>,
    node: NodeIx,
    load: BranchIx,
}

fn feeder(e: f64, r: f64) -> Feeder {
    let mut t = Topology::new();
    let node = t.node();
    t.branch(node, NodeIx::DATUM);
    let load = t.branch(node, NodeIx::DATUM);
    let order = Order::of(&t).expect("joined");
    Feeder {
        order,
        y: vec![real(1.0 / r), real(0.0)],
        emf: vec![real(e), real(0.0)],
        node,
        load,
    }
}

/// `V² − E V + P R = 0`: 120 V, 2 Ω, 1000 W: V = 60 + √(3600 − 2000) = 100 V. Tolerance: the fixed point stops at
/// 1e-12 of y, which is 1e-10 V at most here (ratio of a round 2·0.2/1.2 = 1/3).
#[test]
fn exact_a_constant_power_behind_a_resistance() {
    let it = feeder(120.0, 2.0);
    let load = Load::Power {
        va: real(1000.0),
        cut_out: 85.0,
    };
    let found = it.order.settle(&it.y, &it.emf, &[(it.load, load)]).unwrap();
    close(found.volts[it.node], real(100.0), 1e-9);
    close(found.amps[it.load], real(10.0), 1e-10);
    assert_eq!(found.running, [Running::Yes]);
    close(found.balance.supplied, real(1200.0), 1e-8);
    close(found.balance.losses, real(200.0), 1e-8);
    assert!(found.balance.residual < 1e-10, "{:?}", found.balance);
}

/// The same with 2000 W has no solution (E² < 4 P R): it cuts out. At 1700 W (V = 74.1 V) it is below its 85 V.
#[test]
fn exact_a_constant_power_stops_below_its_cut_out() {
    let it = feeder(120.0, 2.0);
    for watts in [1700.0, 2000.0] {
        let load = Load::Power {
            va: real(watts),
            cut_out: 85.0,
        };
        let found = it.order.settle(&it.y, &it.emf, &[(it.load, load)]).unwrap();
        assert_eq!(found.running, [Running::CutOut]);
        close(found.volts[it.node], real(120.0), 1e-6);
    }
    let endless = Load::Power {
        va: real(2000.0),
        cut_out: 0.0,
    };
    let problem = it
        .order
        .settle(&it.y, &it.emf, &[(it.load, endless)])
        .unwrap_err();
    assert!(
        matches!(problem, NetworkError::Unsettled { worst, .. } if worst == it.load),
        "{problem}"
    );
}

/// `I = 10 A` in phase with its voltage: V = 120 − 2·10.
#[test]
fn exact_a_constant_current_behind_a_resistance() {
    let it = feeder(120.0, 2.0);
    let load = Load::Current {
        amps: 10.0,
        lag: 0.0,
        cut_out: 50.0,
    };
    let found = it.order.settle(&it.y, &it.emf, &[(it.load, load)]).unwrap();
    close(found.volts[it.node], real(100.0), 1e-9);
    let load = Load::Current {
        amps: 5.0,
        lag: 0.5,
        cut_out: 50.0,
    };
    let found = it.order.settle(&it.y, &it.emf, &[(it.load, load)]).unwrap();
    close(
        found.amps[it.load],
        found.volts[it.node] / found.volts[it.node].norm() * Complex64::from_polar(5.0, -0.5),
        1e-9,
    );
}

/// Of two machines the one with the higher cut-out stops, and the other goes on.
#[test]
fn the_most_sensitive_machine_stops_first() {
    let mut t = Topology::new();
    let node = t.node();
    let ix: Vec<_> = (0..3).map(|_| t.branch(node, NodeIx::DATUM)).collect();
    let order = Order::of(&t).unwrap();
    let (y, emf) = (
        [real(0.5), real(0.0), real(0.0)],
        [real(120.0), real(0.0), real(0.0)],
    );
    let ask = |cut_out| Load::Power {
        va: real(600.0),
        cut_out,
    };
    let found = order
        .settle(&y, &emf, &[(ix[1], ask(80.0)), (ix[2], ask(105.0))])
        .unwrap();
    assert_eq!(found.running, [Running::Yes, Running::CutOut]);
    // 60 + √(3600 − 1200) for the one that is left.
    close(found.volts[node], real(60.0 + 2400_f64.sqrt()), 1e-6);
}

/// A line node that hangs open between two capacitances: 120 V · C1 / (C1 + C2), Thevenin impedance
/// 1 / (jω (C1 + C2)), 26.5 MΩ at 100 pF. A 10 MΩ meter reads 21 V of the 60 V, a 3 kΩ one 7 mV.
#[test]
fn exact_a_ghost_voltage_is_a_capacitive_divider() {
    let w = std::f64::consts::TAU * 60.0;
    let (c1, c2) = (40e-12, 60e-12);
    let mut t = Topology::new();
    let (line, open) = (t.node(), t.node());
    let b = [
        t.branch(line, NodeIx::DATUM),
        t.branch(line, open),
        t.branch(line, open),
        t.branch(open, NodeIx::DATUM),
    ];
    let order = Order::of(&t).unwrap();
    let mut batch = Batch::zero(4);
    batch.y[b[0].index()] = Cx8::from(1000.0);
    batch.emf[b[0].index()] = Cx8::from(120.0);
    batch.y[b[1].index()] = Cx8::from(500.0);
    batch.y[b[2].index()] = Cx8::splat(Complex64::new(0.0, w * c1));
    batch.y[b[3].index()] = Cx8::splat(Complex64::new(0.0, w * c2));
    let batches = [batch];
    let factors = order.factor(&batches).unwrap();
    let probe = Probe {
        plus: open,
        minus: NodeIx::DATUM,
    };
    let probes = factors
        .probes(&[probe], &[], &[], &[Spot::Branch(b[1])])
        .unwrap();
    let (mut scratch, mut seen) = (Scratch::default(), Seen::default());
    for refined in [false, true] {
        let change = [(0, Cx8::ZERO)];
        if refined {
            probes
                .under_refined(0, &change, &mut scratch, &mut seen)
                .unwrap();
        } else {
            probes.under(0, &change, &mut scratch, &mut seen).unwrap();
        }
        let (v, z) = (seen.v[0].lane(3), seen.z[0].lane(3));
        close(v, real(120.0 * c1 / (c1 + c2)), 1e-9);
        let want = 1.0 / Complex64::new(0.0, w * (c1 + c2));
        close(z, want, 1e-9 * want.norm());
        let reading = loaded(v, z, real(1e-7)).norm();
        let by_hand = 48.0 / (1.0 + (want.norm() * 1e-7).powi(2)).sqrt();
        assert!((reading - by_hand).abs() < 1e-9, "{reading} for {by_hand}");
    }
}

/// A node behind 1e12 Ω beside a bond of 1000 S, fed from both ends: a conductance divider,
/// V = 120 · 1e-12 / (1e-12 + 3e-12), to 1e-12 V, where the nodal matrix in doubles keeps nothing of the leak.
#[test]
fn exact_a_teraohm_beside_a_bond_keeps_its_divider() {
    let mut t = Topology::new();
    let (line, a, b) = (t.node(), t.node(), t.node());
    t.branch(line, NodeIx::DATUM);
    t.branch(line, a);
    t.branch(a, b);
    t.branch(b, NodeIx::DATUM);
    let order = Order::of(&t).unwrap();
    let mut batch = Batch::zero(4);
    batch.y = [1000.0, 1e-12, 1000.0, 3e-12].map(Cx8::from).to_vec();
    batch.emf[0] = Cx8::from(120.0);
    let batches = [batch];
    let state = order.factor(&batches).unwrap().state(0);
    close(state.volts[b].lane(0), real(30.0), 1e-12);
}

/// A part that floats altogether is a problem with a place, not a number.
#[test]
fn a_part_without_any_leak_is_named() {
    let mut t = Topology::new();
    let (a, b, c) = (t.node(), t.node(), t.node());
    t.branch(a, NodeIx::DATUM);
    let cut = t.branch(a, b);
    t.branch(b, c);
    let order = Order::of(&t).unwrap();
    let mut batch = Batch::zero(3);
    batch.y = vec![Cx8::ONE; 3];
    let mut floating = [batch.clone()];
    floating[0].y[cut.index()].set_lane(5, Complex64::ZERO);
    let problem = order.factor(&floating).unwrap_err();
    assert!(
        matches!(problem, NetworkError::Singular { batch: 0, lane: 5, node } if node != a),
        "{problem}"
    );

    let batches = [batch];
    let factors = order.factor(&batches).unwrap();
    let probes = factors
        .probes(
            &[Probe { plus: b, minus: a }],
            &[],
            &[],
            &[Spot::Branch(cut)],
        )
        .unwrap();
    let problem = probes
        .under(
            0,
            &[(0, Cx8::ZERO)],
            &mut Scratch::default(),
            &mut Seen::default(),
        )
        .unwrap_err();
    assert!(
        matches!(problem, NetworkError::Singular { node, .. } if node != a),
        "{problem}"
    );
}

/// Three lamps between line, neutral and earth of an outlet: solved by hand with Cramer's rule for real numbers, and
/// for no third lamp by two separate dividers where the pairs do not touch.
#[test]
fn exact_loaded_pairs() {
    let (v, z) = (
        [real(120.0), real(2.0)],
        [[real(3.0), real(1.0)], [real(1.0), real(2.0)]],
    );
    // (1 + Z Y) with Y = diag(0.1, 0.2): [[1.3, 0.2], [0.1, 1.4]], determinant 1.8.
    let [a, b] = loaded_pair(v, z, [real(0.1), real(0.2)]);
    close(a, real((1.4 * 120.0 - 0.2 * 2.0) / 1.8), 1e-12);
    close(b, real((1.3 * 2.0 - 0.1 * 120.0) / 1.8), 1e-12);
    // With 0.5 S between the plus sides: Y = [[0.6, -0.5], [-0.5, 0.7]], 1 + Z Y = [[2.3, -0.8], [-0.4, 1.9]].
    let [a, b] = loaded_three(v, z, [real(0.1), real(0.2), real(0.5)]);
    close(a, real((1.9 * 120.0 + 0.8 * 2.0) / 4.05), 1e-12);
    close(b, real((2.3 * 2.0 + 0.4 * 120.0) / 4.05), 1e-12);
}

/// A part opened to nothing, which a leak of 1e-22 S holds at earth and a bridge of 3e-22 S to line: 120 V · 3/4, and
/// 1 / 4e-22 Ω. Even twice the precision loses this (1e-25 of the bond), so the network is factored again, its
/// topology extended by the bridge once.
#[test]
fn exact_where_an_update_loses_all_digits_the_network_is_factored_again() {
    let mut t = Topology::new();
    let (line, a, b) = (t.node(), t.node(), t.node());
    let source = t.branch(line, NodeIx::DATUM);
    let run = t.branch(line, a);
    t.branch(a, b);
    let leak = t.branch(b, NodeIx::DATUM);
    let order = Order::of(&t).unwrap();
    let mut batch = Batch::zero(4);
    batch.y = vec![Cx8::from(1000.0); 4];
    batch.emf[source.index()] = Cx8::from(120.0);
    batch.y[leak.index()] = Cx8::from(1e-22);
    let batches = [batch];
    let factors = order.factor(&batches).unwrap();
    let probe = Probe {
        plus: b,
        minus: NodeIx::DATUM,
    };
    let probes = factors
        .probes(
            &[probe],
            &[],
            &[probe],
            &[Spot::Branch(run), Spot::Across(line, b)],
        )
        .unwrap();
    let (mut scratch, mut seen) = (Scratch::default(), Seen::default());
    let changes = [(0, Cx8::ZERO), (1, Cx8::from(3e-22))];
    for orderings in [1, 0] {
        let work = probes.under(0, &changes, &mut scratch, &mut seen).unwrap();
        assert_eq!(
            (
                work.updates,
                work.doubled,
                work.refactorings,
                work.orderings
            ),
            (1, 1, 1, orderings)
        );
        close(seen.v[0].lane(7), real(90.0), 1e-12);
        close(seen.watch[0].lane(0), real(90.0), 1e-12);
        close(seen.z[0].lane(1), real(2.5e21), 1e9);
    }
}
