//! A poor joint in the earth of a run: unseen in use, too weak to trip a breaker on a fault.

use chain::element::Conductor;
use site::visit::Reach;

use crate::fault::{Fault, Kind, Misreads, Prevalence, Sits};

use super::joint::{POOR_EARTH, WEAK_EARTH};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "poor-earth-run",
    says: "there is a poor joint in the {earth} between {before} and {at}",
    sits: Sits::Run,
    severity: POOR_EARTH,
    prevalence: Prevalence::judged(
        1.5e-3,
        "our guess, per run of a site",
    ),
    alters: |place, _| {
        place
            .has_earth_wire()
            .then(|| vec![place.resists(Conductor::Earth)])
    },
    misreads: Misreads::Nothing,
    steps: WEAK_EARTH,
    mends: "A licensed electrician finds and remakes the joint in the {earth} between {before} and {at}.",
    caution: "A fault to a metal case may last instead of tripping the breaker: touch no metal case behind it together with pipes or another machine.",
    reach: Reach::Circuit,
    signs: &[
        (Kind::OldWiring, 0.15),
        (Kind::AfterWorks, 0.1),
        (Kind::Wet, 0.05),
    ],
};
