//! One line of a feeder is lost: its outlets are dead, or fed backwards through equipment between two lines.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::BROKEN;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "feeder-line-open",
    says: "one {line} conductor of the feeder to {panel} is open",
    sits: Sits::SubPanel,
    severity: BROKEN,
    prevalence: Prevalence::judged(
        2e-3,
        "our guess, per panel fed by another, of a site",
    ),
    alters: |place, _| Some(vec![place.resists(Conductor::Leg(place.leg))]),
    misreads: Misreads::Nothing,
    steps: &[Step::defect(0.0, Who::Electrician, Harm::of(0.06, 0.1, 0.2)).now()],
    mends: "A licensed electrician examines the feeder to {panel}, its breaker and both ends.",
    caution: "Outlets behind {panel} that seem dead may be live through equipment between two lines: treat them as live and switch motors, cooling and heating off.",
    reach: Reach::Floor,
    signs: &[
        (Kind::BreakerTripped, 0.4),
        (Kind::Dimming, 0.3),
        (Kind::Buzzing, 0.15),
        (Kind::Flicker, 0.2),
        (Kind::AfterWorks, 0.15),
    ],
};
