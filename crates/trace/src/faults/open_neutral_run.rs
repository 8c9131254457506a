//! Open neutral on a run: the return conductor is broken; what hangs behind it floats, loads pull it to line voltage.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::BROKEN;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "open-neutral-run",
    says: "the {neutral} is broken between {before} and {at}",
    sits: Sits::Run,
    severity: BROKEN,
    prevalence: Prevalence::judged(
        2e-3,
        "our guess, per run of a site",
    ),
    alters: |place, _| Some(vec![place.resists(Conductor::Neutral)]),
    misreads: Misreads::Nothing,
    steps: &[Step::danger(0.0, Who::Electrician, Harm::of(0.4, 0.1, 0.2))],
    mends: "A licensed electrician finds and remakes the broken {neutral} between {before} and {at}.",
    caution: "The {neutral} contact may be at full line voltage although equipment seems dead: do not touch it, unplug what is behind it.",
    reach: Reach::Circuit,
    signs: &[(Kind::NeutralBroken, 0.3), 
        (Kind::Flicker, 0.25),
        (Kind::Buzzing, 0.1),
        (Kind::Burnt, 0.08),
        (Kind::Warm, 0.08),
        (Kind::AfterWorks, 0.15),
    ],
};
