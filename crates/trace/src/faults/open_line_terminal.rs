//! Open line at the terminal of one outlet: it is dead, what follows on the cable works.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::BROKEN;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "open-line-terminal",
    says: "the {line} is off its terminal at {at}",
    sits: Sits::Outlet,
    severity: BROKEN,
    prevalence: Prevalence::judged(
        1.2e-3,
        "our guess, per outlet of a site",
    ),
    alters: |place, _| {
        place
            .is_fixed()
            .then(|| vec![place.resists(Conductor::Line)])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::dead(0.0, Who::Electrician, Harm::of(0.05, 0.1, 0.0))],
    mends: "A licensed electrician remakes the {line} connection at {at} or replaces the receptacle.",
    caution: "The loose wire behind the face is live and may arc against the box: leave the face on and nothing plugged in.",
    reach: Reach::Outlet,
    signs: &[
        (Kind::Burnt, 0.12),
        (Kind::Buzzing, 0.12),
        (Kind::Warm, 0.1),
        (Kind::LoosePlug, 0.15),
        (Kind::AfterWorks, 0.2),
    ],
};
