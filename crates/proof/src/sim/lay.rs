//! Premises with faults and a test load, laid out as a network.
//!
//! Source, service, panels, circuit starts, runs, contacts, loads, from the street inwards. At each element the faults
//! there first permute what it is fed from, then add resistance; bridges come last. Electronics draw constant power down
//! to their cut-out, then only their filters.

use num_complex::Complex64;
use site::model::{Earthing, Feed};

use crate::sim::fault::{At, Defect, End, Fault, Wire};
use crate::sim::net::{Link, Net, Node, SOIL};
use crate::sim::premises::Premises;

/// An open switch or a missing wire, ohms.
pub const OPEN: f64 = 3e10;

/// A network with the nodes that can be reached.
#[derive(Clone, Debug)]
pub struct Laid {
    /// The network.
    pub net: Net,
    /// Line, neutral, earth contacts of each outlet.
    pub pins: Vec<[Node; 3]>,
    /// Legs, neutral, earth of each panel.
    bars: Vec<(Vec<Node>, [Node; 2])>,
    starts: Vec<[Node; 3]>,
    ends: Vec<[Node; 3]>,
}

/// A test load: outlet and watts at nominal voltage.
pub type TestLoad = Option<(usize, f64)>;

struct Layer<'a> {
    premises: &'a Premises,
    defects: Vec<Defect>,
    net: Net,
}

/// Lays the network.
#[must_use]
pub fn lay(premises: &Premises, faults: &[Fault], test: TestLoad) -> Laid {
    let defects = faults.iter().flat_map(|f| f.defects(premises)).collect();
    let mut layer = Layer {
        premises,
        defects,
        net: Net::default(),
    };
    let bars = layer.bars();
    let starts = layer.starts(&bars);
    let (ends, pins) = layer.outlets(&starts);
    layer.loads(&pins, &bars[0], test);
    let mut laid = Laid {
        net: layer.net,
        pins,
        bars,
        starts,
        ends,
    };
    for defect in &layer.defects {
        match *defect {
            Defect::Join(a, b, ohms) => {
                let (a, b) = (laid.node(a), laid.node(b));
                laid.net.ohms(a, b, ohms);
            }
            Defect::Feeds(a, b, share, angle, ohms) => {
                let own = match a {
                    End::Pin(o, _) => &premises.site.circuits[premises.site.outlets[o].circuit.0],
                    _ => &premises.site.circuits[0],
                };
                let angle = angle + premises.site.service.system.legs[own.leg].angle;
                let volts = Complex64::from_polar(share * premises.truth.volts, angle);
                let (a, b) = (laid.node(a), laid.node(b));
                laid.net
                    .join(a, b, Link::Source(volts, Complex64::from(ohms)));
            }
            _ => {}
        }
    }
    laid
}

impl Laid {
    fn node(&self, end: End) -> Node {
        match end {
            End::Soil => SOIL,
            End::Pin(o, wire) => self.pins[o][wire.slot()],
            End::Terminal(o, wire) => self.ends[o][wire.slot()],
            End::Start(c, wire) => self.starts[c][wire.slot()],
            End::Bar(p, Wire::Leg(leg)) => self.bars[p].0[leg],
            End::Bar(p, wire) => self.bars[p].1[wire.slot().saturating_sub(1)],
        }
    }
}

impl Layer<'_> {
    /// A conductor of an element from one of its near nodes to a new far node, with what is wrong with it.
    fn conductor(&mut self, at: At, wire: Wire, near: &[(Wire, Node)], z: Complex64) -> Node {
        let mut from = wire;
        let mut more = 0.0;
        for defect in &self.defects {
            match *defect {
                Defect::Swap(place, a, b) if place == at => {
                    from = if from == a {
                        b
                    } else if from == b {
                        a
                    } else {
                        from
                    };
                }
                Defect::Series(place, of, ohms) if place == at && of == wire => more += ohms,
                _ => {}
            }
        }
        let near = near
            .iter()
            .find(|(w, _)| *w == from)
            .map_or(SOIL, |(_, n)| *n);
        let far = self.net.node();
        self.net.join(near, far, Link::Ohms(z + more));
        far
    }

    fn bars(&mut self) -> Vec<(Vec<Node>, [Node; 2])> {
        let it = self.premises;
        let (site, truth) = (&it.site, &it.truth);
        let scale = self.defects.iter().find_map(|d| {
            if let Defect::Scale(x) = d {
                Some(*x)
            } else {
                None
            }
        });
        let star = self.net.node();
        self.net.ohms(star, SOIL, truth.electrodes.0);
        let mut near = vec![(Wire::Neutral, star), (Wire::Earth, star)];
        for (leg, of) in site.service.system.legs.iter().enumerate() {
            let node = self.net.node();
            let volts = of.volts.si() * truth.legs[leg];
            // An absolute level where the supply itself is at fault.
            let volts = scale.map_or(volts, |s| of.volts.si() * s);
            let z = Complex64::new(truth.source.0, truth.source.1);
            self.net.join(
                node,
                star,
                Link::Source(Complex64::from_polar(volts, of.angle), z),
            );
            near.push((Wire::Leg(leg), node));
        }
        let n_legs = site.service.system.legs.len();
        let z = Complex64::from(truth.drop);
        let legs: Vec<Node> = (0..n_legs)
            .map(|l| self.conductor(At::Service, Wire::Leg(l), &near, z))
            .collect();
        let neutral = self.conductor(At::Service, Wire::Neutral, &near, z);
        let earth = match site.service.earthing {
            Earthing::TnS => self.conductor(At::Service, Wire::Earth, &near, z),
            Earthing::TnCS => {
                let bond = Complex64::from(truth.bond);
                self.conductor(At::Panel(0), Wire::Earth, &[(Wire::Earth, neutral)], bond)
            }
            Earthing::TT => self.net.node(),
        };
        self.net.ohms(earth, SOIL, truth.electrodes.1);
        let mut bars = vec![(legs, [neutral, earth])];
        for (p, panel) in site.panels.iter().enumerate().skip(1) {
            let from = panel.feeder.as_ref().map_or(0, |f| f.from.0);
            let source = bars[from].clone();
            let mut near = vec![(Wire::Neutral, source.1[0]), (Wire::Earth, source.1[1])];
            near.extend(source.0.iter().enumerate().map(|(l, n)| (Wire::Leg(l), *n)));
            let z = Complex64::from(truth.feeders[p]);
            let legs = (0..n_legs)
                .map(|l| self.conductor(At::Panel(p), Wire::Leg(l), &near, z))
                .collect();
            let neutral = self.conductor(At::Panel(p), Wire::Neutral, &near, z);
            let earth = self.conductor(At::Panel(p), Wire::Earth, &near, z);
            bars.push((legs, [neutral, earth]));
        }
        bars
    }

    fn starts(&mut self, bars: &[(Vec<Node>, [Node; 2])]) -> Vec<[Node; 3]> {
        let it = self.premises;
        let mut starts: Vec<[Node; 3]> = Vec::new();
        for (c, circuit) in it.site.circuits.iter().enumerate() {
            let at = At::Circuit(c);
            let (legs, [neutral, earth]) = &bars[circuit.panel.0];
            let moved = self.defects.iter().find_map(|d| match d {
                Defect::OnLeg(of, leg) if *of == c => Some(*leg),
                _ => None,
            });
            let returns = self.defects.iter().find_map(|d| match d {
                Defect::NeutralOnLeg(of, leg) if *of == c => Some(legs[*leg]),
                _ => None,
            });
            let near = [
                (Wire::Line, legs[moved.unwrap_or(circuit.leg)]),
                (Wire::Neutral, returns.unwrap_or(*neutral)),
                (Wire::Earth, *earth),
            ];
            let ohms = it.truth.starts[c].map(Complex64::from);
            let line = self.conductor(at, Wire::Line, &near, ohms[0]);
            let neutral = match circuit.shares_neutral_with {
                Some(with) => starts[with.0][1],
                None => self.conductor(at, Wire::Neutral, &near, ohms[1]),
            };
            let earth = self.conductor(at, Wire::Earth, &near, ohms[2]);
            starts.push([line, neutral, earth]);
        }
        starts
    }

    /// Far ends of all runs, and all contacts.
    fn outlets(&mut self, starts: &[[Node; 3]]) -> (Vec<[Node; 3]>, Vec<[Node; 3]>) {
        let it = self.premises;
        let n = it.site.outlets.len();
        let (mut ends, mut pins) = (vec![[SOIL; 3]; n], vec![[SOIL; 3]; n]);
        for (o, outlet) in it.site.outlets.iter().enumerate() {
            // Outlets are drawn so that each comes after the one that feeds it.
            let is_cord = matches!(outlet.feed, Feed::Cord(_));
            let from = match outlet.after {
                // A cord hangs on the contacts, a cable on the wires behind them.
                Some(p) if is_cord => pins[p.0],
                Some(p) => ends[p.0],
                None => starts[outlet.circuit.0],
            };
            let run = &it.truth.runs[o];
            let near: Vec<(Wire, Node)> = Wire::THREE.into_iter().zip(from).collect();
            let z = run.ohms.map(|r| Complex64::new(r, run.reactance));
            let end = [0, 1, 2].map(|w| self.conductor(At::Run(o), Wire::THREE[w], &near, z[w]));
            for (k, (a, b)) in [(0, 1), (0, 2), (1, 2)].into_iter().enumerate() {
                let y = Complex64::new(run.leaks[k], it.truth.omega * run.farads[k]);
                self.net.siemens(end[a], end[b], y);
            }
            for (w, node) in end.into_iter().enumerate() {
                self.net.siemens(
                    node,
                    SOIL,
                    Complex64::new(1e-11, it.truth.omega * run.stray[w]),
                );
            }
            let near: Vec<(Wire, Node)> = Wire::THREE.into_iter().zip(end).collect();
            let contacts = it.truth.contacts[o].map(Complex64::from);
            pins[o] = [0, 1, 2]
                .map(|w| self.conductor(At::Outlet(o), Wire::THREE[w], &near, contacts[w]));
            ends[o] = end;
        }
        (ends, pins)
    }

    fn loads(&mut self, pins: &[[Node; 3]], main: &(Vec<Node>, [Node; 2]), test: TestLoad) {
        let truth = &self.premises.truth;
        for it in &truth.appliances {
            let [line, neutral, earth] = pins[it.at];
            let (load, across, to_case) = it.links(truth.volts, truth.omega);
            if let Some(load) = load {
                self.net.join(line, neutral, Link::Load(load));
            }
            if across != Complex64::ZERO {
                self.net.siemens(line, neutral, across);
            }
            if to_case != Complex64::ZERO {
                self.net.siemens(line, earth, to_case);
                self.net.siemens(neutral, earth, to_case);
            }
        }
        let per = truth.volts * truth.volts;
        for (leg, watts) in truth.rest.iter().enumerate() {
            self.net
                .siemens(main.0[leg], main.1[0], Complex64::from(watts / per));
        }
        if main.0.len() > 1 {
            self.net.siemens(
                main.0[0],
                main.0[1],
                Complex64::from(truth.across / (3.5 * per)),
            );
        }
        let more = self.defects.iter().filter_map(|d| match d {
            Defect::Draws(o, watts) => Some((*o, *watts)),
            _ => None,
        });
        for (o, watts) in test.into_iter().chain(more) {
            self.net
                .siemens(pins[o][0], pins[o][1], Complex64::from(watts / per));
        }
    }
}
