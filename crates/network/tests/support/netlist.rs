//! Netlists for an independent circuit simulator, written and read: each admittance a resistor and, beside it, a
//! capacitor or an inductor; an EMF is a voltage source behind them, at a node named after the branch (`e7`).

use network::{NodeIx, Topology};
use num_complex::Complex64;
use std::collections::HashMap;
use std::f64::consts::TAU;
use std::fmt::Write;

/// A network as a netlist holds it.
pub struct Netlist {
    pub hertz: f64,
    pub topology: Topology,
    pub y: Vec<Complex64>,
    pub emf: Vec<Complex64>,
    /// The pair whose impedance is asked for.
    pub pair: (NodeIx, NodeIx),
}

fn name(node: NodeIx) -> String {
    if node == NodeIx::DATUM {
        "0".into()
    } else {
        format!("n{}", node.index())
    }
}

impl Netlist {
    /// The text to run: an AC analysis that prints the potential of every node, and another one with the sources dead
    /// and one ampere through the pair, that prints the voltage of the pair.
    pub fn write(&self, title: &str) -> String {
        let (mut out, mut sources) = (format!("* {title}\n"), Vec::new());
        for (b, &(from, to)) in self.topology.branches().iter().enumerate() {
            let (y, emf) = (self.y[b], self.emf[b]);
            let to = if emf == Complex64::ZERO {
                name(to)
            } else {
                writeln!(
                    out,
                    "V{b} e{b} {} dc 0 ac {:e} {:e}",
                    name(to),
                    emf.norm(),
                    emf.arg().to_degrees()
                )
                .expect("text");
                sources.push(b);
                format!("e{b}")
            };
            let ends = format!("{} {to}", name(from));
            if y.re != 0.0 {
                writeln!(out, "R{b} {ends} {:e}", 1.0 / y.re).expect("text");
            }
            let w = TAU * self.hertz;
            if y.im > 0.0 {
                writeln!(out, "C{b} {ends} {:e}", y.im / w).expect("text");
            } else if y.im < 0.0 {
                writeln!(out, "L{b} {ends} {:e}", -1.0 / (w * y.im)).expect("text");
            }
        }
        let (plus, minus) = (name(self.pair.0), name(self.pair.1));
        writeln!(out, "Ipair {minus} {plus} dc 0 ac 0").expect("text");
        out +=
            ".options reltol=1e-12 abstol=1e-18 vntol=1e-15 gmin=1e-30\n.control\nset numdgt=16\n";
        writeln!(out, "ac lin 1 {0} {0}", self.hertz).expect("text");
        for node in self.topology.nodes() {
            writeln!(out, "print v({})", name(node)).expect("text");
        }
        for b in sources {
            writeln!(out, "alter V{b} acmag = 0").expect("text");
        }
        writeln!(out, "alter Ipair acmag = 1\nac lin 1 {0} {0}", self.hertz).expect("text");
        for node in [&plus, &minus].into_iter().filter(|it| *it != "0") {
            writeln!(out, "let z_{node} = v({node})\nprint z_{node}").expect("text");
        }
        out + "quit\n.endc\n.end\n"
    }

    /// Reads what [`Netlist::write`] wrote; everything it does not know is an error.
    pub fn read(text: &str) -> Result<Self, String> {
        let elements: Vec<Vec<&str>> = text
            .lines()
            .skip(1)
            .take_while(|line| !line.starts_with(".options"))
            .map(|line| line.split_whitespace().collect())
            .collect();
        let number = |it: &str| it.parse::<f64>().map_err(|e| format!("{it}: {e}"));
        let analysis = text
            .lines()
            .find(|it| it.starts_with("ac lin 1 "))
            .ok_or("no analysis")?;
        let hertz = number(analysis.split_whitespace().last().ok_or("no frequency")?)?;
        let mut topology = Topology::new();
        let mut nodes = HashMap::from([("0".to_string(), NodeIx::DATUM)]);
        let n_nodes = text.lines().filter(|it| it.starts_with("print v(")).count();
        for k in 1..=n_nodes {
            nodes.insert(format!("n{k}"), topology.node());
        }
        let find = |it: &str| nodes.get(it).copied().ok_or(format!("no node {it}"));
        let mut sources = HashMap::new();
        let (mut y, mut emf, mut pair) = (Vec::new(), Vec::new(), None);
        for element in &elements {
            match element[..] {
                ["Ipair", minus, plus, ..] => pair = Some((find(plus)?, find(minus)?)),
                [_, plus, minus, "dc", "0", "ac", size, degrees] => {
                    let e = Complex64::from_polar(number(size)?, number(degrees)?.to_radians());
                    sources.insert(plus, (find(minus)?, e));
                }
                [id, from, to, value] => {
                    let (value, w) = (number(value)?, TAU * hertz);
                    let (to, e) = match sources.get(to) {
                        Some(&it) => it,
                        None => (find(to)?, Complex64::ZERO),
                    };
                    topology.branch(find(from)?, to);
                    emf.push(e);
                    y.push(match &id[..1] {
                        "R" => Complex64::new(1.0 / value, 0.0),
                        "C" => Complex64::new(0.0, w * value),
                        "L" => Complex64::new(0.0, -1.0 / (w * value)),
                        _ => return Err(format!("element {id}")),
                    });
                }
                _ => return Err(format!("line {element:?}")),
            }
        }
        Ok(Self {
            hertz,
            topology,
            y,
            emf,
            pair: pair.ok_or("no pair")?,
        })
    }
}

/// What the simulator printed.
pub struct Printed {
    /// Potential of every node, the datum first.
    pub volts: Vec<Complex64>,
    /// Impedance of the pair.
    pub ohms: Complex64,
}

impl Printed {
    /// Reads `v(n3) = 1.2e+02,-3.4e-05` and `z_n3 = ..` lines, and nothing else.
    pub fn read(text: &str, netlist: &Netlist) -> Result<Self, String> {
        let mut values = HashMap::new();
        for line in text.lines() {
            let Some((what, value)) = line.split_once(" = ") else {
                continue;
            };
            if what.starts_with("v(n") || what.starts_with("z_n") {
                let (re, im) = value
                    .split_once(',')
                    .ok_or(format!("not complex: {line}"))?;
                let number =
                    |it: &str| it.trim().parse::<f64>().map_err(|e| format!("{line}: {e}"));
                values.insert(
                    what.trim().to_string(),
                    Complex64::new(number(re)?, number(im)?),
                );
            }
        }
        let find = |what: String| {
            values
                .get(&what)
                .copied()
                .ok_or(format!("{what} was not printed:\n{text}"))
        };
        let mut out = Self {
            volts: vec![Complex64::ZERO],
            ohms: Complex64::ZERO,
        };
        for node in netlist.topology.nodes() {
            out.volts.push(find(format!("v({})", name(node)))?);
        }
        for (node, sign) in [(netlist.pair.0, 1.0), (netlist.pair.1, -1.0)] {
            if node != NodeIx::DATUM {
                out.ohms += sign * find(format!("z_{}", name(node)))?;
            }
        }
        Ok(out)
    }
}
