//! The earth contact hangs on a rod, a pipe or damp ground only: enough for a lamp tester, too little to trip a breaker.

use chain::alter::Point;
use chain::element::Conductor;
use site::finding::Who;
use site::visit::{Contact, Pin, Reach};

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

use super::place::leaks;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "earth-through-poor-path",
    says: "the {earth} contact of {at} goes to soil or a pipe only, not back to {panel}",
    sits: Sits::Outlet,
    severity: Severity::LogUniform(20.0, 2e3),
    prevalence: Prevalence::judged(
        1.5e-3,
        "our guess, per outlet of a site",
    ),
    alters: |place, _| {
        (place.is_fixed() && place.has_earth_contact()).then_some(())?;
        let to_soil = leaks(
            place.contact(Pin::Earth)?,
            Point::Contact(Contact::TrueEarth),
            1.0,
        );
        Some(vec![place.parts(Conductor::Earth), to_soil])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::defect(
        0.0,
        Who::Electrician,
        Harm::of(0.12, 0.01, 0.02),
    )],
    mends: "A licensed electrician connects the {earth} of {at} with the {earth} of {panel}.",
    caution: "A fault to a metal case leaves it, and the pipe, live without tripping the breaker: use only double-insulated equipment here.",
    reach: Reach::Outlet,
    signs: &[(Kind::EarthMissing, 0.1), (Kind::OldWiring, 0.5), (Kind::AfterWorks, 0.2)],
};
