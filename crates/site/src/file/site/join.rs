//! Puts a site together from what was read, where all is well.

use std::collections::HashMap;

use metrology::{Fraction, Volts, Watts};

use super::circuit::{Circuit, Panel};
use super::link;
use super::load::{From, Kind, Load};
use super::outlet::{Point, Thing};
use super::{Around, Notes, Service};
use crate::file::names::Names;
use crate::file::problem::Log;
use crate::machine::Machine;
use crate::model::{self, CircuitIx, Feed, LoadKind, Origin, OutletIx, PanelIx, Site};
use crate::region::{Region, System};

/// Everything that was read, before references are followed.
pub(super) struct Written<'t> {
    pub name: Option<String>,
    pub around: Around,
    pub service: Service,
    pub panels: Vec<Panel<'t>>,
    pub panel_names: Names<'t, usize>,
    pub circuits: Vec<Circuit<'t>>,
    pub circuit_names: Names<'t, usize>,
    pub points: Vec<Point<'t>>,
    pub things: Names<'t, Thing>,
    pub loads: Vec<Load<'t>>,
}

/// Identifier of the service panel where the file does not name one.
pub(super) const SERVICE_PANEL: &str = "main";

/// Share of the nominal voltage below which an electronic supply is taken to draw nothing, and the power factor and
/// power taken for what nobody described. Our judgement.
const CUT_OUT: f64 = 0.6;
const POWER_FACTOR: f64 = 0.95;
const MACHINE: Watts = Watts::from_si(80.0);

/// What hangs on what, by place in the lists of [`Written`].
struct Links {
    panel_from: Vec<Option<usize>>,
    circuit_panel: Vec<Option<usize>>,
    shares: Vec<Option<usize>>,
    before: Vec<Option<usize>>,
    circuit_of: Vec<Option<usize>>,
    plugged: Vec<Option<usize>>,
}

/// The site, or nothing where anything is wrong.
pub(super) fn site(written: Written, log: &mut Log) -> Option<(Site, Notes)> {
    let panel_from = link::panel_links(&written, log);
    let circuit_panel = link::circuit_links(&written, log);
    let shares = link::shared_neutrals(&written, log, &circuit_panel);
    let (before, circuit_of) = link::point_links(&written, log);
    let plugged = link::plugs(&written, log);
    if !log.is_clean() {
        return None;
    }
    let links = Links {
        panel_from,
        circuit_panel,
        shares,
        before,
        circuit_of,
        plugged,
    };
    assemble(&written, &links)
}

fn assemble(written: &Written, links: &Links) -> Option<(Site, Notes)> {
    let region = written.around.region?;
    let system = written.around.system?;
    let mut notes = Notes::new();
    let (panels, panel_ix) = panels(written, links, region);
    let circuits = circuits(written, links, region, system, &panel_ix, &mut notes)?;
    let site = Site {
        name: written.name.clone()?,
        region,
        service: model::Service {
            system,
            earthing: written
                .service
                .earthing
                .or(system.earthings.first().copied())?,
            frequency: written
                .service
                .frequency
                .or(region.frequencies.first().copied())?,
            fault_current: written.service.fault_current,
            drop: written.service.drop,
            electrode: written.service.electrode,
        },
        outlets: outlets(written, links, region, system, &circuits)?,
        loads: loads(written, links, &circuits, system, &mut notes)?,
        machines: machines(written, links)?,
        panels,
        circuits,
        origin: Origin::Told,
    };
    Some((site, notes))
}

/// Panels so that each comes after the one that feeds it, the service panel first; and where each written one went.
fn panels(
    written: &Written,
    links: &Links,
    region: &'static Region,
) -> (Vec<model::Panel>, HashMap<usize, PanelIx>) {
    let service = written.panels.iter().position(|it| it.from.is_none());
    let name = service.and_then(|ix| written.panels[ix].id.as_ref());
    let mut panels = vec![model::Panel {
        id: name.map_or(SERVICE_PANEL, |it| it.it).to_owned(),
        feeder: None,
    }];
    let mut placed: HashMap<usize, PanelIx> =
        service.map(|ix| (ix, PanelIx(0))).into_iter().collect();
    // a panel fed by one further down the file waits for another round
    let mut waiting: Vec<usize> = (0..written.panels.len())
        .filter(|ix| Some(*ix) != service)
        .collect();
    while !waiting.is_empty() {
        let n_waiting = waiting.len();
        waiting.retain(|ix| {
            let from = match links.panel_from[*ix] {
                None => Some(PanelIx(0)),
                Some(from) => placed.get(&from).copied(),
            };
            let (Some(from), panel) = (from, &written.panels[*ix]) else {
                return true;
            };
            placed.insert(*ix, PanelIx(panels.len()));
            panels.push(model::Panel {
                id: panel.id.as_ref().map_or("", |it| it.it).to_owned(),
                feeder: Some(model::Feeder {
                    from,
                    run: panel.run,
                    cable: panel.cable.unwrap_or(region.usual.feeder.value),
                }),
            });
            false
        });
        if waiting.len() == n_waiting {
            break; // a circle, which was logged
        }
    }
    (panels, placed)
}

fn circuits(
    written: &Written,
    links: &Links,
    region: &'static Region,
    system: &'static System,
    panel_ix: &HashMap<usize, PanelIx>,
    notes: &mut Notes,
) -> Option<Vec<model::Circuit>> {
    let groups = groups(&links.shares);
    let mut seen = vec![0; groups.len()]; // of each group, how many circuits came by
    let mut circuits: Vec<model::Circuit> = Vec::new();
    for (ix, circuit) in written.circuits.iter().enumerate() {
        let id = circuit.id.as_ref()?.it;
        let first = groups[ix];
        // circuits of a shared neutral are on different legs unless told otherwise
        let told = circuit.leg.as_ref().map(|it| it.it);
        let leg = told.unwrap_or(seen[first] % system.legs.len());
        seen[first] += 1;
        if circuit.leg.is_none() && system.legs.len() > 1 {
            let name = &system.legs[leg].name;
            notes.push(format!(
                "circuit \"{id}\": its leg is not told, {name} is taken"
            ));
        }
        if circuit.cable.is_none() {
            let cable = region.cable_for(circuit.breaker);
            let (cable, cited) = (cable.value, cable.cited());
            notes.push(format!(
                "circuit \"{id}\": its cable is not told, {cable} is taken: {cited}"
            ));
        }
        circuits.push(model::Circuit {
            id: id.to_owned(),
            panel: links.circuit_panel[ix]
                .and_then(|it| panel_ix.get(&it).copied())
                .unwrap_or(PanelIx(0)),
            leg,
            second_leg: circuit
                .second_leg
                .as_ref()
                .map(|it| it.it)
                .filter(|it| *it != leg),
            shares_neutral_with: (first != ix).then_some(CircuitIx(first)),
            breaker: circuit.breaker,
            residual_current: circuit.residual_current,
            arc_fault: circuit.arc_fault,
            cable: circuit
                .cable
                .unwrap_or(region.cable_for(circuit.breaker).value),
            earth_run: circuit.earth,
        });
    }
    Some(circuits)
}

/// For each circuit the first in the file of those with which it shares a neutral, through others too.
fn groups(shares: &[Option<usize>]) -> Vec<usize> {
    let mut first: Vec<usize> = (0..shares.len()).collect();
    let root = |first: &[usize], mut ix: usize| {
        while first[ix] != ix {
            ix = first[ix];
        }
        ix
    };
    for (ix, other) in shares.iter().enumerate() {
        if let Some(other) = other {
            let (a, b) = (root(&first, ix), root(&first, *other));
            first[a.max(b)] = a.min(b);
        }
    }
    (0..shares.len()).map(|ix| root(&first, ix)).collect()
}

fn outlets(
    written: &Written,
    links: &Links,
    region: &'static Region,
    system: &'static System,
    circuits: &[model::Circuit],
) -> Option<Vec<model::Outlet>> {
    let outlet = |(ix, point): (usize, &Point)| {
        let circuit = links.circuit_of[ix]?;
        let its = &circuits[circuit];
        let id = point.id.as_ref()?.it;
        let feed = match point.cord {
            true => Feed::Cord(point.cable.unwrap_or(region.usual.cord.value)),
            false => Feed::Fixed(point.cable.unwrap_or(its.cable)),
        };
        Some(model::Outlet {
            id: id.to_owned(),
            label: point.label.unwrap_or(id).to_owned(),
            circuit: CircuitIx(circuit),
            after: links.before[ix].map(OutletIx),
            run: point.run,
            feed,
            receptacle: point
                .receptacle
                .unwrap_or_else(|| usual_receptacle(region, system.volts(its.leg, its.second_leg))),
            switched: point.switched,
            residual_current: point.residual_current,
        })
    };
    written.points.iter().enumerate().map(outlet).collect()
}

/// The first shape of the region whose voltage is nearest.
fn usual_receptacle(region: &Region, volts: Volts) -> usize {
    let off = |ix: &usize| (region.receptacles[*ix].volts - volts).abs().si();
    let shapes = 0..region.receptacles.len();
    shapes.min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(0)
}

/// The machines with their parts, in the order of the file.
fn machines(written: &Written, links: &Links) -> Option<Vec<Machine>> {
    let mut machines = Vec::new();
    for (ix, load) in written.loads.iter().enumerate() {
        let Some((build, supply)) = &load.machine else {
            continue;
        };
        let plugged = load.plugged.as_ref()?.it;
        let ups = matches!(written.things.get(plugged), Some(Thing::Ups(_)));
        machines.push(Machine {
            id: load.id.as_ref()?.it.to_owned(),
            at: OutletIx(links.plugged[ix]?),
            behind: ups.then(|| plugged.to_owned()),
            power: load.power,
            build: build.clone(),
            supply: supply.clone(),
        });
    }
    Some(machines)
}

fn loads(
    written: &Written,
    links: &Links,
    circuits: &[model::Circuit],
    system: &'static System,
    notes: &mut Notes,
) -> Option<Vec<model::Load>> {
    let mut loads = Vec::new();
    for (ix, load) in written.loads.iter().enumerate() {
        let id = load.id.as_ref()?.it;
        let at = links.plugged[ix]?;
        let circuit = &circuits[links.circuit_of[at]?];
        let nominal = system.volts(circuit.leg, circuit.second_leg);
        if load.from == From::Ups {
            notes.push(format!(
                "{}: kept, and only its power is judged so far",
                load.element
            ));
        }
        let power = match (load.power, load.from) {
            (None, From::Ups) => continue, // what it draws is what stands behind it
            (None, From::Machine) => {
                notes.push(format!(
                    "{}: its power is not told, {MACHINE} is taken",
                    load.element
                ));
                Some(MACHINE)
            }
            (power, _) => power,
        };
        let power_factor = load
            .power_factor
            .unwrap_or(Fraction::from_si(match load.kind {
                Kind::Impedance => 1.0,
                Kind::Current | Kind::Power => POWER_FACTOR,
            }));
        let by_current = || Some(power_factor * (nominal * load.current?));
        loads.push(model::Load {
            id: id.to_owned(),
            at: OutletIx(at),
            power: power.or_else(by_current)?,
            kind: match load.kind {
                Kind::Impedance => LoadKind::Impedance,
                Kind::Current => LoadKind::Current,
                Kind::Power => LoadKind::Power {
                    cut_out: load.cut_out.unwrap_or(nominal * CUT_OUT),
                },
            },
            power_factor,
            leakage: load.leakage,
        });
    }
    Some(loads)
}
