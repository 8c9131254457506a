//! A poor joint in one line of a feeder: that panel dims when something heavy starts, and the joint heats.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::POOR_SERVICE;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "feeder-line-poor",
    says: "there is a poor joint in one {line} conductor of the feeder to {panel}",
    sits: Sits::SubPanel,
    severity: POOR_SERVICE,
    prevalence: Prevalence::judged(
        2e-3,
        "our guess, per panel fed by another, of a site",
    ),
    alters: |place, _| Some(vec![place.resists(Conductor::Leg(place.leg))]),
    misreads: Misreads::Nothing,
    steps: &[
        Step::defect(0.0, Who::Electrician, Harm::of(0.02, 0.12, 0.08)).now(),
        Step::danger(0.15, Who::Electrician, Harm::of(0.05, 0.4, 0.2)),
    ],
    mends: "A licensed electrician finds and remakes the joint in the feeder to {panel}.",
    caution: "The joint heats inside a panel or along the feeder: take heavy loads off {panel} and call at once if either panel is warm, buzzes or smells.",
    reach: Reach::Floor,
    signs: &[
        (Kind::Dimming, 0.5),
        (Kind::Flicker, 0.45),
        (Kind::Buzzing, 0.25),
        (Kind::Warm, 0.15),
        (Kind::Burnt, 0.08),
    ],
};
