//! No earth was ever run on a circuit: old two-wire cable, or two-slot practice.
//!
//! Tried where nobody knows; where it is told that there is none, the site without a fault already has none.

use chain::element::Conductor;
use site::finding::Who;
use site::model::EarthRun;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "no-earth-run",
    says: "no {earth} was ever run on {circuit}",
    sits: Sits::Circuit,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        2e-2,
        "our guess, per circuit of which nobody knows whether an earth was run",
    ),
    alters: |place, _| {
        let can = place.circuit()?.earth_run == EarthRun::NotKnown;
        can.then(|| vec![place.parts(Conductor::Earth)])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::defect(
        0.0,
        Who::Electrician,
        Harm::of(0.05, 0.0, 0.02),
    )],
    mends: "A licensed electrician brings an {earth} to {circuit}, or fits protection that the local code allows without one.",
    caution: "Metal cases on it are not protected and may tingle, and a surge protector cannot divert to {earth}: use only double-insulated equipment on it.",
    reach: Reach::Circuit,
    signs: &[(Kind::EarthMissing, 0.3), (Kind::OldWiring, 0.8)],
};
