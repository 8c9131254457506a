//! Pages filled from what stands in the store and what the trace answers.

use std::sync::Arc;
use std::time::Duration;

use site::model::{CircuitIx, Feed, OutletIx, Site};
use site::visit::{Contact, Visit, Whereabouts};
use store::{SiteRecord, StoreError, VisitListing};
use trace::answer::Answer;

use crate::answers::Answered;
use crate::attach;
use crate::desk::{Desk, Now};
use crate::grow::Growth;
use crate::look::attached::Add;
use crate::look::causes;
use crate::look::check::{Check, Target};
use crate::look::entry::{Entry, Typed};
use crate::look::first::{First, Said};
use crate::pages::evidence::Evidence;
use crate::pages::file::FilePage;
use crate::pages::place::{Open, PlacePage};
use crate::pages::site::{SitePage, Worst, encoded};
use crate::pages::thing::ThingPage;
use crate::pages::visit::VisitPage;
use crate::rows;
use crate::standing::Standing;
use crate::tell;
use crate::things;

/// A page waits so long for the answer before it comes without, as many may be asked for at once; the answer follows by
/// itself.
const PATIENCE: Duration = Duration::from_millis(10);

/// The drawing of a site waits so long for a visit that is being read, before it comes without.
pub const GLANCE: Duration = Duration::from_millis(40);

/// A visit in words: `visit 1 of 2026-03-14, open`.
pub fn visit_words(it: &VisitListing) -> String {
    format!("visit {} of {}", it.number, when(it))
}

/// Its date, and whether it takes more.
pub fn when(it: &VisitListing) -> String {
    let opened = || it.opened.strftime("%Y-%m-%d").to_string();
    let date = it.date.clone().unwrap_or_else(opened);
    let state = if it.closed.is_some() {
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
    let mut worst = Worst::default();
    let mut said = Said::Nothing;
    let mut visit = None;
    if let Some(it) = now
        .latest
        .as_ref()
        .map(|it| &it.listing)
        .or(now.reading.as_ref())
    {
        let href = format!("/site/{}/visit/{}", record.id, it.number);
        visit = Some((visit_words(it), href));
    }
    if now.reading.is_some() {
        (worst.soon, said) = (true, Said::Soon);
    }
    if let Some(it) = &now.latest {
        worst.take_in(it.limits());
        if !it.is_empty() {
            let answered = desk.answer(it, &[], Duration::ZERO).await;
            if let Some(Ok(answer)) = &answered {
                worst.take_in(&answer.findings);
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
        &worst,
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
    /// A note, and what is wrong with what was sent with it.
    pub add: Add,
}

/// Where an attachment of a visit is given out.
pub fn file_of(standing: &Standing, key: store::Key) -> String {
    let listing = &standing.listing;
    format!(
        "/site/{}/visit/{}/attached/{key}",
        listing.site, listing.number
    )
}

/// The page of an outlet.
///
/// # Errors
/// What the store says.
pub async fn place(
    desk: &Arc<Desk>,
    now: &Now,
    outlet: OutletIx,
    beside: Beside,
) -> Result<PlacePage, StoreError> {
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
    let here = page_of(record, &it.id);
    let (told, n_earlier) = latest.map_or((Vec::new(), 0), |latest| {
        rows::at_place(latest, &it.id, &here)
    });
    let attached = match latest {
        Some(latest) => attach::of_visit(desk, latest, Some(&it.id)).await?,
        None => Vec::new(),
    };
    Ok(PlacePage {
        site: record.id.to_string(),
        site_name: site.name.clone(),
        name: it.label.clone(),
        hangs: hangs(site, outlet),
        beside: neighbours(record, outlet),
        // a small visit is weighed as one, and its answer is no less than that of the worst circuit
        about: match answer {
            Some(it) if told_of.is_some() && part(it).is_none() => "the whole visit".to_owned(),
            _ => about,
        },
        said,
        check,
        entry: Entry {
            place: it.id.clone(),
            receptacle: site.region.receptacles[it.receptacle].clone(),
            words: site.region.words.clone(),
            typed: beside.typed,
            meter: latest.and_then(|it| next_meter(&it.visit)),
            problems: beside.problems,
            target,
        },
        line: beside.line,
        told,
        n_earlier,
        causes,
        open,
        attached,
        add: Add {
            action: format!("{here}/attach"),
            key: desk.fresh(),
            ..beside.add
        },
    })
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

/// What people call the meter that the next reading is taken with, unless they say otherwise.
fn next_meter(visit: &Visit) -> Option<String> {
    let it = tell::last_meter(visit).or(visit.meters.last())?;
    match it.meter.name.as_str() {
        "" => Some(it.id.clone()),
        name => Some(name.to_owned()),
    }
}

/// The page of something that is plugged in or comes in by a line; none where the file has no such thing.
pub fn thing(record: &SiteRecord, kind: &str, name: &str) -> Option<ThingPage> {
    let (site, id) = (&record.document.site, record.id.to_string());
    let all = things::all(record.document.written());
    let it = all
        .iter()
        .find(|it| it.id == name && things::kind(it.symbol) == kind)?;
    Some(ThingPage {
        site_name: site.name.clone(),
        name: it.id.to_owned(),
        symbol: it.symbol,
        hangs: Some(it.hangs(&id, site, &all)),
        facts: it.facts(),
        site: id,
    })
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
    let (findings, n_findings) = standing.map_or((Vec::new(), 0), |it| rows::worst_first(it));
    Evidence {
        site: record.id.to_string(),
        site_name: site.name.clone(),
        visit: now
            .latest
            .as_ref()
            .map_or("No visit yet.".to_owned(), |it| {
                trace::words::sentence(&visit_words(&it.listing))
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
        n_findings,
        words: site.region.words.clone(),
    }
}

/// The page of one visit, with its rows as far as `upto`.
///
/// # Errors
/// What the store says.
pub async fn visit(
    desk: &Desk,
    record: &SiteRecord,
    standing: &Standing,
    upto: usize,
) -> Result<VisitPage, StoreError> {
    let (findings, n_findings) = rows::worst_first(standing);
    let (told, shown) = rows::of_visit(standing, upto);
    Ok(VisitPage {
        site: record.id.to_string(),
        site_name: record.document.site.name.clone(),
        number: standing.listing.number,
        when: when(&standing.listing),
        open: standing.listing.closed.is_none(),
        told,
        shown,
        n_told: standing.entries.len(),
        findings,
        n_findings,
        words: record.document.site.region.words.clone(),
        key: desk.fresh(),
        attached: attach::of_visit(desk, standing, None).await?,
    })
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
    let panels = site.panels.iter().map(|it| {
        let name = format!("The {} {}", site.region.words.panel, it.id);
        (format!("panel:{}", it.id), name)
    });
    let machines = file
        .machine
        .iter()
        .map(|it| (format!("machine:{}", it.id), it.id.clone()));
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
        protected: panels.chain(outlets.clone()).chain(upses.clone()).collect(),
        machines: machines.collect(),
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
