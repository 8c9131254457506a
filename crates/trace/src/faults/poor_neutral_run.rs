//! A poor joint in the neutral of a run: it heats under load, and the neutral behind it rises against earth.

use chain::element::Conductor;
use site::visit::Reach;

use crate::fault::{Fault, Kind, Misreads, Prevalence, Sits};

use super::joint::{HOT, POOR};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "poor-neutral-run",
    says: "there is a poor joint in the {neutral} between {before} and {at}",
    sits: Sits::Run,
    severity: POOR,
    prevalence: Prevalence::judged(
        2.5e-3,
        "our guess, per run of a site",
    ),
    alters: |place, _| Some(vec![place.resists(Conductor::Neutral)]),
    misreads: Misreads::Nothing,
    steps: HOT,
    mends: "A licensed electrician finds and remakes the joint in the {neutral} between {before} and {at}.",
    caution: "The joint heats with every load behind it and may open, which makes {neutral} contacts live: keep heaters and printers off and stop at any warmth or smell.",
    reach: Reach::Circuit,
    signs: &[(Kind::NeutralBroken, 0.15), 
        (Kind::Warm, 0.25),
        (Kind::Flicker, 0.35),
        (Kind::Dimming, 0.35),
        (Kind::Buzzing, 0.15),
        (Kind::Burnt, 0.12),
        (Kind::ArcTripped, 0.05),
    ],
};
