//! How much faster than the general tools: `cargo bench -p network --bench ratios`. Ratios within one run; the times
//! beside them are for orientation only. All per sample, on one core; ours takes eight samples at once.

#[path = "../tests/support/mod.rs"]
mod support;

use faer::linalg::solvers::SolveCore;
use faer::sparse::linalg::solvers::{Lu, SymbolicLu};
use faer::sparse::{Pair, SparseColMat, SymbolicSparseColMat, Triplet};
use network::{Cx8, Factors, LANES, NodeIx, Order, Probe, Probes, Scratch, Seen, Spot, Work};
use num_complex::Complex64;
use std::hint::black_box;
use std::process::{Command, Stdio};
use std::time::Instant;
use support::chance::Chance;
use support::netlist::Netlist;
use support::wiring::{Leak, Wiring};

/// Best of several, seconds for one call.
fn time(calls: usize, mut it: impl FnMut()) -> f64 {
    let mut best = f64::INFINITY;
    for _ in 0..12 {
        let start = Instant::now();
        for _ in 0..calls {
            it();
        }
        best = best.min(start.elapsed().as_secs_f64() / calls as f64);
    }
    best
}

fn row(name: &str, ours: f64, theirs: f64, goal: f64) {
    let ratio = theirs / ours;
    let met = if ratio >= goal { "met" } else { "MISSED" };
    println!(
        "{name:<64} {:>10.3} {:>12.3} {ratio:>9.1} {goal:>7.0} {met}",
        1e6 * ours,
        1e6 * theirs
    );
}

fn main() {
    println!(
        "{:<64} {:>10} {:>12} {:>9} {:>7}",
        "", "ours, us", "theirs, us", "ratio", "goal"
    );
    factor_and_solve();
    one_cause();
    println!("\nour own steps, us per sample:");
    for n_places in [7, 20, 67] {
        parts(n_places);
    }
}

/// Values in, voltages out, on 60 nodes. faer gets its symbolic analyses made beforehand: the pattern of the matrix, the
/// order of its entries, the factor's structure.
fn factor_and_solve() {
    let wiring = Wiring::invent(1, 20, Leak::Usual);
    let batches = [wiring.batch(1)];
    let order = Order::of(&wiring.topology).expect("joined");
    let ours = time(300, || {
        let factors = order.factor(black_box(&batches)).expect("regular");
        black_box(factors.volts(0));
    }) / LANES as f64;

    let n = wiring.topology.n_nodes();
    let y: Vec<Complex64> = batches[0].y.iter().map(|it| it.lane(0)).collect();
    let mut entries = Vec::new();
    for (b, &(from, to)) in wiring.topology.branches().iter().enumerate() {
        for (r, c, sign) in [
            (from, from, 1.0),
            (to, to, 1.0),
            (from, to, -1.0),
            (to, from, -1.0),
        ] {
            if r != NodeIx::DATUM && c != NodeIx::DATUM {
                entries.push((r.index() - 1, c.index() - 1, b, sign));
            }
        }
    }
    let triplets: Vec<_> = entries
        .iter()
        .map(|&(r, c, b, sign)| Triplet::new(r, c, sign * y[b]))
        .collect();
    let mut matrix =
        SparseColMat::<usize, Complex64>::try_new_from_triplets(n, n, &triplets).expect("fits");
    let symbolic = SymbolicLu::try_new(matrix.symbolic()).expect("fits");
    let places: Vec<(usize, usize, f64)> = entries
        .iter()
        .map(|&(r, c, b, sign)| {
            let (of_column, rows) = (matrix.col_ptr(), matrix.row_idx());
            let at = (of_column[c]..of_column[c + 1])
                .find(|&at| rows[at] == r)
                .expect("entry is there");
            (at, b, sign)
        })
        .collect();
    let fill = |rhs: &mut faer::Mat<Complex64>| {
        rhs.fill(Complex64::ZERO);
        for ((&(from, to), &y), &e) in wiring.topology.branches().iter().zip(&y).zip(&wiring.emf) {
            for (node, sign) in [(from, 1.0), (to, -1.0)] {
                if node != NodeIx::DATUM {
                    rhs[(node.index() - 1, 0)] += sign * y * e;
                }
            }
        }
    };
    let mut rhs = faer::Mat::<Complex64>::zeros(n, 1);
    let mut last = Complex64::ZERO;
    let theirs = time(100, || {
        matrix.val_mut().fill(Complex64::ZERO);
        for &(at, b, sign) in &places {
            matrix.val_mut()[at] += sign * y[b];
        }
        fill(&mut rhs);
        let lu = Lu::try_new_with_symbolic(symbolic.clone(), matrix.as_ref()).expect("regular");
        lu.solve_in_place_with_conj(faer::Conj::No, rhs.as_mut());
        last = rhs[(n - 3, 0)];
    });
    let node = wiring.places[19][0];
    let both = (
        order.factor(&batches).expect("regular").volts(0)[node].lane(0),
        last,
    );
    assert!(
        (both.0 - both.1).norm() < 1e-6,
        "not the same problem: {both:?}"
    );
    let indices: Vec<_> = entries.iter().map(|&(r, c, ..)| Pair::new(r, c)).collect();
    let (pattern, sorted) =
        SymbolicSparseColMat::try_new_from_indices(n, n, &indices).expect("fits");
    let mut values = vec![Complex64::ZERO; entries.len()];
    let built = time(100, || {
        for (value, &(_, _, b, sign)) in values.iter_mut().zip(&entries) {
            *value = sign * y[b];
        }
        let matrix =
            SparseColMat::new_from_argsort(pattern.clone(), &sorted, &values).expect("fits");
        let lu = Lu::try_new_with_symbolic(symbolic.clone(), matrix.as_ref()).expect("regular");
        fill(&mut rhs);
        lu.solve_in_place_with_conj(faer::Conj::No, rhs.as_mut());
        last = rhs[(n - 3, 0)];
    });
    row(
        "factor and solve 60 nodes, faer 0.24.4 sparse LU from values",
        ours,
        built,
        25.0,
    );
    let name = "the same, faer's matrix filled in place ";
    println!(
        "{name:<64} {:>10.3} {:>12.3} {:>9.1}",
        1e6 * ours,
        1e6 * theirs,
        theirs / ours
    );
}

/// Every line-neutral, neutral-earth and line-earth pair of 20 places under one cause (voltage and impedance), against
/// changing one resistor in ngspice and solving again (voltages only), start-up excluded.
fn one_cause() {
    let wiring = Wiring::invent(1, 20, Leak::Usual);
    let batches = [wiring.batch(1)];
    let order = Order::of(&wiring.topology).expect("joined");
    let factors = order.factor(&batches).expect("regular");
    let pairs: Vec<_> = wiring
        .places
        .iter()
        .flat_map(|&[l, n, e]| [(l, n), (n, e), (l, e)])
        .map(|(plus, minus)| Probe { plus, minus })
        .collect();
    let spots: Vec<_> = wiring
        .runs
        .iter()
        .flatten()
        .map(|&b| Spot::Branch(b))
        .collect();
    let probes = factors.probes(&pairs, &[], &[], &spots).expect("known");
    let (mut scratch, mut seen) = (Scratch::default(), Seen::default());
    let mut all = |y: f64| {
        time(20, || {
            for spot in 0..spots.len() {
                probes
                    .under(
                        0,
                        black_box(&[(spot, Cx8::from(y))]),
                        &mut scratch,
                        &mut seen,
                    )
                    .expect("leaky");
            }
        }) / (spots.len() * LANES) as f64
    };
    let (joint, open) = (all(0.5), all(1e-9));
    let prepare = time(5, || {
        let factors = order.factor(black_box(&batches)).expect("regular");
        black_box(factors.probes(&pairs, &[], &[], &spots).expect("known"));
    }) / (spots.len() * LANES) as f64;

    let spot = wiring.runs[10][1].index();
    let mut y = wiring.y.clone();
    y[spot] = Complex64::from(2.0);
    let pair = (wiring.places[3][0], wiring.places[3][1]);
    let netlist = Netlist {
        hertz: 60.0,
        topology: wiring.topology.clone(),
        y,
        emf: wiring.emf.clone(),
        pair,
    };
    let text = netlist.write("one cause");
    let elements = text.split(".control").next().expect("first part");
    let Some(idle) = ngspice_seconds(elements, spot, 0) else {
        println!("ngspice is not installed, one cause was not compared: apt-get install ngspice");
        return;
    };
    let busy = ngspice_seconds(elements, spot, 2000).expect("ran before");
    let theirs = (busy - idle) / 2000.0;
    row(
        "one cause at 60 pairs of 60 nodes (a bad joint), ngspice 39",
        joint,
        theirs,
        1000.0,
    );
    row("the same, a conductor open", open, theirs, 1000.0);
    let name = "the same with its share of preparing 57 causes";
    println!(
        "{name:<64} {:>10.3} {:>12} {:>9.1}",
        1e6 * (open + prepare),
        "",
        theirs / (open + prepare)
    );
}

/// Wall time of the best of three runs that alter and solve so many times.
fn ngspice_seconds(elements: &str, spot: usize, times: usize) -> Option<f64> {
    let file =
        std::env::temp_dir().join(format!("network-bench-{}-{times}.cir", std::process::id()));
    let text = format!(
        "{elements}.control\nrepeat {times}\nalter R{spot} = 2\nac lin 1 60 60\ndestroy all\nend\nquit\n.endc\n.end\n"
    );
    std::fs::write(&file, text).expect("temporary folder can be written");
    let mut best = None;
    for _ in 0..3 {
        let start = Instant::now();
        let run = Command::new("ngspice")
            .arg("-b")
            .arg(&file)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status();
        if run.is_ok() {
            let seconds = start.elapsed().as_secs_f64();
            best = Some(best.map_or(seconds, |it: f64| it.min(seconds)));
        }
    }
    std::fs::remove_file(&file).expect("own file");
    best
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
    let volts = time(200, || {
        black_box(factors.volts(0));
    });
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
        black_box(prepared(&factors, &pairs, &spots));
    });
    let probes = prepared(&factors, &pairs, &spots);
    println!(
        "{:4} nodes: factor {:.3}, solve {:.3}, refined state {:.3}, prepare {} spots {:.1}; causes at 6 probes:",
        3 * n_places,
        us(factor),
        us(volts),
        us(state),
        spots.len(),
        us(prepare)
    );
    for k in [1, 2, 3, 4, 8, 12] {
        print!("  {k:2} changes:");
        for (name, y) in [("joints", 0.5), ("opens", 1e-10)] {
            let causes: Vec<Vec<_>> = (0..16)
                .map(|_| chance.below(spots.len()))
                .map(|first| {
                    (0..k)
                        .map(|i| ((first + i) % spots.len(), Cx8::from(y)))
                        .collect()
                })
                .collect();
            let (mut scratch, mut seen, mut work) =
                (Scratch::default(), Seen::default(), Work::default());
            let update = time(20, || {
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
                "  {name} {:.3} ({:.0} % in twice the precision; factored again {:.2})",
                us(update / 16.0),
                100.0 * work.doubled as f64 / work.updates as f64,
                us(again / 16.0)
            );
        }
        println!();
    }
}

fn prepared<'a>(factors: &'a Factors<'a>, pairs: &[Probe], spots: &[Spot]) -> Probes<'a> {
    factors.probes(pairs, &[], &[], spots).expect("known")
}
