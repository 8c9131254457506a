//! A visit from its tree, at a site that is known.

mod condition;
mod meter;
mod observation;
mod places;
mod reading;

use super::names::Names;
use super::problem::Log;
use super::reader::Reader;
use super::tree::{Node, Table, Value};
use crate::model::{Origin, Site};
use crate::visit::{Skill, Visit};
use places::Places;

pub(super) use observation::{REACHES, SIGNS};

const SKILLS: [(&str, Skill); 3] = [
    ("anyone", Skill::Anyone),
    ("technician", Skill::Technician),
    ("electrician", Skill::Electrician),
];

/// The visit that a tree describes; what is wrong with it is logged, and then there is none.
pub(crate) fn read(tree: &Table, site: &Site, log: &mut Log) -> Option<Visit> {
    let mut top = Reader::of(tree, 0..0, String::new());
    super::site::format(&mut top, log);
    let named = site_name(&mut top, log, site);
    let date = date(&mut top, log);
    let _ = top.text(log, "note");
    let skill = skill(&mut top, log);
    let mut meter_names = Names::of("meter");
    let meters = meter::meters(&mut top, log, &mut meter_names);
    let places = Places::of(site);
    let around = reading::Around {
        places: &places,
        meters: meter_names.partial_if(top.stands_for("meter")),
    };
    let readings = reading::readings(&mut top, log, &around);
    let observations = observation::observations(&mut top, log, &places);
    let cannot = texts(&mut top, log, "cannot");
    top.done(log);
    if !log.is_clean() {
        return None;
    }
    let mut visit = Visit {
        site: named,
        date,
        skill,
        meters: meters.into_iter().flatten().collect(),
        readings: readings?,
        observations: observations?,
        cannot,
    };
    meter::give_low_impedance(&mut visit);
    Some(visit)
}

/// A visit that names another site than the one it is read with would judge the wrong outlets.
fn site_name(top: &mut Reader, log: &mut Log, site: &Site) -> String {
    let Some(name) = top.text(log, "site") else {
        return site.name.clone();
    };
    if site.origin == Origin::Told && name.it.trim() != site.name.trim() {
        let what = format!(
            "this visit is to \"{}\", and the site is \"{}\"",
            name.it, site.name
        );
        top.says(
            log,
            name.span,
            what,
            "give the visit together with its own site file",
        );
    }
    name.it.to_owned()
}

fn skill(top: &mut Reader, log: &mut Log) -> Skill {
    let Some(entry) = top.entry("person") else {
        return Skill::Technician;
    };
    let Value::Table(table) = &entry.node.value else {
        let what = format!("person is {}, and a table is wanted", entry.node.kind());
        top.says(
            log,
            entry.node.span.clone(),
            what,
            "write person = { skill = \"technician\" }",
        );
        return Skill::Technician;
    };
    let mut reader = Reader::of(table, entry.node.span.clone(), "person".to_owned());
    let skill = reader.one_of(log, "skill", &SKILLS);
    reader.done(log);
    skill.map_or(Skill::Technician, |it| it.it)
}

fn date(top: &mut Reader, log: &mut Log) -> Option<jiff::civil::Date> {
    let node = &top.entry("date")?.node;
    let (Value::Text(written) | Value::Moment(written)) = &node.value else {
        let what = format!("date is {}, and a date is wanted", node.kind());
        top.says(log, node.span.clone(), what, "write date = 2026-03-14");
        return None;
    };
    match written.trim().parse() {
        Ok(it) => Some(it),
        Err(_) => {
            let what = format!("date \"{written}\" is not a date");
            top.says(
                log,
                node.span.clone(),
                what,
                "write year, month and day: 2026-03-14",
            );
            None
        }
    }
}

/// A list of texts.
fn texts(top: &mut Reader, log: &mut Log, key: &'static str) -> Vec<String> {
    let Some(entry) = top.entry(key) else {
        return Vec::new();
    };
    let refuse = |log: &mut Log, node: &Node| {
        let what = format!("{key} holds {}, and a list of texts is wanted", node.kind());
        log.add(
            node.span.clone(),
            "",
            what,
            Some(format!("write {key} = [\"...\"]")),
        );
    };
    let Value::List(list) = &entry.node.value else {
        refuse(log, &entry.node);
        return Vec::new();
    };
    let mut texts = Vec::new();
    for node in list {
        match &node.value {
            Value::Text(it) => texts.push(it.clone()),
            _ => refuse(log, node),
        }
    }
    texts
}
