//! The arc-fault device of a circuit is open: it heard an arc in a cable, a cord or a machine, or took a machine for one.
//!
//! Under a condition that tells the breaker closed nothing is changed.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

use super::place::breaker_is_closed;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "arc-device-open",
    says: "the arc-fault device of {circuit} is open",
    sits: Sits::Circuit,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        1.5e-2,
        "our guess, per circuit of a site",
    ),
    alters: |place, condition| {
        place.circuit()?.arc_fault.then_some(())?;
        if breaker_is_closed(place, condition) {
            return Some(Vec::new());
        }
        Some(vec![place.parts(Conductor::Line)])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::dead(0.0, Who::Technician, Harm::of(0.02, 0.1, 0.0))],
    mends: "Unplug what is on {circuit}, look for damaged cords, reset the device once at its handle; if it opens again leave it off and call a licensed electrician.",
    caution: "It opened because something arced, perhaps inside a wall: leave it off if anything crackled, smelt or is warm.",
    reach: Reach::Circuit,
    signs: &[
        (Kind::ArcTripped, 0.8),
        (Kind::BreakerTripped, 0.93),
        (Kind::Buzzing, 0.15),
        (Kind::Burnt, 0.05),
        (Kind::Flicker, 0.15),
    ],
};
