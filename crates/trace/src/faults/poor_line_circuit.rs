//! A poor line connection or worn breaker contact at the start of a circuit: all of it dims under load.

use chain::element::Conductor;
use site::visit::Reach;

use crate::fault::{Fault, Kind, Misreads, Prevalence, Sits};

use super::joint::{HOT, POOR};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "poor-line-circuit",
    says: "the {line} connection or the breaker of {circuit} is poor at {panel}",
    sits: Sits::Circuit,
    severity: POOR,
    prevalence: Prevalence::judged(
        1.5e-3,
        "our guess, per circuit of a site",
    ),
    alters: |place, _| Some(vec![place.resists(Conductor::Line)]),
    misreads: Misreads::Nothing,
    steps: HOT,
    mends: "A licensed electrician examines the breaker and its connections of {circuit} at {panel}.",
    caution: "The heat is made inside {panel}: take the load off {circuit}, leave the cover on, and call at once if {panel} is warm, buzzes or smells.",
    reach: Reach::Circuit,
    signs: &[
        (Kind::Warm, 0.2),
        (Kind::Buzzing, 0.3),
        (Kind::Flicker, 0.35),
        (Kind::Dimming, 0.4),
        (Kind::Burnt, 0.1),
        (Kind::BreakerTripped, 0.2),
    ],
};
