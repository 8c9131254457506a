//! What is typed while being led becomes more of the visit.

use site::file;
use site::model::{Origin, OutletIx, Site};
use site::quick::{self, Counts};
use site::region::Region;
use site::visit::{Contact, Visit, Whereabouts};
use trace::answer::Next;

use crate::ending::Refusal;
use crate::keep;

/// The outlet of the last thing told.
pub fn here(visit: &Visit) -> Option<OutletIx> {
    let read = visit.readings.iter().rev().find_map(|it| match it.from {
        Contact::Outlet(outlet, _) => Some(outlet),
        _ => None,
    });
    read.or_else(|| {
        visit.observations.iter().rev().find_map(|it| match it.at {
            Whereabouts::Outlet(outlet) => Some(outlet),
            _ => None,
        })
    })
}

/// The outlet that a check is about: a result told without a name belongs there.
pub fn place_of(next: &Next, site: &Site) -> Option<OutletIx> {
    if let Some(circuit) = next.key.strip_prefix("breaker:") {
        let circuit = site.circuits.iter().position(|it| it.id == circuit)?;
        return site
            .outlets
            .iter()
            .position(|it| it.circuit.0 == circuit)
            .map(OutletIx);
    }
    let (name, _) = next.tell.split_once(':')?;
    site.outlets
        .iter()
        .position(|it| it.id == name)
        .map(OutletIx)
}

/// A result as it was typed: a whole line, or only what stands for the dots of the check's own line.
pub fn tell(
    line: &str,
    next: Option<&Next>,
    site: &Site,
    visit: &Visit,
) -> Result<(Site, Visit), Refusal> {
    let place = next
        .and_then(|it| place_of(it, site))
        .or_else(|| here(visit));
    let whole = add(line, site, visit, place).and_then(|it| told_something(it, visit));
    let Err(refusal) = whole else { return whole };
    let Some(completed) = next.and_then(|it| complete(line.trim(), it)) else {
        return Err(refusal);
    };
    let completed = add(&completed, site, visit, place).and_then(|it| told_something(it, visit));
    // a value alone is meant for the check, and so are its problems
    let value = |c: char| c.is_ascii_digit() || "~<>+-−".contains(c);
    if completed.is_ok() || line.trim_start().starts_with(value) {
        return completed;
    }
    Err(refusal)
}

fn told_something(new: (Site, Visit), old: &Visit) -> Result<(Site, Visit), Refusal> {
    if Counts::of(&new.1) == Counts::of(old) {
        return Err(Refusal::plain(
            "that tells no reading and nothing seen; \"help\" shows how to write it",
        ));
    }
    Ok(new)
}

/// The line that the check asks for, with the dots filled in or the alternative chosen.
fn complete(told: &str, next: &Next) -> Option<String> {
    if let Some((yes, no)) = next
        .tell
        .strip_suffix(')')
        .and_then(|it| it.split_once(" (or: "))
    {
        let place = yes
            .split_once(": ")
            .map_or(String::new(), |(place, _)| format!("{place}: "));
        let word = told.to_lowercase();
        let word = word
            .trim_start_matches("it ")
            .trim_start_matches("the ")
            .trim_start_matches("breaker ")
            .trim_start_matches("is ");
        return match word {
            "tripped" | "off" | "open" if next.key.starts_with("breaker:") => Some(yes.to_owned()),
            "on" | "closed" if next.key.starts_with("breaker:") => Some(no.to_owned()),
            "off" if next.key.starts_with("switch:") => Some(yes.to_owned()),
            "on" | "none" | "no switch" if next.key.starts_with("switch:") => {
                Some(format!("{place}{no}"))
            }
            "signals" | "signal" | "yes" | "beeps" | "lights" => Some(yes.to_owned()),
            "quiet" | "no" | "silent" | "no signal" | "stays quiet" => Some(format!("{place}{no}")),
            _ => None,
        };
    }
    let dots = if next.tell.contains("... V") {
        "... V"
    } else {
        "..."
    };
    next.tell
        .contains(dots)
        .then(|| next.tell.replacen(dots, told, 1))
}

/// A line added to a visit. Around an assumed site new names make new outlets.
pub fn add(
    line: &str,
    site: &Site,
    visit: &Visit,
    here: Option<OutletIx>,
) -> Result<(Site, Visit), Refusal> {
    if site.origin == Origin::Assumed {
        let known = |name: &str| {
            site.outlets
                .iter()
                .any(|it| it.id == name || it.label == name)
        };
        let new: Vec<String> = quick::places(line)
            .into_iter()
            .filter(|it| !known(it))
            .collect();
        if !new.is_empty() {
            let (wider, moved) = widen(site.region, site, visit, new)?;
            let here = here
                .and_then(|it| {
                    wider
                        .outlets
                        .iter()
                        .position(|o| o.id == site.outlets[it.0].id)
                })
                .map(OutletIx);
            let visit = quick::more(line, &wider, &moved, here)?;
            return Ok((wider, visit));
        }
    }
    let visit = quick::more(line, site, visit, here)?;
    Ok((site.clone(), visit))
}

/// The same visit at a site assumed around more outlets.
fn widen(
    region: &'static Region,
    site: &Site,
    visit: &Visit,
    new: Vec<String>,
) -> Result<(Site, Visit), Refusal> {
    let circuit = site.circuits.first().map(|_| 0);
    let told = site
        .outlets
        .iter()
        .filter(|it| Some(it.circuit.0) == circuit)
        .map(|it| it.id.clone());
    let wider = keep::assume(region, &told.chain(new).collect::<Vec<_>>());
    let document = quick::written(visit, site, Counts::default());
    let document =
        serde_json::to_value(document).map_err(|error| Refusal::plain(error.to_string()))?;
    let mut document = document;
    document["format"] = 1.into();
    document["cannot"] = visit.cannot.clone().into();
    let mut moved = file::visit_from_value(&document, "visit", &wider)?;
    (moved.site, moved.date, moved.skill) = (visit.site.clone(), visit.date, visit.skill);
    Ok((wider, moved))
}
