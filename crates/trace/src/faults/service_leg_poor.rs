//! A poor joint in one line of the service: everything on it dims when something heavy starts.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::POOR_SERVICE;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "service-leg-poor",
    says: "there is a poor joint in one {line} conductor of the service, before or at {panel}",
    sits: Sits::Service,
    severity: POOR_SERVICE,
    prevalence: Prevalence::judged(
        2e-3,
        "our guess, per line of the service of a site",
    ),
    alters: |place, _| Some(vec![place.resists(Conductor::Leg(place.leg))]),
    misreads: Misreads::Nothing,
    steps: &[
        Step::defect(0.0, Who::Utility, Harm::of(0.02, 0.12, 0.1)).now(),
        Step::danger(0.1, Who::Utility, Harm::of(0.05, 0.4, 0.25)),
    ],
    mends: "Call the utility with the voltages under load; if its side is sound a licensed electrician examines the main breaker and {panel}.",
    caution: "The joint heats where nobody looks, at the meter or in {panel}: switch heavy loads off and call at once if either is warm, buzzes or smells.",
    reach: Reach::Leg,
    signs: &[
        (Kind::Dimming, 0.55),
        (Kind::Flicker, 0.5),
        (Kind::Buzzing, 0.25),
        (Kind::Warm, 0.1),
        (Kind::Burnt, 0.08),
        (Kind::AfterStorm, 0.15),
    ],
};
