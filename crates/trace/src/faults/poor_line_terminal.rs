//! A poor line connection behind the face of one outlet.

use chain::element::Conductor;
use site::visit::Reach;

use crate::fault::{Fault, Kind, Misreads, Prevalence, Sits};

use super::joint::{HOT, POOR};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "poor-line-terminal",
    says: "the {line} connection at {at} is poor",
    sits: Sits::Outlet,
    severity: POOR,
    prevalence: Prevalence::judged(
        2e-3,
        "our guess, per outlet of a site",
    ),
    alters: |place, _| {
        place
            .is_fixed()
            .then(|| vec![place.resists(Conductor::Line)])
    },
    misreads: Misreads::Nothing,
    steps: HOT,
    mends: "A licensed electrician remakes the {line} connection at {at} and replaces the receptacle if it is discoloured.",
    caution: "The receptacle heats under load until it chars: unplug heavy loads here and feel the face for warmth with the back of the hand.",
    reach: Reach::Outlet,
    signs: &[
        (Kind::Warm, 0.35),
        (Kind::Burnt, 0.2),
        (Kind::Buzzing, 0.2),
        (Kind::Flicker, 0.3),
        (Kind::Dimming, 0.2),
        (Kind::LoosePlug, 0.15),
        (Kind::ArcTripped, 0.05),
    ],
};
