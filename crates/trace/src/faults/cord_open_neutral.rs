//! The neutral of a cord or strip is open: dead at its end, and the neutral contact there rises to the line.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::BROKEN;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "cord-open-neutral",
    says: "the {neutral} of the cord or strip to {at} is broken",
    sits: Sits::Cord,
    severity: BROKEN,
    prevalence: Prevalence::judged(
        4e-3,
        "our guess, per cord or strip of a site",
    ),
    alters: |place, _| Some(vec![place.resists(Conductor::Neutral)]),
    misreads: Misreads::Nothing,
    steps: &[Step::danger(
        0.0,
        Who::Technician,
        Harm::of(0.3, 0.08, 0.05),
    )],
    mends: "Replace the cord or strip to {at}; do not mend it.",
    caution: "Both contacts at its end may be live although nothing runs: pull the plug at the wall end first, and throw the cord away.",
    reach: Reach::Outlet,
    signs: &[(Kind::NeutralBroken, 0.3), 
        (Kind::Flicker, 0.2),
        (Kind::Warm, 0.1),
        (Kind::Burnt, 0.08),
        (Kind::LoosePlug, 0.1),
    ],
};
