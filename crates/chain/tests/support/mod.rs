//! A bench: the wiring of a small site with every value set by hand, so that a worked example can be laid out on it.
#![allow(dead_code, reason = "not every test file uses all of it")]

use chain::alter::{Alteration, Ohmic, Point, Spots};
use chain::element::{Conductor, Element};
use chain::wiring::{Part, Wiring};
use chain::worlds::Worlds;
use metrology::Celsius;
use network::{Batch, Cx8, NodeIx, Order, Probe, Scratch, Seen};
use num_complex::Complex64;
use site::file::{Form, read_site};
use site::model::{CircuitIx, Feed, OutletIx, PanelIx, Site};
use site::visit::{Bar, Condition, Contact, Pin};

/// What a joint, a contact, a breaker or a bar has on the bench, ohms: a millionth of the smallest resistance that counts.
const WIRE: f64 = 1e-7;
/// What insulates on the bench, ohms.
const AIR: f64 = 1e15;

/// A voltage and the impedance behind it.
#[derive(Clone, Copy, Debug)]
pub struct At {
    pub volts: Complex64,
    pub ohms: Complex64,
}

/// The site that a text describes.
pub fn site(text: &str) -> Site {
    match read_site(text, "bench.toml", Form::Toml) {
        Ok(document) => document.site,
        Err(problems) => panic!("{problems}"),
    }
}

/// The site with all its cables at a temperature.
pub fn at_celsius(text: &str, celsius: f64) -> Site {
    let mut site = site(text);
    let warm = |cable: site::model::Cable| cable.at(Celsius::from_si(celsius));
    for circuit in &mut site.circuits {
        circuit.cable = warm(circuit.cable);
    }
    for outlet in &mut site.outlets {
        outlet.feed = match outlet.feed {
            Feed::Fixed(cable) => Feed::Fixed(warm(cable)),
            Feed::Cord(cable) => Feed::Cord(warm(cable)),
        };
    }
    site
}

/// All circuits of a site.
pub fn wiring(site: &Site) -> Wiring<'_> {
    let all: Vec<CircuitIx> = (0..site.circuits.len()).map(CircuitIx).collect();
    Wiring::of(site, &all)
}

/// A network with one value for each branch.
pub struct Bench<'a> {
    pub wiring: Wiring<'a>,
    pub batch: Batch,
    /// Which of the eight worlds is looked at; on a bench set by hand all are the same.
    pub lane: usize,
}

impl<'a> Bench<'a> {
    /// Sources at their nominal voltage behind `source` ohms, cables with the resistance of their told length and nothing
    /// else; no load, no capacitance, no insulation that leaks, electrodes of their usual resistance.
    pub fn of(site: &'a Site, source: impl Into<Complex64>) -> Self {
        let wiring = wiring(site);
        let mut batch = Batch::zero(wiring.parts.len());
        let source = source.into();
        for (b, part) in wiring.parts.iter().enumerate() {
            let ohms = match part {
                Part::Source { leg, .. } => {
                    let leg = &site.service.system.legs[*leg];
                    let emf = Complex64::from_polar(leg.volts.si(), leg.angle);
                    batch.emf[b] = Cx8::splat(emf);
                    source
                }
                Part::Conductor { cable, length, .. } => {
                    (cable.resistance_per_metre() * length.median()).into()
                }
                Part::Resistor { guess, .. } if guess.median < 0.5 => WIRE.into(),
                Part::Resistor { guess, .. } if guess.median < 1e4 => guess.median.into(),
                Part::Breaker { .. } | Part::Switched { .. } => WIRE.into(),
                _ => AIR.into(),
            };
            batch.y[b] = Cx8::splat(ohms.inv());
        }
        Bench {
            wiring,
            batch,
            lane: 0,
        }
    }

    /// Worlds sampled under a condition, as the chain draws them.
    pub fn sampled(site: &'a Site, condition: &Condition, n_worlds: usize) -> Vec<Self> {
        let wiring = wiring(site);
        let worlds = Worlds::draw(wiring.dims, n_worlds, 11);
        let of = |k: usize| Bench {
            wiring: wiring.clone(),
            batch: wiring.batch(&worlds, k / 8, condition),
            lane: k % 8,
        };
        (0..worlds.len()).map(of).collect()
    }

    /// The impedance of a conductor of an element.
    pub fn impedance(&self, at: Element, of: Conductor) -> Complex64 {
        let joint = self
            .wiring
            .joint(at, of)
            .expect("a conductor of the network");
        let branch = joint.branch.expect("a conductor that is there");
        self.batch.y[branch.index()].lane(self.lane).inv()
    }

    /// The admittance of what is plugged in at an outlet.
    pub fn plugged(&self, outlet: &str) -> Complex64 {
        let slot = self.wiring.slot_of(self.outlet(outlet)).expect("a slot");
        self.batch.y[self.wiring.load_branches[slot].index()].lane(self.lane)
    }

    pub fn outlet(&self, id: &str) -> OutletIx {
        let found = self.wiring.site.outlet(id);
        found.unwrap_or_else(|| panic!("no outlet {id}"))
    }

    /// A node by words: `desk line`, `panel neutral`, `true earth`.
    pub fn node(&self, words: &str) -> NodeIx {
        let contact = match words.split_once(' ') {
            Some(("true", "earth")) => Contact::TrueEarth,
            Some(("panel", "neutral")) => Contact::Panel(PanelIx(0), Bar::Neutral),
            Some(("panel", "earth")) => Contact::Panel(PanelIx(0), Bar::Earth),
            Some((outlet, "line")) => Contact::Outlet(self.outlet(outlet), Pin::Line),
            Some((outlet, "neutral")) => Contact::Outlet(self.outlet(outlet), Pin::Neutral),
            Some((outlet, "earth")) => Contact::Outlet(self.outlet(outlet), Pin::Earth),
            _ => panic!("no node {words}"),
        };
        self.wiring
            .contact(contact)
            .expect("a contact of the network")
    }

    fn set(&mut self, branch: usize, y: Complex64) {
        self.batch.y[branch] = Cx8::splat(y);
    }

    /// The resistance of a conductor of an element.
    pub fn resist(&mut self, at: Element, of: Conductor, ohms: f64) {
        let joint = self
            .wiring
            .joint(at, of)
            .expect("a conductor of the network");
        let branch = joint.branch.expect("a conductor that is there");
        self.set(branch.index(), Complex64::from(1.0 / ohms));
    }

    /// The admittance across line and neutral of an outlet.
    pub fn load(&mut self, outlet: &str, y: impl Into<Complex64>) {
        let slot = self.wiring.slot_of(self.outlet(outlet)).expect("a slot");
        self.set(self.wiring.load_branches[slot].index(), y.into());
    }

    /// A capacitance between two contacts of an outlet, farads: put where the chain has that of the cable.
    pub fn capacitance(&mut self, from: (&str, Conductor), to: Conductor, farads: f64) {
        let outlet = self.outlet(from.0);
        let terminal = |of| self.wiring.terminal(outlet, of).expect("a terminal");
        let ends = (terminal(from.1), terminal(to));
        let is_it = |b: &usize| {
            let is_of_cable = matches!(self.wiring.parts[*b], Part::CableCapacitance { .. });
            is_of_cable && self.wiring.topology.branches()[*b] == ends
        };
        let found = (0..self.wiring.parts.len()).find(is_it);
        let y = Complex64::new(0.0, self.wiring.omega * farads);
        self.set(found.expect("a capacitance between them"), y);
    }

    /// The filter capacitors of what is plugged in at an outlet, farads on each side.
    pub fn filter(&mut self, outlet: &str, farads: f64) {
        let slot = self.wiring.slot_of(self.outlet(outlet)).expect("a slot");
        let y = Complex64::new(1.0 / AIR, self.wiring.omega * farads);
        for b in 0..self.wiring.parts.len() {
            if matches!(self.wiring.parts[b], Part::Filter { slot: s, .. } if s == slot) {
                self.set(b, y);
            }
        }
    }

    /// The electrodes of the source and of the premises, ohms.
    pub fn electrodes(&mut self, source: f64, premises: f64) {
        let earth = self.node("panel earth");
        for b in 0..self.wiring.parts.len() {
            let (from, to) = self.wiring.topology.branches()[b];
            let is_electrode = matches!(self.wiring.parts[b], Part::Resistor { .. });
            if is_electrode && to == NodeIx::DATUM {
                let ohms = if from == earth { premises } else { source };
                self.set(b, Complex64::from(1.0 / ohms));
            }
        }
    }

    /// What is between pairs of nodes with some things altered.
    pub fn see(&self, altered: &[Alteration], pairs: &[(NodeIx, NodeIx)]) -> Vec<At> {
        let mut spots = Spots::default();
        let altered: Vec<(usize, Alteration)> = altered.iter().map(|a| (0, *a)).collect();
        let recipe = self.wiring.recipe(&altered, &mut spots);
        let recipe = recipe.expect("alterations that can be made here");
        let probe = |&(plus, minus): &(NodeIx, NodeIx)| Probe { plus, minus };
        let pairs: Vec<Probe> = pairs.iter().map(probe).collect();
        let order = Order::of(&self.wiring.topology).expect("one piece");
        let batches = [self.batch.clone()];
        let factors = order.factor(&batches).expect("regular");
        let probes = factors.probes(&pairs, &[], &[], spots.list());
        let mut changes = Vec::new();
        recipe.write(&batches[0], &[[0.0; 8]], &mut changes);
        let mut seen = Seen::default();
        let probes = probes.expect("nodes of the network");
        let done = probes.under(0, &changes, &mut Scratch::default(), &mut seen);
        done.expect("regular");
        let lane = |(v, z): (&Cx8, &Cx8)| At {
            volts: v.lane(self.lane),
            ohms: z.lane(self.lane),
        };
        seen.v.iter().zip(&seen.z).map(lane).collect()
    }

    /// What is between two contacts, by words.
    pub fn at(&self, altered: &[Alteration], from: &str, to: &str) -> At {
        self.see(altered, &[(self.node(from), self.node(to))])[0]
    }

    /// Volts between two contacts, by words.
    pub fn volts(&self, altered: &[Alteration], from: &str, to: &str) -> f64 {
        self.at(altered, from, to).volts.norm()
    }

    /// Volts along a conductor of an element.
    pub fn along(&self, altered: &[Alteration], at: Element, of: Conductor) -> f64 {
        let joint = self
            .wiring
            .joint(at, of)
            .expect("a conductor of the network");
        self.see(altered, &[(joint.near, joint.far)])[0]
            .volts
            .norm()
    }

    /// Ohms across two contacts, by words: a meter, a joint, a short circuit.
    pub fn joined(&self, from: &str, to: &str, ohms: f64) -> Alteration {
        let point = |words: &str| match words.split_once(' ') {
            Some(("true", _)) => Point::Contact(Contact::TrueEarth),
            Some(("panel", "earth")) => Point::Contact(Contact::Panel(PanelIx(0), Bar::Earth)),
            Some((outlet, "line")) => {
                Point::Contact(Contact::Outlet(self.outlet(outlet), Pin::Line))
            }
            Some((outlet, "neutral")) => {
                Point::Contact(Contact::Outlet(self.outlet(outlet), Pin::Neutral))
            }
            Some((outlet, "earth")) => {
                Point::Contact(Contact::Outlet(self.outlet(outlet), Pin::Earth))
            }
            _ => panic!("no point {words}"),
        };
        Alteration::Bridge {
            from: point(from),
            to: point(to),
            ohms: Ohmic::Is(ohms),
        }
    }
}

/// Ohms in series with a conductor.
pub fn series(at: Element, of: Conductor, ohms: f64) -> Alteration {
    let ohms = Ohmic::Is(ohms);
    Alteration::Series { at, of, ohms }
}

/// A conductor that is broken, cleanly.
pub fn open(at: Element, of: Conductor) -> Alteration {
    series(at, of, 1e13)
}

/// Published and computed values against what comes out: all misses are told.
#[derive(Default)]
pub struct Table {
    misses: Vec<String>,
    n: usize,
}

impl Table {
    /// One value, with its relative tolerance; around zero it is taken of a volt.
    pub fn row(&mut self, what: &str, got: f64, want: f64, tolerance: f64) {
        self.n += 1;
        let size = if want == 0.0 { 1.0 } else { want.abs() };
        let holds = (got - want).abs() <= tolerance * size;
        if !holds {
            self.misses.push(format!("{what}: {got} for {want}"));
        }
    }

    /// The end of the table.
    pub fn end(self) {
        assert!(self.n > 0);
        assert!(self.misses.is_empty(), "\n{}", self.misses.join("\n"));
    }
}
