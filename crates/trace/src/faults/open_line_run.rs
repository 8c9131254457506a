//! Open line on a run: what hangs behind the break is dead.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::BROKEN;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "open-line-run",
    says: "the {line} is broken between {before} and {at}",
    sits: Sits::Run,
    severity: BROKEN,
    prevalence: Prevalence::judged(
        1.5e-3,
        "our guess, per run of a site",
    ),
    alters: |place, _| Some(vec![place.resists(Conductor::Line)]),
    misreads: Misreads::Nothing,
    steps: &[Step::dead(0.0, Who::Electrician, Harm::of(0.05, 0.1, 0.02))],
    mends: "A licensed electrician finds and remakes the broken {line} between {before} and {at}.",
    caution: "A wire that burnt off may touch again and arc: keep the breaker of {circuit} off if anything smells, buzzes or is warm.",
    reach: Reach::Circuit,
    signs: &[
        (Kind::Flicker, 0.25),
        (Kind::Buzzing, 0.15),
        (Kind::Burnt, 0.12),
        (Kind::Warm, 0.1),
        (Kind::AfterWorks, 0.15),
    ],
};
