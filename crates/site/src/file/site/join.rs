//! Follows the references between the elements of a site file, and puts the site together where all is well.

use std::collections::HashMap;

use metrology::{Fraction, Volts, Watts};

use super::circuit::{Circuit, Panel};
use super::load::{From, Kind, Load};
use super::outlet::{Point, Thing};
use super::{Around, Notes, Service};
use crate::file::names::{Names, circles};
use crate::file::problem::Log;
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
const SERVICE_PANEL: &str = "main";

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
    let panel_from = panel_links(&written, log);
    let circuit_panel = circuit_links(&written, log);
    let shares = shared_neutrals(&written, log, &circuit_panel);
    let (before, circuit_of) = point_links(&written, log);
    let plugged = plugs(&written, log);
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

fn panel_links(written: &Written, log: &mut Log) -> Vec<Option<usize>> {
    let mut links = vec![None; written.panels.len()];
    let mut service: Option<usize> = None;
    for (ix, panel) in written.panels.iter().enumerate() {
        match &panel.from {
            // the service panel need not be written down
            Some(from)
                if from.it == SERVICE_PANEL && written.panel_names.get(from.it).is_none() => {}
            Some(from) => {
                links[ix] = written.panel_names.refer(log, &panel.element, "from", from);
            }
            None => match service {
                None => service = Some(ix),
                Some(first) => {
                    let first = written.panels[first].id.as_ref().map_or("", |it| it.it);
                    let what =
                        format!("from is missing, and \"{first}\" is the service panel already");
                    let hint = format!("write from = \"{first}\", or the panel that feeds it");
                    log.add(panel.at.clone(), &panel.element, what, Some(hint));
                }
            },
        }
    }
    for circle in circles(&links) {
        let panel = &written.panels[circle[0]];
        let names = circle.iter().map(|ix| &written.panels[*ix].id);
        let (span, what) = around_circle("from", panel.from.as_ref(), names);
        let hint = "follow the feeders back to the service panel";
        log.add(span, &panel.element, what, Some(hint.to_owned()));
    }
    links
}

type Name<'a> = crate::file::reader::At<&'a str>;

/// Place and words for references that go round in a circle.
fn around_circle<'a>(
    key: &str,
    reference: Option<&Name<'a>>,
    names: impl Iterator<Item = &'a Option<Name<'a>>>,
) -> (crate::file::tree::Span, String) {
    let mut names: Vec<&str> = names
        .map(|it| it.as_ref().map_or("?", |it| it.it))
        .collect();
    if let Some(first) = names.first().copied() {
        names.push(first);
    }
    let span = reference.map_or(0..0, |it| it.span.clone());
    let shown = match names.len() > 9 {
        true => format!("{} -> ... -> {}", names[..8].join(" -> "), names[0]),
        false => names.join(" -> "),
    };
    (span, format!("{key} goes round in a circle: {shown}"))
}

/// The panel of each circuit; none is the service panel where the file does not name it.
fn circuit_links(written: &Written, log: &mut Log) -> Vec<Option<usize>> {
    let service = written.panels.iter().position(|it| it.from.is_none());
    let link = |circuit: &Circuit| match &circuit.panel {
        None => service,
        Some(name) if name.it == SERVICE_PANEL && service.is_none() => None,
        Some(name) => written
            .panel_names
            .refer(log, &circuit.element, "panel", name),
    };
    let links = written.circuits.iter().map(link).collect();
    for circuit in &written.circuits {
        if let (Some(leg), Some(second)) = (&circuit.leg, &circuit.second_leg)
            && leg.it == second.it
        {
            let what = "second_leg is the same as leg".to_owned();
            let hint = "leave it out where the circuit feeds line to neutral".to_owned();
            log.add(second.span.clone(), &circuit.element, what, Some(hint));
        }
    }
    links
}

/// The circuit with which each shares its neutral, as written.
fn shared_neutrals(
    written: &Written,
    log: &mut Log,
    panels: &[Option<usize>],
) -> Vec<Option<usize>> {
    let mut links = vec![None; written.circuits.len()];
    for (ix, circuit) in written.circuits.iter().enumerate() {
        let Some(name) = &circuit.shares else {
            continue;
        };
        let key = "shares_neutral_with";
        let other = written
            .circuit_names
            .refer(log, &circuit.element, key, name);
        match other {
            Some(other) if other == ix => {
                let what = format!("{key} names the circuit itself");
                let hint = "name the other circuit of the shared neutral".to_owned();
                log.add(name.span.clone(), &circuit.element, what, Some(hint));
            }
            Some(other) if panels[other] != panels[ix] => {
                let what = format!("{key} \"{}\" starts at another panel", name.it);
                let hint = "a shared neutral belongs to circuits of one panel".to_owned();
                log.add(name.span.clone(), &circuit.element, what, Some(hint));
            }
            other => links[ix] = other,
        }
    }
    links
}

/// What each point hangs on, and its circuit.
fn point_links(written: &Written, log: &mut Log) -> (Vec<Option<usize>>, Vec<Option<usize>>) {
    let n_points = written.points.len();
    let (mut before, mut circuit_of) = (vec![None; n_points], vec![None; n_points]);
    for (ix, point) in written.points.iter().enumerate() {
        let key = if point.cord { "at" } else { "after" };
        if let Some(name) = &point.before {
            match written.things.refer(log, &point.element, key, name) {
                Some(Thing::Point(other)) => before[ix] = Some(other),
                Some(other) => {
                    let what = format!("{key} \"{}\" is not an outlet", name.it);
                    let hint = match other {
                        Thing::Ups(_) => {
                            "outlets behind a UPS are not judged yet: name the machines at the UPS itself"
                        }
                        _ => "name an outlet or cord",
                    };
                    let hint = hint.to_owned();
                    log.add(name.span.clone(), &point.element, what, Some(hint));
                }
                None => {}
            }
        }
        if let Some(name) = &point.circuit {
            let names = &written.circuit_names;
            circuit_of[ix] = names.refer(log, &point.element, "circuit", name);
        }
    }
    for circle in circles(&before) {
        let point = &written.points[circle[0]];
        let key = if point.cord { "at" } else { "after" };
        let names = circle.iter().map(|ix| &written.points[*ix].id);
        let (span, what) = around_circle(key, point.before.as_ref(), names);
        let hint = "the first outlet after the panel has no \"after\"".to_owned();
        log.add(span, &point.element, what, Some(hint));
        for ix in circle {
            before[ix] = None; // so that nothing below walks round
        }
    }
    inherit(written, &before, &mut circuit_of);
    for (ix, point) in written.points.iter().enumerate() {
        let (Some(other), Some(name)) = (before[ix], &point.before) else {
            continue;
        };
        if let (Some(mine), Some(its)) = (circuit_of[ix], circuit_of[other])
            && mine != its
        {
            let id = |ix: usize| written.circuits[ix].id.as_ref().map_or("?", |it| it.it);
            let what = format!(
                "after \"{}\" is on circuit \"{}\", and this outlet is on \"{}\"",
                name.it,
                id(its),
                id(mine)
            );
            let hint = "correct the circuit or the outlet before".to_owned();
            log.add(name.span.clone(), &point.element, what, Some(hint));
        }
    }
    (before, circuit_of)
}

/// A point that names no circuit is on that of the point before it.
fn inherit(written: &Written, before: &[Option<usize>], circuit_of: &mut [Option<usize>]) {
    let silent = |ix: usize| written.points[ix].circuit.is_none();
    for start in 0..before.len() {
        let mut path = Vec::new();
        let mut at = Some(start);
        while let Some(ix) = at.filter(|ix| circuit_of[*ix].is_none() && silent(*ix)) {
            path.push(ix);
            at = before[ix];
        }
        let circuit = at.and_then(|ix| circuit_of[ix]);
        for ix in path {
            circuit_of[ix] = circuit;
        }
    }
}

/// The point at which each load is plugged in, through a UPS where one stands between.
fn plugs(written: &Written, log: &mut Log) -> Vec<Option<usize>> {
    let mut direct: Vec<Option<Thing>> = Vec::new();
    for load in &written.loads {
        let found = load.plugged.as_ref().and_then(|name| {
            let found = written.things.refer(log, &load.element, "at", name);
            if found == Some(Thing::Load) {
                let what = format!("at \"{}\" is a load: nothing plugs into it", name.it);
                let hint = "name an outlet, a cord or a UPS".to_owned();
                log.add(name.span.clone(), &load.element, what, Some(hint));
            }
            found
        });
        direct.push(found);
    }
    let behind = |it: &Option<Thing>| match it {
        Some(Thing::Ups(ix)) => Some(*ix),
        _ => None,
    };
    let through: Vec<Option<usize>> = direct.iter().map(behind).collect();
    for circle in circles(&through) {
        let load = &written.loads[circle[0]];
        let names = circle.iter().map(|ix| &written.loads[*ix].id);
        let (span, what) = around_circle("at", load.plugged.as_ref(), names);
        log.add(
            span,
            &load.element,
            what,
            Some("name the outlet it is plugged into".to_owned()),
        );
    }
    if !log.is_clean() {
        return Vec::new();
    }
    let point = |start: usize| {
        let mut at = direct[start];
        while let Some(Thing::Ups(ix)) = at {
            at = direct[ix];
        }
        match at {
            Some(Thing::Point(ix)) => Some(ix),
            _ => None,
        }
    };
    (0..direct.len()).map(point).collect()
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
        if load.from != From::Load {
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
