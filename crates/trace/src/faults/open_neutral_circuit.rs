//! Open neutral at the start of a circuit: all of its outlets float, loads pull their neutral contacts to the line.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::BROKEN;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "open-neutral-circuit",
    says: "the {neutral} of {circuit} is open at {panel}",
    sits: Sits::Circuit,
    severity: BROKEN,
    prevalence: Prevalence::judged(
        1.5e-3,
        "our guess, per circuit of a site",
    ),
    alters: |place, _| {
        let own = place.has_neutral() && place.partner().is_none();
        own.then(|| vec![place.resists(Conductor::Neutral)])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::danger(0.0, Who::Electrician, Harm::of(0.4, 0.1, 0.2))],
    mends: "A licensed electrician remakes the {neutral} of {circuit} at {panel}.",
    caution: "Every {neutral} contact of {circuit} may be at full line voltage although nothing runs: switch its breaker off and unplug everything on it.",
    reach: Reach::Circuit,
    signs: &[(Kind::NeutralBroken, 0.3), 
        (Kind::Flicker, 0.25),
        (Kind::Buzzing, 0.15),
        (Kind::Warm, 0.1),
        (Kind::Burnt, 0.08),
        (Kind::AfterWorks, 0.2),
    ],
};
