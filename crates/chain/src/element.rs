//! Where a fault can sit, and which conductor of it.

use site::model::{CircuitIx, OutletIx, PanelIx, Site};

/// A place in the chain that can be at fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Element {
    /// The supply in front of the premises: its voltage, its frequency.
    Supply,
    /// The service conductors between the source and the service panel.
    Service,
    /// A panel: its bond, its bars; for a panel that is not the first, its feeder too.
    Panel(PanelIx),
    /// The start of a circuit: breaker, neutral and earth screws.
    Circuit(CircuitIx),
    /// What leads to an outlet from the point before: cable with its joints, or a cord.
    Run(OutletIx),
    /// The terminals and contacts of an outlet.
    Outlet(OutletIx),
    /// The meter and its leads, by number in the visit; where none was named, 0.
    Meter(usize),
}

/// A conductor of the chain.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Conductor {
    /// The line of a circuit; of the service, of its first leg.
    Line,
    /// Neutral.
    Neutral,
    /// Earth.
    Earth,
    /// A line of the service or of a feeder, by leg.
    Leg(usize),
}

impl Conductor {
    /// Line, neutral and earth, in this order.
    pub const THREE: [Conductor; 3] = [Conductor::Line, Conductor::Neutral, Conductor::Earth];

    /// Position in [`Conductor::THREE`]; a leg counts as line.
    #[must_use]
    pub fn slot(self) -> usize {
        match self {
            Conductor::Line | Conductor::Leg(_) => 0,
            Conductor::Neutral => 1,
            Conductor::Earth => 2,
        }
    }
}

impl Element {
    /// The element's key in files and output: `outlet:front-desk`, `run:front-desk`, `circuit:A4`, `service`.
    #[must_use]
    pub fn key(self, site: &Site) -> String {
        match self {
            Element::Supply => "supply".into(),
            Element::Service => "service".into(),
            Element::Panel(p) => format!("panel:{}", site.panels[p.0].id),
            Element::Circuit(c) => format!("circuit:{}", site.circuits[c.0].id),
            Element::Run(o) => format!("run:{}", site.outlets[o.0].id),
            Element::Outlet(o) => format!("outlet:{}", site.outlets[o.0].id),
            Element::Meter(m) => format!("meter:{}", m + 1),
        }
    }

    /// The element of a key, the inverse of [`Element::key`].
    #[must_use]
    pub fn from_key(site: &Site, key: &str) -> Option<Element> {
        let (kind, id) = key.split_once(':').unwrap_or((key, ""));
        let outlet = || site.outlets.iter().position(|o| o.id == id).map(OutletIx);
        match kind {
            "supply" => Some(Element::Supply),
            "service" => Some(Element::Service),
            "panel" => site
                .panels
                .iter()
                .position(|p| p.id == id)
                .map(|p| Element::Panel(PanelIx(p))),
            "circuit" => site
                .circuits
                .iter()
                .position(|c| c.id == id)
                .map(|c| Element::Circuit(CircuitIx(c))),
            "run" => outlet().map(Element::Run),
            "outlet" => outlet().map(Element::Outlet),
            "meter" => id
                .parse::<usize>()
                .ok()
                .and_then(|n| n.checked_sub(1))
                .map(Element::Meter),
            _ => None,
        }
    }

    /// The circuit it belongs to, where it belongs to one.
    #[must_use]
    pub fn circuit(self, site: &Site) -> Option<CircuitIx> {
        match self {
            Element::Circuit(c) => Some(c),
            Element::Run(o) | Element::Outlet(o) => Some(site.outlets[o.0].circuit),
            _ => None,
        }
    }
}
