//! The earth of a feeder is lost: nothing behind that panel trips on a fault to a case.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::BROKEN;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "feeder-earth-open",
    says: "the {earth} of the feeder to {panel} is open",
    sits: Sits::SubPanel,
    severity: BROKEN,
    prevalence: Prevalence::judged(
        6e-3,
        "our guess, per panel fed by another, of a site",
    ),
    alters: |place, _| (place.leg == 0).then(|| vec![place.resists(Conductor::Earth)]),
    misreads: Misreads::Nothing,
    steps: &[Step::defect(
        0.0,
        Who::Electrician,
        Harm::of(0.1, 0.01, 0.02),
    )],
    mends: "A licensed electrician connects the {earth} of the feeder to {panel}.",
    caution: "One faulty machine makes the cases of all others behind {panel} live: use only double-insulated equipment there.",
    reach: Reach::Floor,
    signs: &[(Kind::EarthMissing, 0.3), (Kind::AfterWorks, 0.25), (Kind::OldWiring, 0.25)],
};
