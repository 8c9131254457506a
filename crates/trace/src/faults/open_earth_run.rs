//! Open earth on a run: everything works, cases behind it float near half of the line voltage and nothing trips on a fault.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::BROKEN;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "open-earth-run",
    says: "the {earth} is broken between {before} and {at}",
    sits: Sits::Run,
    severity: BROKEN,
    prevalence: Prevalence::judged(
        2.5e-3,
        "our guess, per run of a site",
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
        Harm::of(0.05, 0.0, 0.02),
    )],
    mends: "A licensed electrician finds and remakes the broken {earth} between {before} and {at}.",
    caution: "Metal cases behind it may tingle, and a fault inside one makes it live without tripping anything: use only double-insulated equipment there.",
    reach: Reach::Circuit,
    signs: &[(Kind::EarthMissing, 0.3), (Kind::AfterWorks, 0.15), (Kind::OldWiring, 0.15)],
};
