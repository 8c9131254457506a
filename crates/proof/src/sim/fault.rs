//! Faults as this crate reads their names: where each can sit, how bad it can be, what it does to the network.
//!
//! Weights say how often a kind is met among visits with a fault, severities how bad it is then: both this crate's own
//! guesses. `poor` joints are drawn by ohms evenly, not over decades, with a tail of bad ones.

use site::model::{EarthRun, Earthing, Feed, OutletIx, Site, Switched};

use crate::chance::Chance;
use crate::sim::lay::OPEN;
use crate::sim::premises::Premises;

/// Where a fault sits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum At {
    /// The supply in front of the premises.
    Supply,
    /// The service conductors.
    Service,
    /// A panel, with its feeder.
    Panel(usize),
    /// The start of a circuit.
    Circuit(usize),
    /// The run to an outlet.
    Run(usize),
    /// An outlet.
    Outlet(usize),
    /// The meter.
    Meter,
}

impl At {
    /// As the engine's answers name it.
    #[must_use]
    pub fn key(self, site: &Site) -> String {
        match self {
            At::Supply => "supply".into(),
            At::Service => "service".into(),
            At::Panel(p) => format!("panel:{}", site.panels[p].id),
            At::Circuit(c) => format!("circuit:{}", site.circuits[c].id),
            At::Run(o) => format!("run:{}", site.outlets[o].id),
            At::Outlet(o) => format!("outlet:{}", site.outlets[o].id),
            At::Meter => "meter:1".into(),
        }
    }

    /// The circuit it belongs to.
    #[must_use]
    pub fn circuit(self, site: &Site) -> Option<usize> {
        match self {
            At::Circuit(c) => Some(c),
            At::Run(o) | At::Outlet(o) => Some(site.outlets[o].circuit.0),
            _ => None,
        }
    }
}

/// A conductor.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Wire {
    /// Line of a circuit.
    Line,
    /// Neutral.
    Neutral,
    /// Earth.
    Earth,
    /// Line of the service, by leg.
    Leg(usize),
}

impl Wire {
    /// The three of a circuit.
    pub const THREE: [Wire; 3] = [Wire::Line, Wire::Neutral, Wire::Earth];

    /// Place among the three.
    #[must_use]
    pub fn slot(self) -> usize {
        match self {
            Wire::Line | Wire::Leg(_) => 0,
            Wire::Neutral => 1,
            Wire::Earth => 2,
        }
    }
}

/// An end that a bridge can touch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The soil.
    Soil,
    /// A contact of an outlet.
    Pin(usize, Wire),
    /// The wire behind an outlet.
    Terminal(usize, Wire),
    /// The start of a circuit.
    Start(usize, Wire),
    /// A bar of a panel.
    Bar(usize, Wire),
}

/// What a fault does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Defect {
    /// Ohms in series.
    Series(At, Wire, f64),
    /// Two conductors exchanged.
    Swap(At, Wire, Wire),
    /// Ohms between two ends.
    Join(End, End, f64),
    /// The supply stands at this share of nominal.
    Scale(f64),
    /// A circuit's line is on another leg.
    OnLeg(usize, usize),
    /// A circuit's neutral is on a leg.
    NeutralOnLeg(usize, usize),
    /// More load at an outlet, watts at nominal voltage.
    Draws(usize, f64),
    /// A source between two ends: share of nominal, angle against the outlet's own line, ohms. For what is in no catalogue.
    Feeds(End, End, f64, f64, f64),
}

/// A fault that is there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fault {
    /// Identifier as in the engine's catalogue, or an invented one.
    pub kind: &'static str,
    /// Where.
    pub at: At,
    /// Leg, for faults of one leg.
    pub leg: usize,
    /// Ohms, a share of nominal, or watts.
    pub how_bad: f64,
}

/// A kind that can be drawn.
#[derive(Clone, Copy, Debug)]
pub struct Kind {
    /// Identifier.
    pub id: &'static str,
    /// How often it is met.
    pub weight: f64,
    /// Where it can sit.
    pub sits: Sits,
    /// How bad it is.
    pub bad: Bad,
}

/// Where a kind can sit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sits {
    /// Supply.
    Supply,
    /// Service, once.
    Service,
    /// Service, any leg, where there are several.
    ServiceLeg,
    /// Service with an earth of its own.
    ServiceEarth,
    /// Bond of the service panel.
    Bond,
    /// A panel behind another.
    SubPanel,
    /// The same, any leg.
    SubPanelLeg,
    /// A circuit that shares no neutral.
    OwnCircuit,
    /// Any circuit.
    Circuit,
    /// A circuit with an arc device, a residual device, an unknown earth.
    ArcCircuit,
    /// See `ArcCircuit`.
    ResidualCircuit,
    /// See `ArcCircuit`.
    OldCircuit,
    /// A circuit with an earth wire.
    EarthCircuit,
    /// The owner of a shared neutral.
    Shared,
    /// A run of fixed cable.
    Run,
    /// The same with an earth wire.
    EarthRun,
    /// A cord.
    Cord,
    /// An outlet on fixed cable.
    Outlet,
    /// The same with an earth wire.
    EarthOutlet,
    /// A switched outlet.
    Switched,
    /// An outlet with a residual device.
    ResidualOutlet,
    /// An outlet whose contacts the person mixes up.
    Named,
    /// The meter.
    Meter,
}

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Bad {
    /// There is one way.
    One,
    /// Evenly between.
    Even(f64, f64),
    /// A broken conductor: nine in ten clean, the others damp.
    Broken,
    /// A joint: evenly up to the first, one in five up to the second, ohms.
    Joint(f64, f64, f64),
}

impl Bad {
    /// How bad one is.
    pub fn draw(self, chance: &mut Chance) -> f64 {
        match self {
            Bad::One => 0.0,
            Bad::Even(low, high) => chance.between(low, high),
            Bad::Broken if chance.happens(0.9) => 1e6 * chance.between(5.0, 900.0),
            Bad::Broken => chance.between(1e5, 1e6),
            Bad::Joint(low, high, far) => {
                if chance.happens(0.8) {
                    chance.between(low, high)
                } else {
                    chance.between(high, far)
                }
            }
        }
    }
}

const POOR: Bad = Bad::Joint(0.3, 5.0, 30.0);
const POOR_SERVICE: Bad = Bad::Joint(0.1, 1.2, 6.0);
const POOR_EARTH: Bad = Bad::Joint(3.0, 300.0, 2500.0);

const fn kind(id: &'static str, weight: f64, sits: Sits, bad: Bad) -> Kind {
    Kind {
        id,
        weight,
        sits,
        bad,
    }
}

/// Every kind that is drawn.
pub const KINDS: [Kind; 71] = [
    kind("open-neutral-circuit", 4.0, Sits::OwnCircuit, Bad::Broken),
    kind("open-neutral-run", 8.0, Sits::Run, Bad::Broken),
    kind("open-neutral-terminal", 5.0, Sits::Outlet, Bad::Broken),
    kind("open-line-circuit", 2.0, Sits::Circuit, Bad::Broken),
    kind("open-line-run", 5.0, Sits::Run, Bad::Broken),
    kind("open-line-terminal", 4.0, Sits::Outlet, Bad::Broken),
    kind("open-earth-circuit", 2.0, Sits::EarthCircuit, Bad::Broken),
    kind("open-earth-run", 5.0, Sits::EarthRun, Bad::Broken),
    kind("open-earth-terminal", 6.0, Sits::EarthOutlet, Bad::Broken),
    kind("no-earth-run", 4.0, Sits::OldCircuit, Bad::One),
    kind("poor-neutral-circuit", 2.0, Sits::OwnCircuit, POOR),
    kind("poor-neutral-run", 4.0, Sits::Run, POOR),
    kind("poor-neutral-terminal", 3.0, Sits::Outlet, POOR),
    kind("poor-line-circuit", 2.0, Sits::Circuit, POOR),
    kind("poor-line-run", 4.0, Sits::Run, POOR),
    kind("poor-line-terminal", 3.0, Sits::Outlet, POOR),
    kind("poor-earth-circuit", 0.5, Sits::EarthCircuit, POOR_EARTH),
    kind("poor-earth-run", 0.7, Sits::EarthRun, POOR_EARTH),
    kind("poor-earth-terminal", 1.0, Sits::EarthOutlet, POOR_EARTH),
    kind("line-neutral-reversed-outlet", 8.0, Sits::Outlet, Bad::One),
    kind("line-neutral-reversed-run", 3.0, Sits::Run, Bad::One),
    kind(
        "line-neutral-reversed-circuit",
        2.0,
        Sits::OwnCircuit,
        Bad::One,
    ),
    kind(
        "line-neutral-reversed-service",
        1.0,
        Sits::ServiceLeg,
        Bad::One,
    ),
    kind(
        "line-earth-reversed-outlet",
        2.0,
        Sits::EarthOutlet,
        Bad::One,
    ),
    kind(
        "line-earth-reversed-service",
        0.5,
        Sits::ServiceEarth,
        Bad::One,
    ),
    kind(
        "neutral-earth-reversed-outlet",
        3.0,
        Sits::EarthOutlet,
        Bad::One,
    ),
    kind("neutral-earth-jumper-no-earth", 4.0, Sits::Outlet, Bad::One),
    kind("neutral-earth-jumper-reversed", 2.5, Sits::Outlet, Bad::One),
    kind(
        "second-bond-outlet",
        2.0,
        Sits::EarthOutlet,
        Bad::Even(2e-3, 0.1),
    ),
    kind("second-bond-sub-panel", 1.0, Sits::SubPanel, Bad::One),
    kind("bond-missing", 1.5, Sits::Bond, Bad::Broken),
    kind(
        "live-earth-outlet",
        1.5,
        Sits::Outlet,
        Bad::Even(0.05, 60.0),
    ),
    kind("live-earth-run", 1.0, Sits::EarthRun, Bad::Even(0.05, 60.0)),
    kind(
        "live-earth-circuit",
        0.5,
        Sits::EarthCircuit,
        Bad::Even(0.05, 60.0),
    ),
    kind(
        "earth-through-poor-path",
        1.5,
        Sits::Outlet,
        Bad::Even(30.0, 900.0),
    ),
    kind(
        "standing-leakage",
        1.0,
        Sits::EarthOutlet,
        Bad::Even(1.2e4, 6e4),
    ),
    kind(
        "worn-contacts",
        3.0,
        Sits::Outlet,
        Bad::Joint(0.15, 1.5, 4.0),
    ),
    kind(
        "worn-earth-contact",
        1.0,
        Sits::EarthOutlet,
        Bad::Joint(3.0, 100.0, 1000.0),
    ),
    kind("service-neutral-open", 6.0, Sits::Service, Bad::Broken),
    kind("service-neutral-poor", 4.0, Sits::Service, POOR_SERVICE),
    kind("service-leg-open", 2.0, Sits::ServiceLeg, Bad::Broken),
    kind("service-leg-poor", 2.0, Sits::ServiceLeg, POOR_SERVICE),
    kind("service-earth-open", 1.0, Sits::ServiceEarth, Bad::Broken),
    kind("feeder-neutral-open", 3.0, Sits::SubPanel, Bad::Broken),
    kind("feeder-neutral-poor", 2.0, Sits::SubPanel, POOR_SERVICE),
    kind("feeder-line-open", 1.5, Sits::SubPanelLeg, Bad::Broken),
    kind("feeder-line-poor", 1.0, Sits::SubPanelLeg, POOR_SERVICE),
    kind("feeder-earth-open", 1.0, Sits::SubPanel, Bad::Broken),
    kind("shared-neutral-open", 8.0, Sits::Shared, Bad::Broken),
    kind("shared-neutral-poor", 4.0, Sits::Shared, POOR),
    kind("multiwire-same-leg", 2.0, Sits::Shared, Bad::One),
    kind("neutral-borrowed", 0.5, Sits::OwnCircuit, Bad::One),
    kind("wrong-voltage-outlet", 0.7, Sits::Outlet, Bad::One),
    kind("wrong-voltage-circuit", 0.7, Sits::OwnCircuit, Bad::One),
    kind("breaker-open", 8.0, Sits::Circuit, Bad::One),
    kind("arc-device-open", 3.0, Sits::ArcCircuit, Bad::One),
    kind(
        "residual-device-open-panel",
        4.0,
        Sits::ResidualCircuit,
        Bad::One,
    ),
    kind(
        "residual-device-open-outlet",
        4.0,
        Sits::ResidualOutlet,
        Bad::One,
    ),
    kind("switched-outlet-off", 6.0, Sits::Switched, Bad::One),
    kind("switched-neutral", 1.5, Sits::Switched, Bad::One),
    kind(
        "circuit-overloaded",
        1.5,
        Sits::Circuit,
        Bad::Even(1.1, 1.8),
    ),
    kind("strip-switch-off", 4.0, Sits::Cord, Bad::One),
    kind("cord-open-earth", 5.0, Sits::Cord, Bad::Broken),
    kind("cord-open-line", 2.0, Sits::Cord, Bad::Broken),
    kind("cord-open-neutral", 2.0, Sits::Cord, Bad::Broken),
    kind("cord-poor-line", 1.5, Sits::Cord, POOR),
    kind("cord-poor-neutral", 1.5, Sits::Cord, POOR),
    kind("cord-reversed", 1.5, Sits::Cord, Bad::One),
    kind("supply-low", 3.0, Sits::Supply, Bad::Even(0.78, 0.92)),
    kind("supply-high", 3.0, Sits::Supply, Bad::Even(1.075, 1.19)),
    kind("supply-dead", 1.5, Sits::Supply, Bad::One),
];

/// Mistakes of the person, drawn on top of [`KINDS`].
pub const MISTAKES: [Kind; 6] = [
    kind("contacts-named-wrongly", 1.5, Sits::Named, Bad::One),
    kind("line-earth-named-wrongly", 0.4, Sits::Named, Bad::One),
    kind("neutral-earth-named-wrongly", 1.0, Sits::Named, Bad::One),
    kind("lead-open", 1.0, Sits::Meter, Bad::One),
    kind("wrong-function", 0.7, Sits::Meter, Bad::One),
    kind("flat-battery", 0.7, Sits::Meter, Bad::Even(0.45, 0.8)),
];

/// The first outlet of a circuit, and whether it is the only one that starts at the panel.
#[must_use]
pub fn first_outlet(site: &Site, circuit: usize) -> Option<(usize, bool)> {
    let starts =
        |o: &usize| site.outlets[*o].circuit.0 == circuit && site.outlets[*o].after.is_none();
    let mut all = (0..site.outlets.len()).filter(starts);
    let first = all.next()?;
    Some((first, all.next().is_none()))
}

impl Sits {
    /// Every place of a site, with the leg.
    #[must_use]
    pub fn places(self, site: &Site) -> Vec<(At, usize)> {
        let legs = 0..site.service.system.legs.len();
        let owner = |c: usize| {
            site.circuits
                .iter()
                .any(|k| k.shares_neutral_with.is_some_and(|w| w.0 == c))
        };
        let shared = |c: usize| owner(c) || site.circuits[c].shares_neutral_with.is_some();
        let earthed = |c: usize| site.circuits[c].earth_run != EarthRun::No;
        let circuits = |keep: &dyn Fn(usize) -> bool| -> Vec<(At, usize)> {
            (0..site.circuits.len())
                .filter(|c| keep(*c))
                .map(|c| (At::Circuit(c), 0))
                .collect()
        };
        let outlets = |keep: &dyn Fn(usize) -> bool| -> Vec<usize> {
            (0..site.outlets.len()).filter(|o| keep(*o)).collect()
        };
        let fixed = |o: usize| matches!(site.outlets[o].feed, Feed::Fixed(_));
        let earthed_at = |o: usize| earthed(site.outlets[o].circuit.0);
        let at_outlet = |list: Vec<usize>| list.into_iter().map(|o| (At::Outlet(o), 0)).collect();
        let at_run = |list: Vec<usize>| list.into_iter().map(|o| (At::Run(o), 0)).collect();
        match self {
            Sits::Supply => vec![(At::Supply, 0)],
            Sits::Service => vec![(At::Service, 0)],
            Sits::ServiceLeg => legs.map(|l| (At::Service, l)).collect(),
            Sits::ServiceEarth if site.service.earthing == Earthing::TnS => vec![(At::Service, 0)],
            Sits::ServiceEarth => Vec::new(),
            Sits::Bond if site.service.earthing == Earthing::TnCS => vec![(At::Panel(0), 0)],
            Sits::Bond => Vec::new(),
            Sits::SubPanel => (1..site.panels.len()).map(|p| (At::Panel(p), 0)).collect(),
            Sits::SubPanelLeg => (1..site.panels.len())
                .flat_map(|p| legs.clone().map(move |l| (At::Panel(p), l)))
                .collect(),
            Sits::OwnCircuit => circuits(&|c| !shared(c)),
            Sits::Circuit => circuits(&|_| true),
            Sits::ArcCircuit => circuits(&|c| site.circuits[c].arc_fault),
            Sits::ResidualCircuit => circuits(&|c| site.circuits[c].residual_current.is_some()),
            Sits::OldCircuit => circuits(&|c| site.circuits[c].earth_run == EarthRun::NotKnown),
            Sits::EarthCircuit => circuits(&earthed),
            Sits::Shared => circuits(&owner),
            Sits::Run => at_run(outlets(&fixed)),
            Sits::EarthRun => at_run(outlets(&|o| fixed(o) && earthed_at(o))),
            Sits::Cord => at_run(outlets(&|o| !fixed(o))),
            Sits::Outlet => at_outlet(outlets(&fixed)),
            Sits::EarthOutlet => at_outlet(outlets(&|o| fixed(o) && earthed_at(o))),
            Sits::Switched => at_outlet(outlets(&|o| site.outlets[o].switched == Switched::Yes)),
            Sits::ResidualOutlet => {
                at_outlet(outlets(&|o| site.outlets[o].residual_current.is_some()))
            }
            Sits::Named => at_outlet(outlets(&|_| true)),
            Sits::Meter => vec![(At::Meter, 0)],
        }
    }
}

impl Fault {
    /// One at random: by weight among the kinds that this site can have, then any of its places.
    #[must_use]
    pub fn draw(chance: &mut Chance, site: &Site, mistakes: bool) -> Self {
        let all: Vec<Kind> = match mistakes {
            true => MISTAKES.to_vec(),
            false => KINDS.to_vec(),
        };
        let possible: Vec<(Kind, Vec<(At, usize)>)> = all
            .into_iter()
            .map(|k| (k, k.sits.places(site)))
            .filter(|(_, p)| !p.is_empty())
            .collect();
        let (kind, places) = &possible[chance.weighted(possible.iter().map(|(k, _)| k.weight))];
        let (at, leg) = *chance.pick(places);
        Fault {
            kind: kind.id,
            at,
            leg,
            how_bad: kind.bad.draw(chance),
        }
    }

    /// What it does to the network.
    #[must_use]
    pub fn defects(&self, premises: &Premises) -> Vec<Defect> {
        let (site, at, bad) = (&premises.site, self.at, self.how_bad);
        let series = |wire| vec![Defect::Series(at, wire, bad)];
        let open = |wire| Defect::Series(at, wire, OPEN);
        let swap = |a, b| vec![Defect::Swap(at, a, b)];
        let far = |wire| match at {
            At::Circuit(c) => End::Start(c, wire),
            At::Run(o) => End::Terminal(o, wire),
            At::Outlet(o) => End::Pin(o, wire),
            _ => End::Soil,
        };
        let (line, neutral, earth) = (Wire::Line, Wire::Neutral, Wire::Earth);
        match self.kind {
            "open-neutral-circuit"
            | "open-neutral-run"
            | "open-neutral-terminal"
            | "cord-open-neutral"
            | "poor-neutral-circuit"
            | "poor-neutral-run"
            | "poor-neutral-terminal"
            | "cord-poor-neutral"
            | "service-neutral-open"
            | "service-neutral-poor"
            | "feeder-neutral-open"
            | "feeder-neutral-poor"
            | "shared-neutral-open"
            | "shared-neutral-poor" => series(neutral),
            "open-line-circuit" | "open-line-run" | "open-line-terminal" | "cord-open-line"
            | "poor-line-circuit" | "poor-line-run" | "poor-line-terminal" | "cord-poor-line" => {
                series(line)
            }
            "open-earth-circuit"
            | "open-earth-run"
            | "open-earth-terminal"
            | "cord-open-earth"
            | "poor-earth-circuit"
            | "poor-earth-run"
            | "poor-earth-terminal"
            | "worn-earth-contact"
            | "bond-missing"
            | "service-earth-open"
            | "feeder-earth-open" => series(earth),
            "service-leg-open" | "service-leg-poor" | "feeder-line-open" | "feeder-line-poor" => {
                series(Wire::Leg(self.leg))
            }
            "no-earth-run" => {
                // No wire anywhere on the circuit: every earth contact stands alone.
                let here =
                    |o: &usize| at == At::Circuit(site.outlets[*o].circuit.0) && !is_cord(site, *o);
                (0..site.outlets.len())
                    .filter(here)
                    .map(|o| Defect::Series(At::Run(o), earth, OPEN))
                    .collect()
            }
            "line-neutral-reversed-outlet"
            | "line-neutral-reversed-run"
            | "line-neutral-reversed-circuit"
            | "cord-reversed" => swap(line, neutral),
            "line-neutral-reversed-service" => swap(Wire::Leg(self.leg), neutral),
            "line-earth-reversed-service" => swap(Wire::Leg(self.leg), earth),
            "line-earth-reversed-outlet" => swap(line, earth),
            "neutral-earth-reversed-outlet" => swap(neutral, earth),
            "neutral-earth-jumper-no-earth" => {
                vec![open(earth), Defect::Join(far(neutral), far(earth), 8e-3)]
            }
            "neutral-earth-jumper-reversed" => {
                vec![
                    Defect::Swap(at, line, neutral),
                    open(earth),
                    Defect::Join(far(neutral), far(earth), 8e-3),
                ]
            }
            "second-bond-outlet" => vec![Defect::Join(far(neutral), far(earth), bad)],
            "second-bond-sub-panel" => match at {
                At::Panel(p) => vec![Defect::Join(End::Bar(p, neutral), End::Bar(p, earth), 3e-3)],
                _ => Vec::new(),
            },
            "live-earth-outlet" | "live-earth-run" | "live-earth-circuit" => {
                vec![open(earth), Defect::Join(far(line), far(earth), bad)]
            }
            "earth-through-poor-path" => {
                vec![open(earth), Defect::Join(far(earth), End::Soil, bad)]
            }
            "standing-leakage" => vec![Defect::Join(
                far(line),
                far(earth),
                bad * premises.truth.volts / 120.0,
            )],
            "worn-contacts" => vec![
                Defect::Series(at, line, bad),
                Defect::Series(at, neutral, 0.8 * bad),
            ],
            "breaker-open" | "arc-device-open" | "switched-outlet-off" | "strip-switch-off" => {
                vec![open(line)]
            }
            "switched-neutral" => vec![open(neutral)],
            "residual-device-open-panel" | "residual-device-open-outlet" => {
                let at = if let At::Outlet(o) = at {
                    At::Run(o)
                } else {
                    at
                };
                vec![
                    Defect::Series(at, line, OPEN),
                    Defect::Series(at, neutral, OPEN),
                ]
            }
            "supply-low" | "supply-high" => vec![Defect::Scale(bad)],
            "supply-dead" => vec![Defect::Scale(0.0)],
            _ => self.further_defects(premises),
        }
    }

    fn further_defects(&self, premises: &Premises) -> Vec<Defect> {
        let site = &premises.site;
        let n_legs = site.service.system.legs.len();
        match (self.kind, self.at) {
            ("multiwire-same-leg", At::Circuit(c)) => {
                let partner = site
                    .circuits
                    .iter()
                    .find(|k| k.shares_neutral_with.is_some_and(|w| w.0 == c));
                partner
                    .map(|p| Defect::OnLeg(c, p.leg))
                    .into_iter()
                    .collect()
            }
            ("wrong-voltage-circuit", At::Circuit(c)) if n_legs > 1 => {
                vec![Defect::NeutralOnLeg(c, (site.circuits[c].leg + 1) % n_legs)]
            }
            ("wrong-voltage-outlet", At::Outlet(o)) if n_legs > 1 => {
                let circuit = &site.circuits[site.outlets[o].circuit.0];
                let other = End::Bar(circuit.panel.0, Wire::Leg((circuit.leg + 1) % n_legs));
                vec![
                    Defect::Series(self.at, Wire::Neutral, OPEN),
                    Defect::Join(other, End::Pin(o, Wire::Neutral), 0.11),
                ]
            }
            ("neutral-borrowed", At::Circuit(c)) => {
                let other = (0..site.circuits.len()).find(|d| {
                    let (a, b) = (&site.circuits[c], &site.circuits[*d]);
                    *d != c && a.panel == b.panel && b.shares_neutral_with.is_none()
                });
                let ends = (
                    first_outlet(site, c),
                    other.and_then(|d| first_outlet(site, d)),
                );
                let ((Some((own, _)), Some((lender, _))), n) = (ends, Wire::Neutral) else {
                    return Vec::new();
                };
                vec![
                    Defect::Series(At::Run(own), n, OPEN),
                    Defect::Join(End::Terminal(own, n), End::Terminal(lender, n), 6e-3),
                ]
            }
            ("circuit-overloaded", At::Circuit(c)) => {
                let last = (0..site.outlets.len())
                    .rev()
                    .find(|o| site.outlets[*o].circuit.0 == c);
                let amps = site.circuits[c].breaker.map_or(15.0, |a| a.si());
                last.map(|o| Defect::Draws(o, self.how_bad * amps * premises.truth.volts))
                    .into_iter()
                    .collect()
            }
            _ => crate::outsiders::defects(self),
        }
    }
}

fn is_cord(site: &Site, o: usize) -> bool {
    matches!(site.outlets[o].feed, Feed::Cord(_))
}

/// Outlets fed from this one.
#[must_use]
pub fn following(site: &Site, outlet: usize) -> Vec<usize> {
    (0..site.outlets.len())
        .filter(|o| site.outlets[*o].after == Some(OutletIx(outlet)))
        .collect()
}
