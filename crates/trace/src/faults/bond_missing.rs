//! The neutral-earth bond of the service is missing: a fault to a case returns through soil only and trips nothing.

use chain::element::Conductor;
use site::finding::Who;
use site::model::Earthing;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::BROKEN;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "bond-missing",
    says: "the bond of {neutral} and {earth} at {panel} is missing",
    sits: Sits::ServicePanel,
    severity: BROKEN,
    prevalence: Prevalence::judged(3e-3, "our guess, per site"),
    alters: |place, _| {
        let can = place.site.service.earthing == Earthing::TnCS;
        can.then(|| vec![place.resists(Conductor::Earth)])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::defect(0.0, Who::Electrician, Harm::of(0.15, 0.03, 0.05)).now()],
    mends: "A licensed electrician makes the bond at {panel}, with the utility where it is theirs.",
    caution: "One faulty machine makes all metal cases of the premises live and no breaker opens: unplug metal-cased equipment that is not needed, and anything that tingles at once.",
    reach: Reach::House,
    signs: &[(Kind::AfterWorks, 0.3), (Kind::OldWiring, 0.15)],
};
