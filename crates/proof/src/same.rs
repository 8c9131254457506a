//! When two named causes are one and the same to anybody in front of the outlets.
//!
//! Narrowly: (1) a conductor opened, joined poorly or exchanged at the start of a circuit and on the only run that leaves
//! the panel; (2) the same on the run to the last outlet of a branch and at that outlet's own terminal; (3) a worn earth
//! contact and a poor earth at the terminal behind it; (4) all outlets of a circuit without an earth wire and an earth off
//! at the panel, where the circuit has one outlet; (5) the only line of a single-phase service open and no voltage from the
//! utility. Nothing else is forgiven here: whatever else no check can tell apart has to stand in the engine's own group.

use site::model::Site;
use trace::answer::{FaultAt, Group};

use crate::sim::fault::{Fault, first_outlet, following};

/// A cause in the one form that stands for all its equivalents.
pub type Canonical = Vec<(String, String)>;

const PLACED: [&str; 8] = [
    "open-line",
    "open-neutral",
    "open-earth",
    "poor-line",
    "poor-neutral",
    "poor-earth",
    "line-neutral-reversed",
    "live-earth",
];

/// The one form of a fault at an element, `run:hall`.
#[must_use]
pub fn canonical(site: &Site, kind: &str, at: &str) -> (String, String) {
    let (mut kind, mut at) = (kind.to_owned(), at.to_owned());
    if kind == "worn-earth-contact" {
        kind = "poor-earth-terminal".into();
    }
    let id_of = |at: &str| {
        at.split_once(':')
            .map_or(String::new(), |(_, id)| id.to_owned())
    };
    let n_on = |c: usize| site.outlets.iter().filter(|o| o.circuit.0 == c).count();
    if kind == "no-earth-run" && site.circuit(&id_of(&at)).is_some_and(|c| n_on(c.0) == 1) {
        kind = "open-earth-circuit".into();
    }
    if kind == "service-leg-open" && site.service.system.legs.len() == 1 {
        return ("supply-dead".into(), "supply".into());
    }
    let Some(stem) = PLACED.iter().find(|s| {
        kind.strip_prefix(**s)
            .is_some_and(|rest| rest.starts_with('-'))
    }) else {
        return (kind, at);
    };
    if kind == format!("{stem}-circuit")
        && let Some(c) = site.circuit(&id_of(&at))
        && let Some((first, true)) = first_outlet(site, c.0)
    {
        kind = format!("{stem}-run");
        at = format!("run:{}", site.outlets[first].id);
    }
    if kind == format!("{stem}-run")
        && let Some(o) = site.outlet(&id_of(&at))
        && following(site, o.0).is_empty()
    {
        let own = if ["line-neutral-reversed", "live-earth"].contains(stem) {
            "outlet"
        } else {
            "terminal"
        };
        kind = format!("{stem}-{own}");
        at = format!("outlet:{}", site.outlets[o.0].id);
    }
    (kind, at)
}

/// The one form of what is true.
#[must_use]
pub fn of_truth(site: &Site, faults: &[Fault]) -> Canonical {
    sorted(
        faults
            .iter()
            .map(|f| canonical(site, f.kind, &f.at.key(site)))
            .collect(),
    )
}

/// The one form of what was answered.
#[must_use]
pub fn of_answer(site: &Site, faults: &[FaultAt]) -> Canonical {
    sorted(
        faults
            .iter()
            .map(|f| canonical(site, &f.kind, &f.at))
            .collect(),
    )
}

fn sorted(mut all: Canonical) -> Canonical {
    all.sort();
    all
}

/// Whether a group holds a cause, as its leader or as another member. A group that says that nothing is wrong does not
/// hold a fault, whatever else stands in it, and a group led by a fault does not hold a sound site.
#[must_use]
pub fn holds(site: &Site, group: &Group, cause: &Canonical) -> bool {
    if group.faults.is_empty() != cause.is_empty() {
        return false;
    }
    let others = group.others.iter().map(|m| &m.faults);
    std::iter::once(&group.faults)
        .chain(others)
        .any(|f| of_answer(site, f) == *cause)
}
