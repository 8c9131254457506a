//! A line and the neutral of the service exchanged: the neutral of the premises is live, and what is bonded to it as well.
//!
//! With the bond at the service panel all earths are at line voltage, and outlets of the other lines get line to line.

use chain::element::Conductor;
use site::finding::Who;
use site::model::Earthing;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "line-neutral-reversed-service",
    says: "a {line} conductor and the {neutral} of the service are exchanged",
    sits: Sits::Service,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        1.5e-4,
        "our guess, per line of the service of a site",
    ),
    alters: |place, _| {
        let earth_is_lifted = place.site.service.earthing == Earthing::TnCS;
        let can = earth_is_lifted || place.somewhere_tells_line_from_neutral();
        can.then(|| vec![place.exchanges(Conductor::Leg(place.leg), Conductor::Neutral)])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::danger(0.0, Who::Utility, Harm::of(0.8, 0.4, 0.8))],
    mends: "Call the utility's emergency line: it puts the service conductors right.",
    caution: "Every metal case, pipe and {panel} itself may be at line voltage: touch no metal, keep people away from it and do not operate switches at the panel.",
    reach: Reach::House,
    signs: &[
        (Kind::AfterWorks, 0.6),
        (Kind::AfterStorm, 0.2),
        (Kind::EquipmentBurnt, 0.4),
    ],
};
