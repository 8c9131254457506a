//! The line of a cord or strip is open: dead at its end.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::BROKEN;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "cord-open-line",
    says: "the {line} of the cord or strip to {at} is broken",
    sits: Sits::Cord,
    severity: BROKEN,
    prevalence: Prevalence::judged(
        6e-3,
        "our guess, per cord or strip of a site",
    ),
    alters: |place, _| Some(vec![place.resists(Conductor::Line)]),
    misreads: Misreads::Nothing,
    steps: &[Step::dead(0.0, Who::Technician, Harm::of(0.04, 0.08, 0.0))],
    mends: "Replace the cord or strip to {at}; do not mend it.",
    caution: "A broken strand arcs when the cord is bent: pull the plug at the wall end first, and throw the cord away.",
    reach: Reach::Outlet,
    signs: &[
        (Kind::Flicker, 0.2),
        (Kind::Warm, 0.1),
        (Kind::Burnt, 0.08),
        (Kind::LoosePlug, 0.1),
    ],
};
