//! The earth conductor of the service is lost, where it comes from the source on its own.

use chain::element::Conductor;
use site::finding::Who;
use site::model::Earthing;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::BROKEN;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "service-earth-open",
    says: "the {earth} of the service is lost",
    sits: Sits::Service,
    severity: BROKEN,
    prevalence: Prevalence::judged(2e-3, "our guess, per site"),
    alters: |place, _| {
        let can = place.leg == 0 && place.site.service.earthing == Earthing::TnS;
        can.then(|| vec![place.resists(Conductor::Earth)])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::defect(0.0, Who::Utility, Harm::of(0.12, 0.02, 0.02)).now()],
    mends: "Call the utility; a licensed electrician examines the main {earth} terminal if its side is sound.",
    caution: "One faulty machine makes all metal cases of the premises live and no breaker opens: unplug metal-cased equipment that is not needed, and anything that tingles at once.",
    reach: Reach::House,
    signs: &[(Kind::EarthMissing, 0.1), 
        (Kind::AfterWorks, 0.2),
        (Kind::OldWiring, 0.2),
        (Kind::AfterStorm, 0.1),
    ],
};
