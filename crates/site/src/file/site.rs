//! A site from its tree: all elements are read, then all references are followed, then the site is put together.

mod beside;
mod circuit;
mod inner;
mod join;
mod link;
mod load;
mod machine;
mod outlet;
pub(super) mod supply;

use metrology::{Amps, Hertz, Metres, Ohms};

use super::names::Names;
use super::near::listed;
use super::problem::Log;
use super::reader::{Reader, unknown_hint};
use super::tree::{Table, Value};
use crate::model::{Earthing, Site};
use crate::region::{Region, System};

/// What was taken for granted because the file does not say it.
pub(crate) type Notes = Vec<String>;

/// What the elements of a site are judged by, as far as it could be read.
#[derive(Clone, Copy)]
pub(super) struct Around {
    pub region: Option<&'static Region>,
    pub system: Option<&'static System>,
}

/// The service as far as it could be read.
#[derive(Default)]
pub(super) struct Service {
    earthing: Option<Earthing>,
    frequency: Option<Hertz>,
    fault_current: Option<Amps>,
    drop: Option<Metres>,
    electrode: Option<Ohms>,
}

/// The site that a tree describes; what is wrong with it is logged, and then there is none.
pub(crate) fn read(tree: &Table, log: &mut Log) -> Option<(Site, Notes)> {
    let mut top = Reader::of(tree, 0..0, String::new());
    format(&mut top, log);
    let name = top.needed(log, "name", "name = \"...\", as people call the place");
    let region = region(&mut top, log);
    let _ = top.text(log, "note");
    let (around, service) = service(&mut top, log, region);
    let (panels, panel_names) = circuit::panels(&mut top, log, &around);
    let (circuits, circuit_names) = circuit::circuits(&mut top, log, &around);
    let mut things = Names::of("outlet");
    let points = outlet::points(&mut top, log, &around, &mut things);
    let loads = load::loads(&mut top, log, &around, &mut things);
    let beside = beside::beside(&mut top, log);
    // a misspelt table hides its elements: what refers to them is not at fault
    let hidden = |key: &str| top.stands_for(key);
    let panel_names = panel_names.partial_if(hidden("panel"));
    let circuit_names = circuit_names.partial_if(hidden("circuit"));
    let rooms = ["outlet", "cord", "ups", "machine", "load"];
    let things = things.partial_if(rooms.into_iter().any(hidden));
    top.done(log);
    beside::follow(&beside, log, &things, &panel_names, &circuit_names);
    let written = join::Written {
        name: name.map(|it| it.it.to_owned()),
        around,
        service,
        panels,
        panel_names,
        circuits,
        circuit_names,
        points,
        things,
        loads,
    };
    join::site(written, log)
}

/// The format of the file: there is one so far.
pub(super) fn format(top: &mut Reader, log: &mut Log) {
    let Some(entry) = top.entry("format") else {
        top.needs("format", "format = 1");
        return;
    };
    match &entry.node.value {
        Value::Number(it) if it == "1" => {}
        Value::Number(it) => {
            let what = format!("format {it} is not known");
            top.says(
                log,
                entry.node.span.clone(),
                what,
                "this program reads format 1",
            );
        }
        _ => {
            let what = format!("format is {}, and a number is wanted", entry.node.kind());
            top.says(log, entry.node.span.clone(), what, "write format = 1");
        }
    }
}

fn region(top: &mut Reader, log: &mut Log) -> Option<&'static Region> {
    let ids = || Region::all().iter().map(|it| it.id.as_str());
    let example = format!("region = {}", listed(ids()));
    let word = top.needed(log, "region", &example)?;
    let found = Region::find(word.it);
    if found.is_none() {
        let what = format!("region \"{}\" is not known", word.it);
        top.says(log, word.span, what, &unknown_hint(word.it, ids(), "write"));
    }
    found
}

fn service(top: &mut Reader, log: &mut Log, region: Option<&'static Region>) -> (Around, Service) {
    let mut around = Around {
        region,
        system: region.and_then(|it| it.systems.first()),
    };
    let Some(entry) = top.entry("service") else {
        return (around, Service::default());
    };
    let Value::Table(table) = &entry.node.value else {
        let what = format!("service is {}, and a table is wanted", entry.node.kind());
        top.says(
            log,
            entry.node.span.clone(),
            what,
            "write [service] and its keys below it",
        );
        return (around, Service::default());
    };
    let mut reader = Reader::of(table, entry.node.span.clone(), "service".to_owned());
    let it = &mut reader;
    if let (Some(word), Some(region)) = (it.text(log, "system"), region) {
        around.system = region.system(word.it);
        if around.system.is_none() {
            let what = format!("system \"{}\" is not one of {}", word.it, region.name);
            let ids = region.systems.iter().map(|it| it.id.as_str());
            it.says(log, word.span, what, &unknown_hint(word.it, ids, "write"));
        }
    }
    let service = Service {
        earthing: it.one_of(log, "earthing", &Earthing::NAMES).map(|it| it.it),
        frequency: frequency(it, log, region),
        fault_current: circuit::current(it, log, "fault_current"),
        drop: circuit::length(it, log, "drop"),
        electrode: it.quantity::<Ohms>(log, "electrode").map(|it| it.it),
    };
    reader.done(log);
    (around, service)
}

fn frequency(reader: &mut Reader, log: &mut Log, region: Option<&'static Region>) -> Option<Hertz> {
    let it = reader.quantity::<Hertz>(log, "frequency")?;
    let known = &region?.frequencies;
    if !known.contains(&it.it) {
        let what = format!("frequency of {} is not one of the region", it.it);
        let known: Vec<String> = known.iter().map(ToString::to_string).collect();
        let hint = format!(
            "write the nominal one: {}",
            listed(known.iter().map(String::as_str))
        );
        reader.says(log, it.span, what, &hint);
        return None;
    }
    Some(it.it)
}
