//! Open earth at the start of a circuit: none of its outlets has an earth.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::BROKEN;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "open-earth-circuit",
    says: "the {earth} of {circuit} is not connected at {panel}",
    sits: Sits::Circuit,
    severity: BROKEN,
    prevalence: Prevalence::judged(
        3e-3,
        "our guess, per circuit of a site",
    ),
    alters: |place, _| {
        place
            .has_earth_wire()
            .then(|| vec![place.resists(Conductor::Earth)])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::defect(
        0.0,
        Who::Electrician,
        Harm::of(0.06, 0.0, 0.02),
    )],
    mends: "A licensed electrician connects the {earth} of {circuit} at {panel}.",
    caution: "One faulty machine makes the cases of all others on {circuit} live, because their {earth} contacts are joined to nothing else: use only double-insulated equipment on it.",
    reach: Reach::Circuit,
    signs: &[(Kind::EarthMissing, 0.3), (Kind::AfterWorks, 0.2), (Kind::OldWiring, 0.25)],
};
