//! Follows the references between the elements of a site file; what leads nowhere or round in a circle is logged.

use super::circuit::Circuit;
use super::join::{SERVICE_PANEL, Written};
use super::outlet::Thing;
use crate::file::names::circles;
use crate::file::problem::Log;

/// The panel that feeds each panel; none for the service panel and what hangs on one that is not written down.
pub(super) fn panel_links(written: &Written, log: &mut Log) -> Vec<Option<usize>> {
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
pub(super) fn circuit_links(written: &Written, log: &mut Log) -> Vec<Option<usize>> {
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
pub(super) fn shared_neutrals(
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
pub(super) fn point_links(
    written: &Written,
    log: &mut Log,
) -> (Vec<Option<usize>>, Vec<Option<usize>>) {
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
    let mut passed = vec![false; before.len()]; // so that no stretch is walked twice
    for start in 0..before.len() {
        let mut path = Vec::new();
        let mut at = Some(start);
        let open =
            |ix: &usize, passed: &[bool]| circuit_of[*ix].is_none() && silent(*ix) && !passed[*ix];
        while let Some(ix) = at.filter(|ix| open(ix, &passed)) {
            passed[ix] = true;
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
pub(super) fn plugs(written: &Written, log: &mut Log) -> Vec<Option<usize>> {
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
