//! A site, or the part of it that matters, as a network whose every part can be put at fault.
//!
//! Nodes: the source's star point and legs; of each panel the legs, neutral and earth bars; of each circuit the three
//! conductors behind breaker and screws; of each outlet three terminals (the wires) and three contacts (what a plug
//! or a probe touches). The datum is true earth. A cable's capacitances stand half at each end of it.
//! What a branch is made of is kept as a [`Part`], so that one network serves every sample and every condition.

use std::collections::HashMap;

use network::{BranchIx, NodeIx, Topology};
use site::model::{
    Cable, CircuitIx, EarthRun, Earthing, Feed, LoadIx, LoadKind, OutletIx, PanelIx, Site,
};
use site::visit::{Bar, Contact, Pin};

use crate::element::{Conductor, Element};
use crate::guess::{self, Guess};

/// One unknown of the site: an index into the sampled worlds.
pub type Dim = usize;

/// A length: told or guessed, with the unknown that stands for its doubt.
#[derive(Clone, Copy, Debug)]
pub struct Length {
    pub(crate) guess: Guess,
    pub(crate) dim: Dim,
}

impl Length {
    /// What was told or is guessed, metres.
    #[must_use]
    pub fn median(&self) -> f64 {
        self.guess.median
    }

    /// What is left of it behind another length; never nothing.
    fn beyond(self, other: Length) -> Length {
        let median = (self.guess.median - other.guess.median).max(0.1);
        Length {
            guess: Guess {
                median,
                ..self.guess
            },
            ..self
        }
    }
}

/// What a branch is made of.
#[expect(
    missing_docs,
    reason = "the line of each variant says what its fields are"
)]
#[derive(Clone, Copy, Debug)]
pub enum Part {
    /// EMF and impedance of the source on one leg.
    Source { leg: usize, dim: Dim },
    /// A conductor of a cable or cord with two joints in series.
    Conductor {
        cable: Cable,
        length: Length,
        joint: Dim,
        joints: f64,
    },
    /// A resistance with a guess.
    Resistor { guess: Guess, dim: Dim },
    /// Breaker and screws at the start of a circuit; open where a condition says so.
    Breaker { circuit: CircuitIx, dim: Dim },
    /// Line contact of an outlet; open where a condition tells its wall switch open.
    Switched { outlet: OutletIx, dim: Dim },
    /// A resistance that is known.
    Fixed { ohms: f64 },
    /// A capacitance of cables, by the summed half lengths at this end.
    CableCapacitance {
        guess: Guess,
        dim: Dim,
        halves: [Option<Length>; 4],
    },
    /// Load across the first two contacts of an outlet, by slot.
    Load { slot: usize },
    /// Filter capacitor from a contact to earth, by slot.
    Filter { slot: usize, side: usize },
    /// The rest of the premises on a leg or between two.
    Rest { guess: Guess, dim: Dim, volts: f64 },
}

/// What may hang at one outlet: what was told and what may be there unsaid.
#[derive(Clone, Debug)]
pub struct Slot {
    /// The outlet.
    pub outlet: OutletIx,
    /// Nominal volts between its first two contacts.
    pub volts: f64,
    /// Loads that were told.
    pub told: Vec<LoadIx>,
    pub(crate) plugged: Dim,
    pub(crate) on: Dim,
    pub(crate) power: Dim,
    pub(crate) electronic: Dim,
    pub(crate) filter_x: Dim,
    pub(crate) filter_y: Dim,
    pub(crate) uneven: Dim,
    pub(crate) insulation: Dim,
}

/// Two ends and the branch between them.
#[derive(Clone, Copy, Debug)]
pub struct Joint {
    /// Towards the source.
    pub near: NodeIx,
    /// Away from the source.
    pub far: NodeIx,
    /// The branch, where the topology has one.
    pub branch: Option<BranchIx>,
}

/// A fault-ready network.
#[derive(Clone, Debug)]
pub struct Wiring<'a> {
    /// The site it was made from.
    pub site: &'a Site,
    /// The network.
    pub topology: Topology,
    /// Circuits that are in it outlet by outlet; the others are part of the rest of the premises.
    pub circuits: Vec<CircuitIx>,
    /// Outlets that are in it.
    pub outlets: Vec<OutletIx>,
    /// Load slots, one for each outlet in it.
    pub slots: Vec<Slot>,
    /// What each branch is made of.
    pub parts: Vec<Part>,
    /// Number of unknowns.
    pub dims: usize,
    /// Angular frequency, radians per second.
    pub omega: f64,
    joints: HashMap<(Element, Conductor), Joint>,
    contacts: HashMap<Contact, NodeIx>,
    terminals: HashMap<(OutletIx, usize), NodeIx>,
    /// Branch across the first two contacts of each outlet's slot.
    pub load_branches: Vec<BranchIx>,
}

struct Builder<'a> {
    site: &'a Site,
    w: Wiring<'a>,
    bars: Vec<Bars>,
    starts: HashMap<CircuitIx, [NodeIx; 3]>,
    /// By circuit that owns a shared neutral: the first outlet where the cable ends in which it is shared, and its length.
    homes: HashMap<CircuitIx, (OutletIx, Length)>,
    halves: HashMap<(OutletIx, bool), Vec<Length>>,
}

#[derive(Clone)]
struct Bars {
    legs: Vec<NodeIx>,
    neutral: NodeIx,
    earth: NodeIx,
}

impl<'a> Wiring<'a> {
    /// The network of the given circuits of a site; circuits that share a neutral with one of them join in.
    #[must_use]
    pub fn of(site: &'a Site, circuits: &[CircuitIx]) -> Self {
        let mut wanted = vec![false; site.circuits.len()];
        for c in circuits {
            wanted[c.0] = true;
        }
        for (i, c) in site.circuits.iter().enumerate() {
            if let Some(with) = c.shares_neutral_with
                && (wanted[i] || wanted[with.0])
            {
                wanted[i] = true;
                wanted[with.0] = true;
            }
        }
        let circuits: Vec<CircuitIx> = (0..site.circuits.len())
            .filter(|i| wanted[*i])
            .map(CircuitIx)
            .collect();
        let outlets: Vec<OutletIx> = in_order(site)
            .into_iter()
            .filter(|o| wanted[site.outlets[o.0].circuit.0])
            .collect();
        let frequency = site.service.frequency.si();
        let mut b = Builder {
            site,
            w: Wiring {
                site,
                topology: Topology::new(),
                circuits,
                outlets,
                slots: Vec::new(),
                parts: Vec::new(),
                dims: 0,
                omega: core::f64::consts::TAU * frequency,
                joints: HashMap::new(),
                contacts: HashMap::new(),
                terminals: HashMap::new(),
                load_branches: Vec::new(),
            },
            bars: Vec::new(),
            starts: HashMap::new(),
            homes: HashMap::new(),
            halves: HashMap::new(),
        };
        b.service();
        for p in 1..site.panels.len() {
            b.feeder(PanelIx(p));
        }
        for c in b.w.circuits.clone() {
            b.circuit(c);
        }
        for o in b.w.outlets.clone() {
            b.outlet(o);
        }
        b.capacitances();
        b.w
    }

    /// The conductor's joint at an element, where it has one.
    #[must_use]
    pub fn joint(&self, element: Element, conductor: Conductor) -> Option<Joint> {
        self.joints.get(&(element, conductor)).copied()
    }

    /// The node of a contact, where it is in this network.
    #[must_use]
    pub fn contact(&self, contact: Contact) -> Option<NodeIx> {
        match contact {
            Contact::TrueEarth => Some(NodeIx::DATUM),
            other => self.contacts.get(&other).copied(),
        }
    }

    /// The node of a terminal (the wire, not the contact) of an outlet.
    #[must_use]
    pub fn terminal(&self, outlet: OutletIx, conductor: Conductor) -> Option<NodeIx> {
        self.terminals.get(&(outlet, conductor.slot())).copied()
    }

    /// The slot of an outlet.
    #[must_use]
    pub fn slot_of(&self, outlet: OutletIx) -> Option<usize> {
        self.slots.iter().position(|s| s.outlet == outlet)
    }
}

/// Outlets in an order in which each comes after the one that feeds it.
fn in_order(site: &Site) -> Vec<OutletIx> {
    let n = site.outlets.len();
    let mut followers: Vec<Vec<usize>> = vec![Vec::new(); n];
    let mut stack: Vec<usize> = Vec::new();
    for (i, o) in site.outlets.iter().enumerate() {
        match o.after {
            Some(p) if p.0 < n && p.0 != i => followers[p.0].push(i),
            _ => stack.push(i),
        }
    }
    stack.reverse();
    let mut out = Vec::with_capacity(n);
    while let Some(i) = stack.pop() {
        out.push(OutletIx(i));
        stack.extend(followers[i].iter().rev());
    }
    out
}

impl Builder<'_> {
    fn dim(&mut self) -> Dim {
        self.w.dims += 1;
        self.w.dims - 1
    }

    fn branch(&mut self, from: NodeIx, to: NodeIx, part: Part) -> BranchIx {
        self.w.parts.push(part);
        self.w.topology.branch(from, to)
    }

    fn resistor(&mut self, from: NodeIx, to: NodeIx, guess: Guess) -> BranchIx {
        let dim = self.dim();
        self.branch(from, to, Part::Resistor { guess, dim })
    }

    fn breaker(&mut self, from: NodeIx, to: NodeIx, circuit: CircuitIx) -> BranchIx {
        let dim = self.dim();
        self.branch(from, to, Part::Breaker { circuit, dim })
    }

    fn note(
        &mut self,
        at: Element,
        of: Conductor,
        near: NodeIx,
        far: NodeIx,
        branch: Option<BranchIx>,
    ) {
        self.w.joints.insert((at, of), Joint { near, far, branch });
    }

    fn bars(&mut self, panel: PanelIx) -> Bars {
        let n_legs = self.site.service.system.legs.len();
        let bars = Bars {
            legs: (0..n_legs).map(|_| self.w.topology.node()).collect(),
            neutral: self.w.topology.node(),
            earth: self.w.topology.node(),
        };
        for (k, node) in bars.legs.iter().enumerate() {
            self.w
                .contacts
                .insert(Contact::Panel(panel, Bar::Leg(k)), *node);
        }
        self.w
            .contacts
            .insert(Contact::Panel(panel, Bar::Neutral), bars.neutral);
        self.w
            .contacts
            .insert(Contact::Panel(panel, Bar::Earth), bars.earth);
        self.bars.push(bars.clone());
        bars
    }

    fn service(&mut self) {
        let service = &self.site.service;
        let system = service.system;
        let star = self.w.topology.node();
        let bars = self.bars(PanelIx(0));
        self.resistor(star, NodeIx::DATUM, guess::ELECTRODE_SOURCE);
        for (k, bar) in bars.legs.iter().enumerate() {
            let source = self.w.topology.node();
            let dim = self.dim();
            self.branch(source, star, Part::Source { leg: k, dim });
            let b = self.resistor(source, *bar, guess::DROP);
            self.note(Element::Service, Conductor::Leg(k), source, *bar, Some(b));
            let volts = system.legs[k].volts.si();
            let dim = self.dim();
            self.branch(
                *bar,
                bars.neutral,
                Part::Rest {
                    guess: guess::REST,
                    dim,
                    volts,
                },
            );
        }
        for k in 1..bars.legs.len() {
            let (a, b) = (&system.legs[k - 1], &system.legs[k]);
            let turn = b.angle - a.angle;
            let volts = (a.volts.si().powi(2) + b.volts.si().powi(2)
                - 2.0 * a.volts.si() * b.volts.si() * turn.cos())
            .sqrt();
            let dim = self.dim();
            self.branch(
                bars.legs[k - 1],
                bars.legs[k],
                Part::Rest {
                    guess: guess::REST_ACROSS,
                    dim,
                    volts,
                },
            );
        }
        let b = self.resistor(star, bars.neutral, guess::DROP);
        self.note(
            Element::Service,
            Conductor::Neutral,
            star,
            bars.neutral,
            Some(b),
        );
        let mut electrode = match service.earthing {
            Earthing::TnS | Earthing::TnCS => guess::ELECTRODE,
            Earthing::TT => guess::ELECTRODE_TT,
        };
        if let Some(told) = service.electrode {
            electrode = Guess {
                median: told.si().max(1e-3),
                log_sigma: 0.15,
                ..electrode
            };
        }
        self.resistor(bars.earth, NodeIx::DATUM, electrode);
        let bond = match service.earthing {
            Earthing::TnCS => Some(self.resistor(bars.neutral, bars.earth, guess::BOND)),
            Earthing::TnS => {
                let b = self.resistor(star, bars.earth, guess::DROP);
                self.note(
                    Element::Service,
                    Conductor::Earth,
                    star,
                    bars.earth,
                    Some(b),
                );
                None
            }
            Earthing::TT => None,
        };
        self.note(
            Element::Panel(PanelIx(0)),
            Conductor::Earth,
            bars.neutral,
            bars.earth,
            bond,
        );
    }

    fn feeder(&mut self, panel: PanelIx) {
        let Some(feeder) = self.site.panels[panel.0].feeder.clone() else {
            return;
        };
        let from = self.bars[feeder.from.0].clone();
        let bars = self.bars(panel);
        let length = self.length(feeder.run, guess::HOME_RUN);
        let run = |b: &mut Self, near: NodeIx, far: NodeIx, of: Conductor| {
            let joint = b.dim();
            let br = b.branch(
                near,
                far,
                Part::Conductor {
                    cable: feeder.cable,
                    length,
                    joint,
                    joints: 2.0,
                },
            );
            b.note(Element::Panel(panel), of, near, far, Some(br));
        };
        for k in 0..bars.legs.len() {
            run(self, from.legs[k], bars.legs[k], Conductor::Leg(k));
        }
        run(self, from.neutral, bars.neutral, Conductor::Neutral);
        run(self, from.earth, bars.earth, Conductor::Earth);
    }

    fn length(&mut self, told: Option<metrology::Metres>, guessed: Guess) -> Length {
        let dim = self.dim();
        let guess = match told {
            Some(m) => Guess {
                median: m.si().max(0.1),
                log_sigma: guess::TOLD_LENGTH_LOG_SIGMA,
                ..guessed
            },
            None => guessed,
        };
        Length { guess, dim }
    }

    fn circuit(&mut self, ix: CircuitIx) {
        let circuit = &self.site.circuits[ix.0];
        let Some(bars) = self.bars.get(circuit.panel.0).cloned() else {
            return;
        };
        let at = Element::Circuit(ix);
        let leg = circuit.leg.min(bars.legs.len() - 1);
        let line = self.w.topology.node();
        let b = self.breaker(bars.legs[leg], line, ix);
        self.note(at, Conductor::Line, bars.legs[leg], line, Some(b));
        let shared = circuit
            .shares_neutral_with
            .and_then(|with| self.starts.get(&with))
            .map(|start| start[1]);
        let neutral = if let Some(second) = circuit.second_leg {
            let node = self.w.topology.node();
            let near = bars.legs[second.min(bars.legs.len() - 1)];
            let b = self.breaker(near, node, ix);
            self.note(at, Conductor::Neutral, near, node, Some(b));
            node
        } else if let Some(node) = shared {
            node
        } else {
            let node = self.w.topology.node();
            let is_shared = self
                .site
                .circuits
                .iter()
                .any(|c| c.shares_neutral_with == Some(ix));
            let b = if is_shared {
                let end = self.end_of_shared(ix);
                let told = end.and_then(|o| self.site.outlets[o.0].run);
                let length = self.length(told, guess::HOME_RUN);
                self.homes.extend(end.map(|o| (ix, (o, length))));
                let joint = self.dim();
                self.branch(
                    bars.neutral,
                    node,
                    Part::Conductor {
                        cable: circuit.cable,
                        length,
                        joint,
                        joints: 2.0,
                    },
                )
            } else {
                self.resistor(bars.neutral, node, guess::JOINT)
            };
            self.note(at, Conductor::Neutral, bars.neutral, node, Some(b));
            node
        };
        let earth = self.w.topology.node();
        let b = match circuit.earth_run {
            EarthRun::Yes | EarthRun::NotKnown => self.resistor(bars.earth, earth, guess::JOINT),
            EarthRun::No => self.branch(bars.earth, earth, Part::Fixed { ohms: 1e10 }),
        };
        self.note(at, Conductor::Earth, bars.earth, earth, Some(b));
        self.starts.insert(ix, [line, neutral, earth]);
    }

    fn outlet(&mut self, ix: OutletIx) {
        let outlet = &self.site.outlets[ix.0];
        let Some(start) = self.starts.get(&outlet.circuit).copied() else {
            return;
        };
        let (cable, cord) = match outlet.feed {
            Feed::Fixed(cable) => (cable, false),
            Feed::Cord(cable) => (cable, true),
        };
        let near: [NodeIx; 3] = match outlet.after {
            None => start,
            Some(before) => core::array::from_fn(|k| {
                let pin = [Pin::Line, Pin::Neutral, Pin::Earth][k];
                let node = if cord {
                    self.w.contacts.get(&Contact::Outlet(before, pin)).copied()
                } else {
                    self.w.terminals.get(&(before, k)).copied()
                };
                node.unwrap_or(start[k])
            }),
        };
        let guessed = if outlet.after.is_none() {
            guess::HOME_RUN
        } else {
            guess::RUN
        };
        // In the cable that several circuits share there is one neutral, laid with the circuit that owns it.
        let owner = self.site.neutral_group(outlet.circuit);
        let shares = self.first_outlet(outlet.circuit) == Some(ix);
        let home = self.homes.get(&owner).copied().filter(|_| shares);
        let length = match home {
            Some((end, length)) if end == ix => length,
            _ => self.length(outlet.run, guessed),
        };
        let of_neutral = home.map_or(length, |(_, home)| length.beyond(home));
        self.halves.entry((ix, true)).or_default().push(length);
        if let Some(before) = outlet.after {
            self.halves.entry((before, true)).or_default().push(length);
        }
        let receptacle = self.site.region.receptacles.get(outlet.receptacle);
        let has_earth = receptacle.is_none_or(|r| r.earth_contact);
        let mut pins = [NodeIx::DATUM; 3];
        for (k, of) in Conductor::THREE.into_iter().enumerate() {
            let terminal = self.w.topology.node();
            let joint = self.dim();
            let b = self.branch(
                near[k],
                terminal,
                Part::Conductor {
                    cable,
                    length: if k == 1 { of_neutral } else { length },
                    joint,
                    joints: 2.0,
                },
            );
            self.note(Element::Run(ix), of, near[k], terminal, Some(b));
            self.w.terminals.insert((ix, k), terminal);
            let pin = self.w.topology.node();
            let b = if k == 2 && !has_earth {
                self.branch(terminal, pin, Part::Fixed { ohms: 1e11 })
            } else if k == 0 {
                let dim = self.dim();
                self.branch(terminal, pin, Part::Switched { outlet: ix, dim })
            } else {
                self.resistor(terminal, pin, guess::CONTACT)
            };
            self.note(Element::Outlet(ix), of, terminal, pin, Some(b));
            self.w.contacts.insert(
                Contact::Outlet(ix, [Pin::Line, Pin::Neutral, Pin::Earth][k]),
                pin,
            );
            pins[k] = pin;
        }
        let slot = self.w.slots.len();
        let leg = &self.site.service.system.legs[self.leg_of(outlet.circuit)];
        let volts = receptacle.map_or(leg.volts.si(), |r| {
            let crosses = self.site.circuits[outlet.circuit.0].second_leg.is_some();
            if crosses {
                r.volts.si().max(leg.volts.si())
            } else {
                leg.volts.si()
            }
        });
        let told = (0..self.site.loads.len())
            .map(LoadIx)
            .filter(|l| self.site.loads[l.0].at == ix)
            .collect();
        let made = Slot {
            outlet: ix,
            volts,
            told,
            plugged: self.dim(),
            on: self.dim(),
            power: self.dim(),
            electronic: self.dim(),
            filter_x: self.dim(),
            filter_y: self.dim(),
            uneven: self.dim(),
            insulation: self.dim(),
        };
        self.w.slots.push(made);
        let load = self.branch(pins[0], pins[1], Part::Load { slot });
        self.w.load_branches.push(load);
        self.branch(pins[0], pins[2], Part::Filter { slot, side: 0 });
        self.branch(pins[1], pins[2], Part::Filter { slot, side: 1 });
    }

    /// Of the circuits that share the neutral of one, the first outlet that is nearest to the panel.
    fn end_of_shared(&self, owner: CircuitIx) -> Option<OutletIx> {
        let metres = |o: &OutletIx| {
            let told = self.site.outlets[o.0].run;
            told.map_or(guess::HOME_RUN.median, |m| m.si())
        };
        let all = (0..self.site.circuits.len()).map(CircuitIx);
        all.filter(|c| self.site.neutral_group(*c) == owner)
            .filter_map(|c| self.first_outlet(c))
            .min_by(|a, b| metres(a).total_cmp(&metres(b)))
    }

    /// The first outlet of a circuit that hangs on the panel itself.
    fn first_outlet(&self, circuit: CircuitIx) -> Option<OutletIx> {
        let mut all = self.site.outlets.iter();
        all.position(|o| o.circuit == circuit && o.after.is_none())
            .map(OutletIx)
    }

    fn leg_of(&self, circuit: CircuitIx) -> usize {
        self.site.circuits[circuit.0]
            .leg
            .min(self.site.service.system.legs.len() - 1)
    }

    /// Capacitances and insulation at the terminals of each outlet: half of each cable that ends there.
    fn capacitances(&mut self) {
        for o in self.w.outlets.clone() {
            let lengths = self.halves.remove(&(o, true)).unwrap_or_default();
            let halves: [Option<Length>; 4] = core::array::from_fn(|k| lengths.get(k).copied());
            let node: [Option<NodeIx>; 3] =
                core::array::from_fn(|k| self.w.terminals.get(&(o, k)).copied());
            let [Some(l), Some(n), Some(e)] = node else {
                continue;
            };
            for (a, b) in [(l, n), (l, e), (n, e)] {
                let dim = self.dim();
                self.branch(
                    a,
                    b,
                    Part::CableCapacitance {
                        guess: guess::CABLE_CAPACITANCE,
                        dim,
                        halves,
                    },
                );
            }
            let dim = self.dim();
            self.branch(
                e,
                NodeIx::DATUM,
                Part::CableCapacitance {
                    guess: guess::STRAY_CAPACITANCE,
                    dim,
                    halves,
                },
            );
            self.resistor(l, e, guess::INSULATION);
            self.resistor(n, e, guess::INSULATION);
        }
    }
}

/// Whether a load's current ends below a cut-out voltage.
#[must_use]
pub fn is_electronic(kind: LoadKind) -> bool {
    matches!(kind, LoadKind::Power { .. } | LoadKind::Current)
}
