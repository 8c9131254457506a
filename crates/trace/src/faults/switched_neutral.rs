//! The wall switch of an outlet breaks the neutral instead of the line.
//!
//! A visit that tells nothing of the switch is taken as one with the switch off: with it on there is nothing to see.

use chain::alter::Point;
use chain::element::{Conductor, Element};
use site::finding::Who;
use site::visit::{Reach, SwitchState};

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

use super::place::{JUMPER, joins, parts};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "switched-neutral",
    says: "the wall switch of {at} breaks the {neutral} instead of the {line}",
    sits: Sits::SwitchedOutlet,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        3e-3,
        "our guess, per switched outlet of a site",
    ),
    alters: |place, condition| {
        let o = place.outlet_ix()?;
        (place.is_fixed() && place.has_neutral()).then_some(())?;
        if condition.switches.contains(&(o, SwitchState::Closed)) {
            return Some(Vec::new());
        }
        let at = Element::Outlet(o);
        let mut changed = vec![parts(at, Conductor::Neutral)];
        if condition.switches.contains(&(o, SwitchState::Open)) {
            // The switch told open is not in the line.
            let (near, far) = (
                Point::Near(at, Conductor::Line),
                Point::Far(at, Conductor::Line),
            );
            changed.push(joins(near, far, JUMPER));
        }
        Some(changed)
    },
    misreads: Misreads::Nothing,
    steps: &[Step::defect(
        0.0,
        Who::Electrician,
        Harm::of(0.15, 0.02, 0.02),
    )],
    mends: "A licensed electrician moves the switch of {at} into the {line}.",
    caution: "Switched off, {at} and what is plugged in are still live, and the {neutral} contact rises to the {line}: unplug before touching a lamp or anything inside.",
    reach: Reach::Outlet,
    signs: &[(Kind::SwitchOff, 0.97), 
        (Kind::SwitchMatters, 0.8),
        (Kind::OldWiring, 0.4),
        (Kind::AfterWorks, 0.2),
    ],
};
