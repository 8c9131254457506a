//! Open line at the start of a circuit: the breaker is closed and passes nothing, or the wire is off its screw.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::BROKEN;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "open-line-circuit",
    says: "the {line} of {circuit} is open at {panel} although its breaker is closed",
    sits: Sits::Circuit,
    severity: BROKEN,
    prevalence: Prevalence::judged(
        1e-3,
        "our guess, per circuit of a site",
    ),
    alters: |place, _| Some(vec![place.resists(Conductor::Line)]),
    misreads: Misreads::Nothing,
    steps: &[Step::dead(
        0.0,
        Who::Electrician,
        Harm::of(0.03, 0.12, 0.02),
    )],
    mends: "A licensed electrician examines the breaker and the {line} connection of {circuit} at {panel}.",
    caution: "A burnt breaker or a wire off its screw may touch again: switch the breaker off, leave the cover of {panel} on, and call at once if it is warm or smells.",
    reach: Reach::Circuit,
    signs: &[
        (Kind::Buzzing, 0.2),
        (Kind::Burnt, 0.15),
        (Kind::Warm, 0.2),
        (Kind::Flicker, 0.25),
    ],
};
