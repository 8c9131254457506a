//! The earth of a cord or strip is open, cut off or left out by an adapter.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::BROKEN;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "cord-open-earth",
    says: "the {earth} of the cord, strip or adapter to {at} is missing",
    sits: Sits::Cord,
    severity: BROKEN,
    prevalence: Prevalence::judged(
        1e-2,
        "our guess, per cord or strip of a site",
    ),
    alters: |place, _| Some(vec![place.resists(Conductor::Earth)]),
    misreads: Misreads::Nothing,
    steps: &[Step::dead(0.0, Who::Technician, Harm::of(0.06, 0.0, 0.03))],
    mends: "Replace the cord, strip or adapter to {at} by one with an {earth} from end to end.",
    caution: "Metal cases on it are not protected and may tingle, and its surge protection is halved: take it out of use, it costs little to replace.",
    reach: Reach::Outlet,
    signs: &[(Kind::EarthMissing, 0.3), (Kind::OldWiring, 0.15)],
};
