//! A poor joint in the neutral that two circuits share: load on one moves the voltage of the other.

use chain::element::Conductor;
use site::visit::Reach;

use crate::fault::{Fault, Kind, Misreads, Prevalence, Sits};

use super::joint::{HOT, POOR};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "shared-neutral-poor",
    says: "there is a poor joint in the {neutral} that {circuit} shares with another circuit",
    sits: Sits::SharedNeutral,
    severity: POOR,
    prevalence: Prevalence::judged(
        5e-3,
        "our guess, per shared neutral of a site",
    ),
    alters: |place, _| {
        place
            .owns_a_shared_neutral()
            .then(|| vec![place.resists(Conductor::Neutral)])
    },
    misreads: Misreads::Nothing,
    steps: HOT,
    mends: "A licensed electrician finds and remakes the joint in the shared {neutral} of {circuit}.",
    caution: "If the joint opens, outlets of both circuits get up to line to line: take heavy loads off both and unplug electronics that are not needed.",
    reach: Reach::Circuit,
    signs: &[(Kind::NeutralBroken, 0.15), 
        (Kind::Brightening, 0.4),
        (Kind::Dimming, 0.45),
        (Kind::Flicker, 0.4),
        (Kind::Warm, 0.15),
        (Kind::Buzzing, 0.15),
        (Kind::EquipmentBurnt, 0.1),
    ],
};
