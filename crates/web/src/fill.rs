//! Pages filled from what stands in the store and what the trace answers.

use std::collections::HashMap;
use std::sync::Arc;
use std::time::Duration;

use site::finding::Finding;
use site::model::{CircuitIx, Feed, OutletIx, Site};
use site::visit::{Contact, Observation, Reading, Visit, Whereabouts};
use store::{SiteRecord, StoreError};
use trace::answer::Answer;

use crate::desk::{Answered, Desk, Now, Standing};
use crate::grow::Growth;
use crate::look::causes;
use crate::look::check::{Check, Target};
use crate::look::entry::{Entry, Typed};
use crate::look::first::{First, Said};
use crate::pages::evidence::Evidence;
use crate::pages::file::FilePage;
use crate::pages::place::{Open, PlacePage, Row};
use crate::pages::site::{SitePage, encoded};
use crate::pages::visit::VisitPage;

/// A page about a place waits so long for the answer before it comes without; the answer follows by itself.
const PATIENCE: Duration = Duration::from_millis(2500);

/// A visit in words: `visit 1 of 2026-03-14, open`.
pub fn visit_words(it: &Standing) -> String {
    format!("visit {} of {}", it.listing.number, when(it))
}

/// Its date, and whether it takes more.
pub fn when(it: &Standing) -> String {
    let date = it
        .head
        .date
        .clone()
        .unwrap_or_else(|| it.listing.opened.strftime("%Y-%m-%d").to_string());
    let state = if it.listing.closed.is_some() {
        "closed"
    } else {
        "open"
    };
    format!("{date}, {state}")
}

/// The page of a place.
pub fn page_of(site: &SiteRecord, outlet: &str) -> String {
    format!("/site/{}/place/{}", site.id, encoded(outlet))
}

/// The site page; it does not wait for an answer that is not there.
pub async fn site(desk: &Arc<Desk>, now: &Now) -> SitePage {
    let record = &now.site;
    let mut findings: Vec<Finding> = Vec::new();
    let mut said = Said::Nothing;
    let mut visit = None;
    if let Some(it) = &now.latest {
        let href = format!("/site/{}/visit/{}", record.id, it.listing.number);
        visit = Some((visit_words(it), href));
        findings.extend(it.limits.iter().cloned());
        if !it.is_empty() {
            let answered = desk.answer(it, &[], Duration::ZERO).await;
            if let Some(Ok(answer)) = &answered {
                findings.extend(answer.findings.iter().cloned());
            }
            said = said_of(answered.as_ref(), First::of);
        }
    }
    // a closed visit is read with the site of its closing, and drawn with the site of today
    let document = &record.document;
    let (supply, circuits) = SitePage::drawn(
        &record.id.to_string(),
        &document.site,
        document.written(),
        &findings,
    );
    SitePage {
        id: record.id.to_string(),
        name: document.site.name.clone(),
        note: document.written().note.clone(),
        region: document.site.region.name.clone(),
        visit,
        said,
        supply,
        circuits,
    }
}

fn said_of(answered: Option<&Answered>, first: impl Fn(&Answer) -> First) -> Said {
    match answered {
        None => Said::Soon,
        Some(Err(why)) => Said::Failed(why.clone()),
        Some(Ok(answer)) => Said::First(first(answer)),
    }
}

/// What comes with a place page beside the store: what was typed, what was wrong with it, what is put off.
#[derive(Default)]
pub struct Beside {
    /// Fields of a reading.
    pub typed: Typed,
    /// What is wrong with them.
    pub problems: Vec<String>,
    /// A line, and what is wrong with it.
    pub line: (String, Vec<String>),
    /// Checks that are put off.
    pub later: Vec<String>,
}

/// The page of an outlet.
pub async fn place(desk: &Arc<Desk>, now: &Now, outlet: OutletIx, beside: Beside) -> PlacePage {
    let record = &now.site;
    let site = &record.document.site;
    let it = &site.outlets[outlet.0];
    let circuit = it.circuit;
    let about = trace::words::circuit(site, circuit);
    let latest = now.latest.as_ref();
    // the visit's own site may be an older one: places are found in it by their names
    let told_of = latest.filter(|standing| {
        let theirs = &standing.document.site;
        let same = theirs.circuit(&site.circuits[circuit.0].id);
        same.is_some_and(|it| told_of_circuit(theirs, &standing.visit, it))
    });
    let answered = match latest.filter(|it| !it.is_empty()) {
        Some(standing) => desk
            .answer(standing, &beside.later, PATIENCE)
            .await
            .map(Some),
        None => Some(None),
    };
    let element = format!("circuit:{}", site.circuits[circuit.0].id);
    let part = |answer: &Answer| answer.parts.iter().find(|it| it.about == element).cloned();
    let said = match (&answered, told_of) {
        (_, None) => Said::Nothing,
        (answered, Some(_)) => said_of(
            answered.as_ref().and_then(Option::as_ref),
            |it| match part(it) {
                Some(part) => First::of_part(&part),
                None => First::of(it),
            },
        ),
    };
    let answer = answered
        .as_ref()
        .and_then(Option::as_ref)
        .and_then(|it| it.as_ref().ok());
    let open = match latest {
        None => Open::None,
        Some(it) if it.listing.closed.is_some() => {
            Open::Closed(format!("Visit {}", it.listing.number))
        }
        Some(it) => Open::Visit(format!("Visit {}", it.listing.number)),
    };
    let causes = match (answer, told_of) {
        (Some(answer), Some(_)) => {
            let mut all = causes::of(answer);
            if part(answer).is_some() {
                all.retain(|it| it.about == about);
            }
            all
        }
        _ => Vec::new(),
    };
    let takes = matches!(open, Open::Visit(_));
    let check = answer.filter(|_| takes).map(|answer| {
        let next = answer.next.as_ref();
        next.map(|it| Check::of(it, site, Some(outlet), |id| page_of(record, id)))
    });
    let mut hidden = vec![("place".to_owned(), it.id.clone())];
    if !beside.later.is_empty() {
        hidden.push(("put_off".to_owned(), beside.later.join("\n")));
    }
    let target = Target {
        action: format!("/site/{}/tell", record.id),
        method: "post",
        hidden,
        key: desk.fresh(),
    };
    PlacePage {
        site: record.id.to_string(),
        site_name: site.name.clone(),
        name: it.label.clone(),
        hangs: hangs(site, outlet),
        beside: neighbours(record, outlet),
        about,
        said,
        check,
        entry: Entry {
            place: it.id.clone(),
            receptacle: site.region.receptacles[it.receptacle].clone(),
            words: site.region.words.clone(),
            typed: beside.typed,
            meter: latest.and_then(|it| last_meter(&it.visit)),
            problems: beside.problems,
            target,
        },
        line: beside.line,
        told: latest.map_or(Vec::new(), |it| {
            rows_at(
                it,
                &site.outlets[outlet.0].id,
                &page_of(record, &site.outlets[outlet.0].id),
            )
        }),
        causes,
        open,
    }
}

/// Whether anything was told of a circuit or of one of its outlets.
fn told_of_circuit(site: &Site, visit: &Visit, circuit: CircuitIx) -> bool {
    let on =
        |it: Contact| matches!(it, Contact::Outlet(o, _) if site.outlets[o.0].circuit == circuit);
    let read = visit.readings.iter().any(|it| on(it.from) || on(it.to));
    read || visit.observations.iter().any(|it| match it.at {
        Whereabouts::Outlet(o) => site.outlets[o.0].circuit == circuit,
        Whereabouts::Circuit(c) => c == circuit,
        Whereabouts::Panel(_) | Whereabouts::Site => false,
    })
}

/// Where an outlet hangs, in words.
fn hangs(site: &Site, outlet: OutletIx) -> String {
    let it = &site.outlets[outlet.0];
    let circuit = &site.circuits[it.circuit.0];
    let mut words = vec![format!("Circuit {}", circuit.id)];
    words.extend(
        site.service
            .system
            .legs
            .get(circuit.leg)
            .map(|it| format!("leg {}", it.name)),
    );
    words.extend(circuit.breaker.map(|it| format!("{it} breaker")));
    words.push(match it.after {
        Some(before) => format!("after {}", site.outlets[before.0].label),
        None => format!(
            "straight from {} {}",
            site.region.words.panel, site.panels[circuit.panel.0].id
        ),
    });
    let by = if matches!(it.feed, Feed::Cord(_)) {
        "cord"
    } else {
        "cable"
    };
    words.extend(it.run.map(|run| format!("{run} of {by}")));
    words.join(", ")
}

fn neighbours(record: &SiteRecord, outlet: OutletIx) -> Vec<(&'static str, String, String)> {
    let site = &record.document.site;
    let line = |what, it: OutletIx| {
        let outlet = &site.outlets[it.0];
        (what, outlet.label.clone(), page_of(record, &outlet.id))
    };
    let before = site.outlets[outlet.0].after.map(|it| line("before it", it));
    let after = (0..site.outlets.len()).filter(|it| site.outlets[*it].after == Some(outlet));
    before
        .into_iter()
        .chain(after.map(|it| line("after it", OutletIx(it))))
        .collect()
}

/// The meter that the last reading was taken with.
fn last_meter(visit: &Visit) -> Option<String> {
    let last = visit
        .readings
        .iter()
        .rev()
        .find_map(|it| visit.meters.get(it.meter?));
    let it = last.or(visit.meters.last())?;
    match it.meter.name.as_str() {
        "" => Some(it.id.clone()),
        name => Some(name.to_owned()),
    }
}

/// What was told at a place, latest first.
fn rows_at(standing: &Standing, outlet: &str, page: &str) -> Vec<Row> {
    let site = &standing.document.site;
    let Some(here) = site.outlet(outlet) else {
        return Vec::new();
    };
    let circuit = site.outlets[here.0].circuit;
    let is_here = |it: Contact| matches!(it, Contact::Outlet(o, _) if o == here);
    let open = standing.listing.closed.is_none();
    let mut rows = rows(standing, |it| match it {
        Told::Reading(it) => is_here(it.from) || is_here(it.to),
        Told::Observation(it) => {
            [Whereabouts::Outlet(here), Whereabouts::Circuit(circuit)].contains(&it.at)
        }
    });
    for row in rows.iter_mut().filter(|it| open && it.is_reading) {
        row.correct = Some(format!("{page}?corrects={}#entry", encoded(&row.id)));
    }
    rows.reverse();
    rows
}

/// One thing told.
enum Told<'v> {
    Reading(&'v Reading),
    Observation(&'v Observation),
}

/// What was told and is to be kept, in its order.
fn rows(standing: &Standing, keep: impl Fn(&Told<'_>) -> bool) -> Vec<Row> {
    let (site, visit) = (&standing.document.site, &standing.visit);
    let corrections = visit
        .readings
        .iter()
        .filter_map(|it| Some((it.corrects?.0, it.id.as_str())));
    let corrected: HashMap<usize, &str> = corrections.collect();
    let mut readings: HashMap<&str, (usize, &Reading)> = HashMap::new();
    readings.extend(
        visit
            .readings
            .iter()
            .enumerate()
            .map(|(n, it)| (it.id.as_str(), (n, it))),
    );
    let mut observations: HashMap<&str, &Observation> = HashMap::new();
    observations.extend(visit.observations.iter().map(|it| (it.id.as_str(), it)));
    let row = |entry: &store::Entry| {
        let id = entry.id.as_str();
        let (told, at) = match entry.said {
            store::Said::Reading(_) => readings
                .get(id)
                .map(|(n, it)| (Told::Reading(it), Some(*n)))?,
            store::Said::Observation(_) => (Told::Observation(observations.get(id)?), None),
        };
        keep(&told).then(|| Row {
            id: id.to_owned(),
            words: match told {
                Told::Reading(it) => trace::words::reading(site, it),
                Told::Observation(it) => trace::words::observation(site, it),
            },
            corrected_by: at
                .and_then(|it| corrected.get(&it))
                .map(|it| (*it).to_owned()),
            is_reading: at.is_some(),
            correct: None,
        })
    };
    standing.entries.iter().filter_map(row).collect()
}

/// The evidence page.
pub async fn evidence(desk: &Arc<Desk>, now: &Now) -> Evidence {
    let record = &now.site;
    let site = &record.document.site;
    let standing = now.latest.as_ref().filter(|it| !it.is_empty());
    let answered = match standing {
        Some(it) => desk.answer(it, &[], PATIENCE).await,
        None => None,
    };
    let answer = answered.as_ref().and_then(|it| it.as_ref().ok());
    let mut findings = standing.map_or(Vec::new(), |it| it.limits.clone());
    findings.sort_by_key(|it| std::cmp::Reverse(it.verdict));
    Evidence {
        site: record.id.to_string(),
        site_name: site.name.clone(),
        visit: now
            .latest
            .as_ref()
            .map_or("No visit yet.".to_owned(), |it| {
                trace::words::sentence(&visit_words(it))
            }),
        said: match standing {
            None => Said::Nothing,
            Some(_) => said_of(answered.as_ref(), First::of),
        },
        causes: answer.map_or(Vec::new(), |it| causes::of(it)),
        unknown: answer.map_or(0.0, |it| it.not_in_catalogue),
        for_electrician: answer.map_or(Vec::new(), |it| it.for_electrician.clone()),
        remarks: answer.map_or(Vec::new(), |it| it.remarks.clone()),
        findings,
        words: site.region.words.clone(),
    }
}

/// The page of one visit.
pub fn visit(desk: &Desk, record: &SiteRecord, standing: &Standing) -> VisitPage {
    let mut findings = standing.limits.clone();
    findings.sort_by_key(|it| std::cmp::Reverse(it.verdict));
    VisitPage {
        site: record.id.to_string(),
        site_name: record.document.site.name.clone(),
        number: standing.listing.number,
        when: when(standing),
        open: standing.listing.closed.is_none(),
        told: rows(standing, |_| true),
        findings,
        words: record.document.site.region.words.clone(),
        key: desk.fresh(),
    }
}

/// The page to build and change a site.
pub fn file(desk: &Desk, record: &SiteRecord) -> FilePage {
    let (site, file) = (&record.document.site, record.document.written());
    let outlets = site
        .outlets
        .iter()
        .map(|it| (format!("outlet:{}", it.id), it.label.clone()));
    let circuits = site.circuits.iter().map(|it| {
        (
            format!("circuit:{}", it.id),
            format!(
                "Circuit {}, straight from the {}",
                it.id, site.region.words.panel
            ),
        )
    });
    let upses = file
        .ups
        .iter()
        .map(|it| (format!("ups:{}", it.id), format!("{}, a UPS", it.id)));
    FilePage {
        site: record.id.to_string(),
        site_name: site.name.clone(),
        text: record.text.clone(),
        revision: record.revision.0,
        problems: Vec::new(),
        theirs: None,
        feeds: circuits
            .chain(
                outlets
                    .clone()
                    .map(|(it, name)| (it, format!("After {name}"))),
            )
            .collect(),
        sockets: outlets.chain(upses).collect(),
        growth: Growth::default(),
        key: desk.fresh(),
    }
}

/// What the store says, where it is about what was typed: line by line.
pub fn problems_of(error: &StoreError) -> Option<Vec<(Option<usize>, String)>> {
    let line = |it: &site::file::Problem| {
        let mut words = match it.element.as_str() {
            "" => it.what.clone(),
            element => format!("{element}: {}", it.what),
        };
        if let Some(hint) = &it.hint {
            words.push_str(&format!("; {hint}"));
        }
        (it.line, words)
    };
    match error {
        StoreError::Problems(problems) => Some(problems.iter().map(line).collect()),
        StoreError::Breaks {
            number, problems, ..
        } => {
            let first = format!("Visit {number} is open and has readings that no longer fit:");
            Some(
                std::iter::once((None, first))
                    .chain(problems.iter().map(line))
                    .collect(),
            )
        }
        _ => None,
    }
}
