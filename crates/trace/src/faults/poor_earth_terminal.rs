//! A poor earth connection behind the face of one outlet.

use chain::element::Conductor;
use site::visit::Reach;

use crate::fault::{Fault, Kind, Misreads, Prevalence, Sits};

use super::joint::{POOR_EARTH, WEAK_EARTH};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "poor-earth-terminal",
    says: "the {earth} connection at {at} is poor",
    sits: Sits::Outlet,
    severity: POOR_EARTH,
    prevalence: Prevalence::judged(
        1.5e-3,
        "our guess, per outlet of a site",
    ),
    alters: |place, _| {
        let can = place.is_fixed() && place.has_earth_wire() && place.has_earth_contact();
        can.then(|| vec![place.resists(Conductor::Earth)])
    },
    misreads: Misreads::Nothing,
    steps: WEAK_EARTH,
    mends: "A licensed electrician remakes the {earth} connection at {at}.",
    caution: "A fault inside a metal-cased machine plugged in here may not trip the breaker: prefer double-insulated equipment here.",
    reach: Reach::Outlet,
    signs: &[(Kind::OldWiring, 0.15), (Kind::AfterWorks, 0.1)],
};
