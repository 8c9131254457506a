//! A poor joint or too thin a wire in the neutral of a cord or strip: it heats under load.

use chain::element::Conductor;
use site::visit::Reach;

use crate::fault::{Fault, Kind, Misreads, Prevalence, Sits};

use super::joint::{HOT_CORD, POOR};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "cord-poor-neutral",
    says: "the {neutral} of the cord or strip to {at} is poor",
    sits: Sits::Cord,
    severity: POOR,
    prevalence: Prevalence::judged(
        4e-3,
        "our guess, per cord or strip of a site",
    ),
    alters: |place, _| Some(vec![place.resists(Conductor::Neutral)]),
    misreads: Misreads::Nothing,
    steps: HOT_CORD,
    mends: "Replace the cord or strip to {at} by one that is rated for its load.",
    caution: "It heats where it is bent, covered or plugged in, and if it opens both contacts at its end are live: unplug heaters from it now.",
    reach: Reach::Outlet,
    signs: &[
        (Kind::Warm, 0.45),
        (Kind::Burnt, 0.2),
        (Kind::Flicker, 0.3),
        (Kind::Dimming, 0.2),
        (Kind::LoosePlug, 0.2),
        (Kind::Buzzing, 0.1),
        (Kind::ArcTripped, 0.05),
    ],
};
