//! The model of a site's power, from the service to the face of an outlet.
//!
//! This is what the rest of Wattwright computes with. What is written in a file is its own type
//! (`site::file`), so that the model may change without the written form. Everything here has been validated:
//! every index points at something, every quantity is finite and of the right sign.

use metrology::{Amps, Celsius, Fraction, Gauge, Hertz, Metres, Ohms, Sourced, Volts, Watts};

use crate::machine::Machine;
use crate::region::{Region, System};

/// Index of a panel in [`Site::panels`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct PanelIx(pub usize);
/// Index of a circuit in [`Site::circuits`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct CircuitIx(pub usize);
/// Index of an outlet in [`Site::outlets`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct OutletIx(pub usize);
/// Index of a load in [`Site::loads`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct LoadIx(pub usize);

/// The premises.
#[derive(Clone, Debug)]
pub struct Site {
    /// Name as people call it.
    pub name: String,
    /// Region profile: voltages, limits, words.
    pub region: &'static Region,
    /// Where the power comes in.
    pub service: Service,
    /// Panels; the first is the service panel and always there.
    pub panels: Vec<Panel>,
    /// Branch circuits.
    pub circuits: Vec<Circuit>,
    /// Outlets, also those at the end of a cord or on a strip.
    pub outlets: Vec<Outlet>,
    /// Known loads.
    pub loads: Vec<Load>,
    /// Machines with their parts; each is among the loads too.
    pub machines: Vec<Machine>,
    /// True where the site was assumed around a quick trace and not written down by anybody.
    pub origin: Origin,
}

impl Site {
    /// The outlet with this identifier.
    pub fn outlet(&self, id: &str) -> Option<OutletIx> {
        self.outlets.iter().position(|it| it.id == id).map(OutletIx)
    }

    /// The machine with this identifier.
    pub fn machine(&self, id: &str) -> Option<&Machine> {
        self.machines.iter().find(|it| it.id == id)
    }

    /// The circuit with this identifier.
    pub fn circuit(&self, id: &str) -> Option<CircuitIx> {
        let found = self.circuits.iter().position(|it| it.id == id);
        found.map(CircuitIx)
    }

    /// The circuit whose neutral conductor this circuit uses as far as the panel: itself, unless it shares one.
    /// Circuits of one shared neutral give the same answer.
    pub fn neutral_group(&self, circuit: CircuitIx) -> CircuitIx {
        let shared = self.circuits[circuit.0].shares_neutral_with;
        shared.unwrap_or(circuit)
    }

    /// Outlets so that each comes after the one it is fed from.
    pub fn outlets_from_the_panel(&self) -> Vec<OutletIx> {
        let mut following: Vec<Vec<usize>> = vec![Vec::new(); self.outlets.len()];
        let mut order = Vec::with_capacity(self.outlets.len());
        for (ix, outlet) in self.outlets.iter().enumerate() {
            match outlet.after {
                Some(OutletIx(before)) => following[before].push(ix),
                None => order.push(OutletIx(ix)),
            }
        }
        let mut next = 0;
        while let Some(OutletIx(ix)) = order.get(next).copied() {
            order.extend(following[ix].iter().copied().map(OutletIx));
            next += 1;
        }
        order
    }
}

/// Who says that the site looks like this.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// Written down: outlets, runs and order are known.
    Told,
    /// Assumed around one or a few outlets: lengths, neighbours and loads are guesses with wide doubt.
    Assumed,
}

/// How earth and neutral meet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Earthing {
    /// Separate earth conductor from the source (IEC TN-S).
    TnS,
    /// Combined conductor as far as the service, split there: IEC TN-C-S, and the North American service bond.
    TnCS,
    /// Local electrode only, neutral earthed at the source (IEC TT, and Japan).
    TT,
}

impl Earthing {
    /// Every kind with its name in files.
    pub const NAMES: [(&'static str, Earthing); 3] = [
        ("TN-S", Earthing::TnS),
        ("TN-C-S", Earthing::TnCS),
        ("TT", Earthing::TT),
    ];

    /// The earthing with this name; case and dashes do not count.
    pub fn named(name: &str) -> Option<Earthing> {
        let name = crate::file::fold(name);
        let same = |(it, _): &&(&str, Earthing)| crate::file::fold(it) == name;
        Earthing::NAMES.iter().find(same).map(|(_, it)| *it)
    }

    /// Its name in files, as `TN-C-S`.
    pub fn name(self) -> &'static str {
        match self {
            Earthing::TnS => "TN-S",
            Earthing::TnCS => "TN-C-S",
            Earthing::TT => "TT",
        }
    }
}

/// The service: source, drop, earthing.
#[derive(Clone, Debug)]
pub struct Service {
    /// Voltage system, with its legs.
    pub system: &'static System,
    /// How earth and neutral meet.
    pub earthing: Earthing,
    /// Nominal frequency.
    pub frequency: Hertz,
    /// Prospective fault current at the service panel, where told.
    pub fault_current: Option<Amps>,
    /// Length of the service drop, where told.
    pub drop: Option<Metres>,
    /// Resistance of the local earth electrode, where told.
    pub electrode: Option<Ohms>,
}

/// A panel (distribution board).
#[derive(Clone, Debug)]
pub struct Panel {
    /// Identifier in files.
    pub id: String,
    /// What feeds it: `None` for the service panel.
    pub feeder: Option<Feeder>,
}

/// The feeder of a panel that is not the service panel.
#[derive(Clone, Debug)]
pub struct Feeder {
    /// The panel it comes from; always an earlier one.
    pub from: PanelIx,
    /// Length.
    pub run: Option<Metres>,
    /// Cable.
    pub cable: Cable,
}

/// A cable: what its conductors are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cable {
    /// Conductor size.
    pub gauge: Gauge,
    /// Conductor metal.
    pub metal: Metal,
    /// Conductor temperature.
    pub temperature: Celsius,
}

/// Conductor metal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Metal {
    /// Copper.
    Copper,
    /// Aluminium.
    Aluminium,
}

/// A branch circuit.
#[derive(Clone, Debug)]
pub struct Circuit {
    /// Identifier in files, as on the panel's directory.
    pub id: String,
    /// Panel it starts from.
    pub panel: PanelIx,
    /// Leg (index into the system's legs).
    pub leg: usize,
    /// Second leg of a circuit that feeds outlets across two legs (240 V in split phase); `None` for line to neutral.
    pub second_leg: Option<usize>,
    /// Circuits that share one neutral from the panel (multiwire): every one but the first of the group names the
    /// first, which has `None` here. See [`Site::neutral_group`].
    pub shares_neutral_with: Option<CircuitIx>,
    /// Overcurrent device rating.
    pub breaker: Option<Amps>,
    /// Residual-current (ground-fault) protection at the panel: rated tripping current.
    pub residual_current: Option<Amps>,
    /// Arc-fault protection at the panel.
    pub arc_fault: bool,
    /// Cable of the circuit.
    pub cable: Cable,
    /// Whether the circuit was run with an earth conductor.
    pub earth_run: EarthRun,
}

/// Whether an earth conductor was run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EarthRun {
    /// Yes, it is told so or the code of the time asked for it.
    Yes,
    /// No: old two-wire, or two-slot practice.
    No,
    /// Nobody knows.
    NotKnown,
}

/// An outlet: a receptacle one can put probes into.
#[derive(Clone, Debug)]
pub struct Outlet {
    /// Identifier in files.
    pub id: String,
    /// Words for people; the id where nothing else is told.
    pub label: String,
    /// Circuit.
    pub circuit: CircuitIx,
    /// What comes before it on the circuit; `None` straight from the panel.
    pub after: Option<OutletIx>,
    /// Cable length from the previous point; `None` where nobody knows.
    pub run: Option<Metres>,
    /// What leads to it.
    pub feed: Feed,
    /// Receptacle shape, an index into the region's receptacles.
    pub receptacle: usize,
    /// Fed through a wall switch or timer.
    pub switched: Switched,
    /// Residual-current device built into this outlet (protects it and what follows).
    pub residual_current: Option<Amps>,
}

/// What leads to an outlet from the point before.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Feed {
    /// Fixed cable of the circuit, or another.
    Fixed(Cable),
    /// An extension cord or a strip plugged into the outlet before: the technician's own to change.
    Cord(Cable),
}

/// Whether an outlet hangs behind a switch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Switched {
    /// No.
    No,
    /// Yes: told.
    Yes,
    /// Nobody knows.
    NotKnown,
}

/// A load at an outlet.
#[derive(Clone, Debug)]
pub struct Load {
    /// Identifier in files.
    pub id: String,
    /// Where it is plugged in.
    pub at: OutletIx,
    /// Real power at nominal voltage while on.
    pub power: Watts,
    /// How its current follows its voltage.
    pub kind: LoadKind,
    /// Power factor, cosine, lagging.
    pub power_factor: Fraction,
    /// Current to earth through its line filter at nominal voltage.
    pub leakage: Option<Amps>,
}

/// How a load's current follows its voltage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LoadKind {
    /// Constant impedance: heaters, incandescent lamps.
    Impedance,
    /// Constant current.
    Current,
    /// Constant power down to a cut-out voltage: electronic supplies.
    Power {
        /// Below this it draws nothing but its filter's current.
        cut_out: Volts,
    },
}

/// A default used where a file says nothing, with where it comes from.
pub type Default<T> = Sourced<T>;
