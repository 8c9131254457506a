//! Invented premises: places in a random tree, each with line, neutral and earth; runs, joints, loads, leakage to earth
//! through insulation and cable capacitance, some earth loops.

use super::chance::Chance;
use network::{Batch, BranchIx, Cx8, NodeIx, Topology};
use num_complex::Complex64;
use std::f64::consts::TAU;

pub struct Wiring {
    pub topology: Topology,
    /// One value per branch.
    pub y: Vec<Complex64>,
    pub emf: Vec<Complex64>,
    /// Line, neutral, earth of every place.
    pub places: Vec<[NodeIx; 3]>,
    /// Line, neutral, earth of every run.
    pub runs: Vec<[BranchIx; 3]>,
    pub loads: Vec<BranchIx>,
    /// Every branch, in the order of its index.
    pub branches: Vec<BranchIx>,
}

pub enum Leak {
    /// 1e-9 to 1e-7 S and 50 to 500 pF.
    Usual,
    /// 1e-12 to 1e-9 S and nothing else.
    Tiny,
}

impl Wiring {
    /// `n_places` places (three nodes each) at 60 Hz, 120 V.
    pub fn invent(seed: u64, n_places: usize, leak: Leak) -> Self {
        let mut chance = Chance::new(seed);
        let mut it = Self {
            topology: Topology::new(),
            y: Vec::new(),
            emf: Vec::new(),
            places: Vec::new(),
            runs: Vec::new(),
            loads: Vec::new(),
            branches: Vec::new(),
        };
        for place in 0..n_places {
            let now: [NodeIx; 3] = [(); 3].map(|()| it.topology.node());
            if place == 0 {
                let supply = Complex64::new(chance.between(10.0, 50.0), -chance.between(5.0, 50.0));
                it.add(now[0], now[1], supply, Complex64::new(120.0, 0.0));
                it.add(now[1], now[2], Complex64::from(1000.0), Complex64::ZERO);
                it.add(
                    now[2],
                    NodeIx::DATUM,
                    Complex64::from(chance.between(0.01, 0.2)),
                    Complex64::ZERO,
                );
            } else {
                let from = it.places[chance.below(place)];
                let cable = chance.between(50.0, 1000.0);
                let run = [0, 1, 2].map(|c| {
                    let y = Complex64::from(cable * chance.between(0.9, 1.1));
                    it.add(from[c], now[c], y, Complex64::ZERO)
                });
                it.runs.push(run);
                if !chance.one_in(3) {
                    let load =
                        Complex64::new(chance.decades(1e-3, 0.1), -chance.decades(1e-5, 1e-2));
                    let load = it.add(now[0], now[1], load, Complex64::ZERO);
                    it.loads.push(load);
                }
                if chance.one_in(5) {
                    let other = it.places[chance.below(place)][2];
                    it.add(
                        now[2],
                        other,
                        Complex64::from(chance.decades(1.0, 500.0)),
                        Complex64::ZERO,
                    );
                }
            }
            for (a, b) in [(0, 2), (1, 2)] {
                let y = match leak {
                    Leak::Usual => Complex64::new(
                        chance.decades(1e-9, 1e-7),
                        TAU * 60.0 * chance.decades(50e-12, 500e-12),
                    ),
                    Leak::Tiny => Complex64::from(chance.decades(1e-12, 1e-9)),
                };
                it.add(now[a], now[b], y, Complex64::ZERO);
            }
            let y = Complex64::from(chance.decades(1e-12, 1e-9));
            it.add(now[2], NodeIx::DATUM, y, Complex64::ZERO);
            it.places.push(now);
        }
        it
    }

    fn add(&mut self, a: NodeIx, b: NodeIx, y: Complex64, emf: Complex64) -> BranchIx {
        self.y.push(y);
        self.emf.push(emf);
        let it = self.topology.branch(a, b);
        self.branches.push(it);
        it
    }

    /// Eight samples: the first as invented, the others with every admittance changed by up to 20 %.
    pub fn batch(&self, seed: u64) -> Batch {
        let mut chance = Chance::new(seed);
        let y = self.y.iter().map(|&y| {
            Cx8::from_lanes(|l| {
                if l == 0 {
                    y
                } else {
                    y * chance.between(0.8, 1.2)
                }
            })
        });
        Batch {
            y: y.collect(),
            emf: self.emf.iter().map(|&e| Cx8::splat(e)).collect(),
        }
    }

    pub fn any_node(&self, chance: &mut Chance) -> NodeIx {
        self.places[chance.below(self.places.len())][chance.below(3)]
    }

    pub fn any_pair(&self, chance: &mut Chance) -> (NodeIx, NodeIx) {
        loop {
            let (a, b) = (self.any_node(chance), self.any_node(chance));
            if a != b {
                return (a, b);
            }
        }
    }
}
