//! A live earth contact: the earth is open at the outlet, and the line touches its contact there.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::{Pin, Reach};

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

use super::place::leaks;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "live-earth-outlet",
    says: "the {earth} contact of {at} is live: it is cut off from the {earth} and touches the {line}",
    sits: Sits::Outlet,
    severity: Severity::LogUniform(0.1, 1e3),
    prevalence: Prevalence::judged(
        4e-4,
        "our guess, per outlet of a site",
    ),
    alters: |place, _| {
        (place.is_fixed() && place.has_earth_contact()).then_some(())?;
        let touch = leaks(place.contact(Pin::Line)?, place.contact(Pin::Earth)?, 1.0);
        Some(vec![place.parts(Conductor::Earth), touch])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::danger(0.0, Who::Electrician, Harm::of(0.9, 0.1, 0.1))],
    mends: "A licensed electrician takes {at} out of service and finds where the {line} touches.",
    caution: "Every metal case plugged in here is at line voltage, switched on or off: touch none of them; have {circuit} switched off before anything is unplugged.",
    reach: Reach::Outlet,
    signs: &[
        (Kind::AfterWorks, 0.4),
        (Kind::Wet, 0.1),
        (Kind::OldWiring, 0.3),
        (Kind::Burnt, 0.05),
    ],
};
