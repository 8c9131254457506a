//! A poor neutral connection at the start of a circuit: all of its neutrals rise against earth under load.

use chain::element::Conductor;
use site::visit::Reach;

use crate::fault::{Fault, Kind, Misreads, Prevalence, Sits};

use super::joint::{HOT, POOR};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "poor-neutral-circuit",
    says: "the {neutral} connection of {circuit} is poor at {panel}",
    sits: Sits::Circuit,
    severity: POOR,
    prevalence: Prevalence::judged(
        1.5e-3,
        "our guess, per circuit of a site",
    ),
    alters: |place, _| {
        let own = place.has_neutral() && place.partner().is_none();
        own.then(|| vec![place.resists(Conductor::Neutral)])
    },
    misreads: Misreads::Nothing,
    steps: HOT,
    mends: "A licensed electrician remakes the {neutral} connection of {circuit} at {panel}.",
    caution: "The heat is made inside {panel}, and if the connection opens the {neutral} contacts of {circuit} become live: take the load off the circuit.",
    reach: Reach::Circuit,
    signs: &[(Kind::NeutralBroken, 0.15), 
        (Kind::Warm, 0.2),
        (Kind::Buzzing, 0.25),
        (Kind::Flicker, 0.35),
        (Kind::Dimming, 0.4),
        (Kind::Burnt, 0.1),
    ],
};
