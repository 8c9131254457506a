//! One line of the service is lost: its outlets are dead, or fed backwards through equipment between two lines.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::BROKEN;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "service-leg-open",
    says: "one {line} conductor of the service is lost, before or at {panel}",
    sits: Sits::Service,
    severity: BROKEN,
    prevalence: Prevalence::judged(
        3e-3,
        "our guess, per line of the service of a site",
    ),
    alters: |place, _| {
        let several = place.site.service.system.legs.len() > 1;
        several.then(|| vec![place.resists(Conductor::Leg(place.leg))])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::defect(0.0, Who::Utility, Harm::of(0.06, 0.08, 0.3)).now()],
    mends: "Call the utility; if the line is present at its meter a licensed electrician examines the main breaker and {panel}.",
    caution: "Outlets that seem dead may be live through heaters and motors between two lines, and motors burn: switch off motors, cooling and heating, treat dead outlets as live.",
    reach: Reach::Leg,
    signs: &[
        (Kind::Dimming, 0.4),
        (Kind::Flicker, 0.3),
        (Kind::Buzzing, 0.2),
        (Kind::AfterStorm, 0.3),
        (Kind::BreakerTripped, 0.15),
        (Kind::EquipmentBurnt, 0.05),
    ],
};
