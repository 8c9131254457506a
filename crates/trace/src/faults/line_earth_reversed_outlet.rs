//! Line and earth exchanged at one outlet: the case of what is plugged in is live.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "line-earth-reversed-outlet",
    says: "{line} and {earth} are exchanged at {at}",
    sits: Sits::Outlet,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        3e-4,
        "our guess, per outlet of a site",
    ),
    alters: |place, _| {
        let can = place.is_fixed() && place.has_earth_wire() && place.has_earth_contact();
        can.then(|| vec![place.exchanges(Conductor::Line, Conductor::Earth)])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::danger(0.0, Who::Electrician, Harm::of(0.9, 0.1, 0.1))],
    mends: "A licensed electrician puts the {line} and {earth} wires at {at} right.",
    caution: "The {earth} contact and every metal case plugged in here are at line voltage: do not touch them; have {circuit} switched off before anything is unplugged.",
    reach: Reach::Outlet,
    signs: &[(Kind::AfterWorks, 0.5)],
};
