//! The breaker of a circuit is open: all of the circuit is dead and sound, until it is known why it opened.
//!
//! Under a condition that tells it closed nothing is changed.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

use super::place::breaker_is_closed;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "breaker-open",
    says: "the breaker of {circuit} is open",
    sits: Sits::Circuit,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        2e-2,
        "our guess, per circuit of a site",
    ),
    alters: |place, condition| {
        if breaker_is_closed(place, condition) {
            return Some(Vec::new());
        }
        let mut open = vec![place.parts(Conductor::Line)];
        if !place.has_neutral() {
            open.push(place.parts(Conductor::Neutral));
        }
        Some(open)
    },
    misreads: Misreads::Nothing,
    steps: &[Step::dead(
        0.0,
        Who::Technician,
        Harm::of(0.02, 0.04, 0.0),
    )],
    mends: "Unplug what is on {circuit}, reset its breaker once at the handle; if it opens again leave it off and call a licensed electrician.",
    caution: "A breaker opens for a reason: never hold it in or reset it a second time, and not at all if anything smelt or sparked.",
    reach: Reach::Circuit,
    signs: &[
        (Kind::BreakerTripped, 0.97),
        (Kind::Burnt, 0.03),
        (Kind::AfterStorm, 0.1),
        (Kind::AfterWorks, 0.1),
    ],
};
