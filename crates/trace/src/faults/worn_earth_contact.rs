//! A worn earth contact: the spring no longer presses on the pin.

use chain::element::Conductor;
use site::visit::Reach;

use crate::fault::{Fault, Kind, Misreads, Prevalence, Severity, Sits};

use super::joint::WEAK_EARTH;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "worn-earth-contact",
    says: "the {earth} contact of {at} is worn",
    sits: Sits::Outlet,
    severity: Severity::LogUniform(0.3, 1e5),
    prevalence: Prevalence::judged(
        3e-3,
        "our guess, per outlet of a site",
    ),
    alters: |place, _| {
        let can = place.is_fixed() && place.has_earth_wire() && place.has_earth_contact();
        can.then(|| vec![place.resists(Conductor::Earth)])
    },
    misreads: Misreads::Nothing,
    steps: WEAK_EARTH,
    mends: "A licensed electrician replaces the receptacle at {at}.",
    caution: "The {earth} may come and go with the way the plug hangs: prefer double-insulated equipment here and pull on no cord.",
    reach: Reach::Outlet,
    signs: &[(Kind::EarthMissing, 0.1), (Kind::LoosePlug, 0.6)],
};
