//! The neutral of a feeder is lost: behind that panel the lines share their voltage by load.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::BROKEN;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "feeder-neutral-open",
    says: "the {neutral} of the feeder to {panel} is lost",
    sits: Sits::SubPanel,
    severity: BROKEN,
    prevalence: Prevalence::judged(
        3e-3,
        "our guess, per panel fed by another, of a site",
    ),
    alters: |place, _| (place.leg == 0).then(|| vec![place.resists(Conductor::Neutral)]),
    misreads: Misreads::Nothing,
    steps: &[Step::danger(0.0, Who::Electrician, Harm::of(0.4, 0.4, 0.8))],
    mends: "A licensed electrician finds and remakes the {neutral} of the feeder to {panel}.",
    caution: "Outlets fed from {panel} may get line to line and their {neutral} contacts go live: unplug all electronics there now.",
    reach: Reach::Floor,
    signs: &[(Kind::NeutralBroken, 0.3), 
        (Kind::Brightening, 0.55),
        (Kind::Flicker, 0.5),
        (Kind::Dimming, 0.5),
        (Kind::EquipmentBurnt, 0.3),
        (Kind::Buzzing, 0.15),
        (Kind::AfterWorks, 0.2),
    ],
};
