//! A network with its faults put into it as wires: what a circuit simulator is given.
//!
//! The faults are not taken as the new admittances that `chain::alter` writes, but made once more from what they say: a
//! series resistance is a resistor and a node of its own at the near end of the conductor, an exchange lets the branch of
//! a conductor end where the other one ended, a bridge is a resistor. So the algebra of `alter` is checked as well.

use chain::alter::{Alteration, Ohmic, Point};
use chain::element::{Conductor, Element};
use chain::wiring::{Joint, Wiring};
use network::{Batch, NodeIx, Topology};
use num_complex::Complex64;
use std::f64::consts::TAU;
use std::fmt::Write;

use super::truth::Truth;

/// A branch of a deck: `i = y (v_from − v_to − emf)`.
#[derive(Clone, Copy, Debug)]
pub struct Branch {
    pub from: usize,
    pub to: usize,
    pub y: Complex64,
    pub emf: Complex64,
}

/// A network with numbered nodes, 0 the datum; the wiring's own nodes keep their numbers.
#[derive(Clone, Debug)]
pub struct Deck {
    pub hertz: f64,
    pub n_nodes: usize,
    pub branches: Vec<Branch>,
}

/// An alteration with the severity of the fault that it belongs to.
pub type Altered = (f64, Alteration);

impl Deck {
    /// The wiring as it stands, in one lane of a batch.
    pub fn of(wiring: &Wiring<'_>, batch: &Batch, lane: usize) -> Self {
        let branches = wiring.topology.branches().iter().enumerate();
        Deck {
            hertz: wiring.omega / TAU,
            n_nodes: wiring.topology.n_nodes() + 1,
            branches: branches
                .map(|(b, (from, to))| Branch {
                    from: from.index(),
                    to: to.index(),
                    y: batch.y[b].lane(lane),
                    emf: batch.emf[b].lane(lane),
                })
                .collect(),
        }
    }

    /// Puts faults in. Exchanges come first, then what stands in series with each near end.
    pub fn alter(&mut self, wiring: &Wiring<'_>, alterations: &[Altered]) {
        let mut ends: Vec<(Element, Conductor, usize)> = Vec::new();
        for (_, alteration) in alterations {
            if let Alteration::Exchange { at, one, other } = *alteration {
                let mut place = |of| {
                    ends.iter()
                        .position(|e| (e.0, e.1) == (at, of))
                        .unwrap_or_else(|| {
                            ends.push((at, of, joint(wiring, at, of).far.index()));
                            ends.len() - 1
                        })
                };
                let (i, j) = (place(one), place(other));
                (ends[i].2, ends[j].2) = (ends[j].2, ends[i].2);
            }
        }
        for (at, of, far) in ends {
            let branch = joint(wiring, at, of).branch.expect("a wire to exchange");
            self.branches[branch.index()].to = far;
        }
        for &(severity, alteration) in alterations {
            match alteration {
                Alteration::Series { at, of, ohms } => {
                    let branch = joint(wiring, at, of).branch.expect("a wire to break");
                    let middle = self.node();
                    let near = std::mem::replace(&mut self.branches[branch.index()].from, middle);
                    self.resistor(near, middle, ohms_of(ohms, severity));
                }
                Alteration::Bridge { from, to, ohms } => {
                    let (a, b) = (point(wiring, from), point(wiring, to));
                    self.resistor(a.index(), b.index(), ohms_of(ohms, severity));
                }
                Alteration::Volts => {
                    for branch in &mut self.branches {
                        branch.emf *= severity;
                    }
                }
                Alteration::Exchange { .. } | Alteration::Frequency => {}
            }
        }
    }

    /// A further node.
    fn node(&mut self) -> usize {
        self.n_nodes += 1;
        self.n_nodes - 1
    }

    /// A further resistor.
    pub fn resistor(&mut self, from: usize, to: usize, ohms: f64) {
        self.admittance(from, to, Complex64::from(1.0 / ohms));
    }

    /// A further admittance.
    pub fn admittance(&mut self, from: usize, to: usize, y: Complex64) {
        let emf = Complex64::ZERO;
        self.branches.push(Branch { from, to, y, emf });
    }

    /// The same things at another frequency: every capacitance and inductance stays.
    pub fn at_hertz(&mut self, hertz: f64) {
        let ratio = hertz / std::mem::replace(&mut self.hertz, hertz);
        for branch in &mut self.branches {
            if branch.y.im > 0.0 {
                branch.y.im *= ratio;
            } else if branch.y.im < 0.0 {
                let z = branch.y.inv();
                branch.y = Complex64::new(z.re, z.im * ratio).inv();
            }
        }
    }

    /// The netlist: a capacitor stands beside its resistor, an inductor behind it.
    pub fn netlist(&self, title: &str) -> String {
        let mut out = format!("* {title}\n");
        let w = TAU * self.hertz;
        let mut line = |text: std::fmt::Arguments<'_>| writeln!(out, "{text}").expect("text");
        let name = |node: usize| {
            if node == 0 {
                "0".into()
            } else {
                format!("n{node}")
            }
        };
        for (b, it) in self.branches.iter().enumerate() {
            let (from, mut to) = (name(it.from), name(it.to));
            if it.emf != Complex64::ZERO {
                let (size, degrees) = (it.emf.norm(), it.emf.arg().to_degrees());
                line(format_args!("V{b} e{b} {to} dc 0 ac {size:e} {degrees:e}"));
                to = format!("e{b}");
            }
            if it.y.im < 0.0 {
                let z = it.y.inv();
                line(format_args!("R{b} {from} l{b} {:e}", z.re));
                line(format_args!("L{b} l{b} {to} {:e}", z.im / w));
                continue;
            }
            if it.y.re != 0.0 {
                line(format_args!("R{b} {from} {to} {:e}", 1.0 / it.y.re));
            }
            if it.y.im > 0.0 {
                line(format_args!("C{b} {from} {to} {:e}", it.y.im / w));
            }
        }
        out + ".options reltol=1e-12 abstol=1e-18 vntol=1e-15 gmin=1e-30\n.end\n"
    }

    /// Potentials of all nodes, solved densely in about 32 digits.
    pub fn truth(&self) -> Vec<Complex64> {
        let mut topology = Topology::new();
        let mut nodes = vec![NodeIx::DATUM];
        nodes.extend((1..self.n_nodes).map(|_| topology.node()));
        for it in &self.branches {
            topology.branch(nodes[it.from], nodes[it.to]);
        }
        let y: Vec<Complex64> = self.branches.iter().map(|it| it.y).collect();
        let emf: Vec<Complex64> = self.branches.iter().map(|it| it.emf).collect();
        let truth = Truth::of(&topology, &y, &emf);
        nodes
            .iter()
            .map(|n| truth.volts(*n, NodeIx::DATUM))
            .collect()
    }
}

fn ohms_of(ohms: Ohmic, severity: f64) -> f64 {
    match ohms {
        Ohmic::Is(ohms) => ohms,
        Ohmic::Severity(factor) => factor * severity,
    }
}

fn joint(wiring: &Wiring<'_>, at: Element, of: Conductor) -> Joint {
    let joint = wiring.joint(at, of).expect("a conductor of the network");
    if let Some(branch) = joint.branch {
        assert_eq!(
            wiring.topology.ends(branch),
            (joint.near, joint.far),
            "{at:?} {of:?}"
        );
    }
    joint
}

fn point(wiring: &Wiring<'_>, point: Point) -> NodeIx {
    match point {
        Point::Contact(contact) => wiring.contact(contact).expect("a contact of the network"),
        Point::Near(at, of) => joint(wiring, at, of).near,
        Point::Far(at, of) => joint(wiring, at, of).far,
    }
}
