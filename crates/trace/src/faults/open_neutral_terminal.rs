//! Open neutral at the terminal of one outlet: a load there does not run and lifts its own neutral contact to the line.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::BROKEN;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "open-neutral-terminal",
    says: "the {neutral} is off its terminal at {at}",
    sits: Sits::Outlet,
    severity: BROKEN,
    prevalence: Prevalence::judged(
        1.5e-3,
        "our guess, per outlet of a site",
    ),
    alters: |place, _| {
        place
            .is_fixed()
            .then(|| vec![place.resists(Conductor::Neutral)])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::danger(
        0.0,
        Who::Electrician,
        Harm::of(0.3, 0.1, 0.05),
    )],
    mends: "A licensed electrician remakes the {neutral} connection at {at} or replaces the receptacle.",
    caution: "With anything plugged in both slots are live although nothing runs: unplug it by the plug and leave the outlet empty.",
    reach: Reach::Outlet,
    signs: &[(Kind::NeutralBroken, 0.3), 
        (Kind::Burnt, 0.1),
        (Kind::Buzzing, 0.1),
        (Kind::Warm, 0.1),
        (Kind::LoosePlug, 0.15),
        (Kind::AfterWorks, 0.2),
    ],
};
