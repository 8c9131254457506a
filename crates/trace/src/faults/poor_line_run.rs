//! A poor joint in the line of a run: it heats under load, and what is behind it gets less voltage.

use chain::element::Conductor;
use site::visit::Reach;

use crate::fault::{Fault, Kind, Misreads, Prevalence, Sits};

use super::joint::{HOT, POOR};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "poor-line-run",
    says: "there is a poor joint in the {line} between {before} and {at}",
    sits: Sits::Run,
    severity: POOR,
    prevalence: Prevalence::judged(
        2e-3,
        "our guess, per run of a site",
    ),
    alters: |place, _| Some(vec![place.resists(Conductor::Line)]),
    misreads: Misreads::Nothing,
    steps: HOT,
    mends: "A licensed electrician finds and remakes the joint in the {line} between {before} and {at}.",
    caution: "The joint heats with every load behind it: plug nothing of more than a lamp or a screen there, and stop at any warmth, smell or crackle.",
    reach: Reach::Circuit,
    signs: &[
        (Kind::Warm, 0.25),
        (Kind::Flicker, 0.35),
        (Kind::Dimming, 0.35),
        (Kind::Buzzing, 0.15),
        (Kind::Burnt, 0.12),
        (Kind::ArcTripped, 0.05),
    ],
};
