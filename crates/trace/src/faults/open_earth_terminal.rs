//! Open earth at the terminal of one outlet: the wire is there, its contact is not connected.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::BROKEN;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "open-earth-terminal",
    says: "the {earth} is not connected at {at}",
    sits: Sits::Outlet,
    severity: BROKEN,
    prevalence: Prevalence::judged(
        6e-3,
        "our guess, per outlet of a site",
    ),
    alters: |place, _| {
        let can = place.is_fixed() && place.has_earth_wire() && place.has_earth_contact();
        can.then(|| vec![place.resists(Conductor::Earth)])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::defect(
        0.0,
        Who::Electrician,
        Harm::of(0.05, 0.0, 0.02),
    )],
    mends: "A licensed electrician connects the {earth} at {at}.",
    caution: "A metal case plugged in here is not protected and may tingle: use only double-insulated equipment until it is connected.",
    reach: Reach::Outlet,
    signs: &[(Kind::EarthMissing, 0.3), (Kind::AfterWorks, 0.25), (Kind::OldWiring, 0.2)],
};
