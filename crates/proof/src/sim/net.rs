//! A list of nodes and links, solved by `network` one steady state at a time.

use network::{BranchIx, Load, NetworkError, NodeIx, Order, Topology};
use num_complex::Complex64;

/// A node: 0 is the soil.
pub type Node = usize;

/// The soil, potential zero.
pub const SOIL: Node = 0;

/// What joins two nodes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Link {
    /// Ohms.
    Ohms(Complex64),
    /// Siemens.
    Siemens(Complex64),
    /// Volts behind ohms, positive at the first node.
    Source(Complex64, Complex64),
    /// Something that draws current.
    Load(Load),
}

/// Nodes and links.
#[derive(Clone, Debug)]
pub struct Net {
    n_nodes: usize,
    links: Vec<(Node, Node, Link)>,
}

impl Default for Net {
    fn default() -> Self {
        Self {
            n_nodes: 1,
            links: Vec::new(),
        }
    }
}

impl Net {
    /// A new node.
    pub fn node(&mut self) -> Node {
        self.n_nodes += 1;
        self.n_nodes - 1
    }

    /// Joins two nodes.
    pub fn join(&mut self, a: Node, b: Node, link: Link) {
        self.links.push((a, b, link));
    }

    /// Joins two nodes by a resistance, ohms.
    pub fn ohms(&mut self, a: Node, b: Node, ohms: f64) {
        self.join(a, b, Link::Ohms(Complex64::from(ohms)));
    }

    /// Joins two nodes by an admittance, siemens.
    pub fn siemens(&mut self, a: Node, b: Node, siemens: Complex64) {
        self.join(a, b, Link::Siemens(siemens));
    }

    /// Potential of every node, volts, the soil first. Every node gets 1e-13 S to the soil, so that nothing floats.
    ///
    /// # Errors
    /// As [`network::Order::settle`].
    pub fn volts(&self) -> Result<Vec<Complex64>, NetworkError> {
        let mut topology = Topology::new();
        let mut nodes = vec![NodeIx::DATUM];
        nodes.extend((1..self.n_nodes).map(|_| topology.node()));
        let (mut y, mut emf, mut loads): (Vec<Complex64>, Vec<Complex64>, Vec<(BranchIx, Load)>) =
            Default::default();
        for (a, b, link) in self.links.iter().filter(|(a, b, _)| a != b) {
            let branch = topology.branch(nodes[*a], nodes[*b]);
            let (siemens, volts) = match *link {
                Link::Ohms(z) => (z.inv(), Complex64::ZERO),
                Link::Siemens(y) => (y, Complex64::ZERO),
                Link::Source(e, z) => (z.inv(), e),
                Link::Load(Load::Impedance(y)) => (y, Complex64::ZERO),
                Link::Load(load) => {
                    loads.push((branch, load));
                    (Complex64::ZERO, Complex64::ZERO)
                }
            };
            y.push(siemens);
            emf.push(volts);
        }
        for node in &nodes[1..] {
            topology.branch(*node, NodeIx::DATUM);
            y.push(Complex64::from(1e-13));
            emf.push(Complex64::ZERO);
        }
        let settled = Order::of(&topology)?.settle(&y, &emf, &loads)?;
        Ok(nodes.iter().map(|n| settled.volts[*n]).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `V = E R2 / (R1 + R2)`. Tolerance: 1e-13 S to the soil and rounding.
    #[test]
    fn exact_a_divider_divides() {
        let mut net = Net::default();
        let (top, mid) = (net.node(), net.node());
        net.join(
            top,
            SOIL,
            Link::Source(Complex64::from(120.0), Complex64::from(1.0)),
        );
        net.ohms(top, mid, 2.0);
        net.ohms(mid, SOIL, 9.0);
        let volts = net.volts().expect("settles");
        assert!((volts[mid].re - 90.0).abs() < 1e-9, "{volts:?}");
    }

    /// 100 W of constant power behind 10 Ω on 120 V: `v = (E + √(E² − 4 R P)) / 2`.
    #[test]
    fn exact_a_machine_behind_a_joint() {
        let mut net = Net::default();
        let (top, mid) = (net.node(), net.node());
        net.join(
            top,
            SOIL,
            Link::Source(Complex64::from(120.0), Complex64::from(1e-6)),
        );
        net.ohms(top, mid, 10.0);
        net.join(
            mid,
            SOIL,
            Link::Load(Load::Power {
                va: Complex64::from(100.0),
                cut_out: 80.0,
            }),
        );
        let wanted = (120.0 + (120.0f64 * 120.0 - 4000.0).sqrt()) / 2.0;
        let got = net.volts().expect("settles")[mid].norm();
        assert!((got - wanted).abs() < 1e-3, "{got} {wanted}");
    }
}
