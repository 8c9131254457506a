//! What was told, in words, row by row: of a place, of a visit; so much of it as a page can hold.

use std::collections::HashMap;
use std::ops::Range;

use site::finding::Finding;
use site::visit::{Contact, Observation, Reading, Whereabouts};

use crate::pages::place::Row;
use crate::pages::site::encoded;
use crate::standing::Standing;

/// A page has so many rows; the others are a page of their own.
pub const ON_A_PAGE: usize = 200;
/// A place shows so many, latest first.
const AT_A_PLACE: usize = 40;
/// So many findings are worth reading, worst first.
const FINDINGS: usize = 60;

/// One thing told.
#[derive(Clone, Copy)]
enum Told<'v> {
    Reading(usize, &'v Reading),
    Observation(&'v Observation),
}

/// What was told, in its order: rows and what they mean run side by side.
fn told(standing: &Standing) -> impl Iterator<Item = (&store::Entry, Told<'_>)> {
    let mut readings = standing.visit.readings.iter().enumerate();
    let mut observations = standing.visit.observations.iter();
    standing.entries.iter().filter_map(move |entry| {
        let told = match entry.said {
            store::Said::Reading(_) => readings.next().map(|(n, it)| Told::Reading(n, it)),
            store::Said::Observation(_) => observations.next().map(Told::Observation),
        };
        Some((entry.as_ref(), told?))
    })
}

/// Identifiers of corrections by the place of what they correct.
fn corrections(standing: &Standing) -> HashMap<usize, &str> {
    let readings = standing.visit.readings.iter();
    readings
        .filter_map(|it| Some((it.corrects?.0, it.id.as_str())))
        .collect()
}

fn row(
    standing: &Standing,
    corrected: &HashMap<usize, &str>,
    (entry, told): (&store::Entry, Told<'_>),
) -> Row {
    let site = &standing.document.site;
    Row {
        id: entry.id.clone(),
        words: match told {
            Told::Reading(_, it) => trace::words::reading(site, it),
            Told::Observation(it) => trace::words::observation(site, it),
        },
        corrected_by: match told {
            Told::Reading(n, _) => corrected.get(&n).map(|it| (*it).to_owned()),
            Told::Observation(_) => None,
        },
        is_reading: matches!(told, Told::Reading(..)),
        correct: None,
    }
}

/// What was told at a place, latest first, and how much more there is.
pub fn at_place(standing: &Standing, outlet: &str, page: &str) -> (Vec<Row>, usize) {
    let site = &standing.document.site;
    let Some(here) = site.outlet(outlet) else {
        return (Vec::new(), 0);
    };
    let circuit = site.outlets[here.0].circuit;
    let is_here = |it: Contact| matches!(it, Contact::Outlet(o, _) if o == here);
    let belongs = |it: &Told<'_>| match it {
        Told::Reading(_, it) => is_here(it.from) || is_here(it.to),
        Told::Observation(it) => {
            [Whereabouts::Outlet(here), Whereabouts::Circuit(circuit)].contains(&it.at)
        }
    };
    let all: Vec<_> = told(standing).filter(|(_, it)| belongs(it)).collect();
    let corrected = corrections(standing);
    let latest = all.iter().rev().take(AT_A_PLACE);
    let mut rows: Vec<Row> = latest.map(|it| row(standing, &corrected, *it)).collect();
    let open = standing.listing.closed.is_none();
    for row in rows.iter_mut().filter(|it| open && it.is_reading) {
        row.correct = Some(format!("{page}?corrects={}#entry", encoded(&row.id)));
    }
    let n_more = all.len() - rows.len();
    (rows, n_more)
}

/// The rows of a visit that end with the one numbered `upto`, and which these are.
pub fn of_visit(standing: &Standing, upto: usize) -> (Vec<Row>, Range<usize>) {
    let upto = upto.min(standing.entries.len());
    let shown = upto.saturating_sub(ON_A_PAGE)..upto;
    let corrected = corrections(standing);
    let told = told(standing).skip(shown.start).take(shown.len());
    let rows = told.map(|it| row(standing, &corrected, it)).collect();
    (rows, shown)
}

/// The findings of readings against their limits that are worth reading, worst first, and how many there are.
pub fn worst_first(standing: &Standing) -> (Vec<Finding>, usize) {
    let mut all: Vec<&Finding> = standing.limits().collect();
    all.sort_by_key(|it| std::cmp::Reverse(it.verdict));
    let shown = all.iter().take(FINDINGS).map(|it| (*it).clone());
    (shown.collect(), all.len())
}
