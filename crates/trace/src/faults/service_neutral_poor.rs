//! A poor joint in the neutral of the service: the voltages of the lines move apart with load; it often ends open.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::POOR_SERVICE;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "service-neutral-poor",
    says: "there is a poor joint in the {neutral} of the service",
    sits: Sits::Service,
    severity: POOR_SERVICE,
    prevalence: Prevalence::judged(5e-3, "our guess, per site"),
    alters: |place, _| (place.leg == 0).then(|| vec![place.resists(Conductor::Neutral)]),
    misreads: Misreads::Nothing,
    steps: &[
        Step::defect(0.0, Who::Utility, Harm::of(0.05, 0.1, 0.15)).now(),
        Step::danger(0.1, Who::Utility, Harm::of(0.2, 0.35, 0.5)),
    ],
    mends: "Call the utility and say that the service {neutral} is poor, with the voltages under load; a licensed electrician follows if it is behind the meter.",
    caution: "The joint can open at any time, and then equipment burns and cases go live: unplug electronics that are not needed, and all of it if lights brighten.",
    reach: Reach::House,
    signs: &[(Kind::NeutralBroken, 0.15), 
        (Kind::Brightening, 0.5),
        (Kind::Flicker, 0.5),
        (Kind::Dimming, 0.5),
        (Kind::EquipmentBurnt, 0.12),
        (Kind::Buzzing, 0.15),
        (Kind::AfterStorm, 0.2),
    ],
};
