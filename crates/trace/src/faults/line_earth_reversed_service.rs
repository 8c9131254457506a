//! A line and the earth of the service exchanged, where the earth comes from the source on its own: all earths are live.

use chain::element::Conductor;
use site::finding::Who;
use site::model::Earthing;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "line-earth-reversed-service",
    says: "a {line} conductor and the {earth} of the service are exchanged",
    sits: Sits::Service,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        5e-5,
        "our guess, per line of the service of a site",
    ),
    alters: |place, _| {
        let can = place.site.service.earthing == Earthing::TnS;
        can.then(|| vec![place.exchanges(Conductor::Leg(place.leg), Conductor::Earth)])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::danger(0.0, Who::Utility, Harm::of(0.9, 0.3, 0.3))],
    mends: "Call the utility's emergency line: it puts the service conductors right.",
    caution: "Every metal case with an {earth} is at line voltage, also of switched-off machines: touch no metal and keep people away from it.",
    reach: Reach::House,
    signs: &[(Kind::AfterWorks, 0.6), (Kind::AfterStorm, 0.2)],
};
