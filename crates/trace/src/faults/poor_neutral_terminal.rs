//! A poor neutral connection behind the face of one outlet.

use chain::element::Conductor;
use site::visit::Reach;

use crate::fault::{Fault, Kind, Misreads, Prevalence, Sits};

use super::joint::{HOT, POOR};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "poor-neutral-terminal",
    says: "the {neutral} connection at {at} is poor",
    sits: Sits::Outlet,
    severity: POOR,
    prevalence: Prevalence::judged(
        2e-3,
        "our guess, per outlet of a site",
    ),
    alters: |place, _| {
        place
            .is_fixed()
            .then(|| vec![place.resists(Conductor::Neutral)])
    },
    misreads: Misreads::Nothing,
    steps: HOT,
    mends: "A licensed electrician remakes the {neutral} connection at {at} and replaces the receptacle if it is discoloured.",
    caution: "The receptacle heats under load, and if the connection opens its {neutral} slot becomes live: unplug heavy loads here.",
    reach: Reach::Outlet,
    signs: &[(Kind::NeutralBroken, 0.15), 
        (Kind::Warm, 0.35),
        (Kind::Burnt, 0.2),
        (Kind::Buzzing, 0.2),
        (Kind::Flicker, 0.3),
        (Kind::Dimming, 0.2),
        (Kind::LoosePlug, 0.15),
        (Kind::ArcTripped, 0.05),
    ],
};
