//! A poor joint in the neutral of a feeder: behind that panel the lines move apart with load.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::POOR_SERVICE;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "feeder-neutral-poor",
    says: "there is a poor joint in the {neutral} of the feeder to {panel}",
    sits: Sits::SubPanel,
    severity: POOR_SERVICE,
    prevalence: Prevalence::judged(
        3e-3,
        "our guess, per panel fed by another, of a site",
    ),
    alters: |place, _| (place.leg == 0).then(|| vec![place.resists(Conductor::Neutral)]),
    misreads: Misreads::Nothing,
    steps: &[
        Step::defect(0.0, Who::Electrician, Harm::of(0.04, 0.1, 0.12)).now(),
        Step::danger(0.15, Who::Electrician, Harm::of(0.15, 0.35, 0.4)),
    ],
    mends: "A licensed electrician finds and remakes the joint in the {neutral} of the feeder to {panel}.",
    caution: "The joint can open at any time and then equipment behind {panel} burns: take heavy loads off it and unplug electronics that are not needed.",
    reach: Reach::Floor,
    signs: &[(Kind::NeutralBroken, 0.15), 
        (Kind::Brightening, 0.45),
        (Kind::Flicker, 0.5),
        (Kind::Dimming, 0.5),
        (Kind::EquipmentBurnt, 0.1),
        (Kind::Buzzing, 0.2),
        (Kind::Warm, 0.1),
    ],
};
