//! A second bond: neutral and earth touch at an outlet whose earth is intact, so the earth carries load current.

use site::finding::Who;
use site::visit::{Pin, Reach};

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

use super::place::leaks;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "second-bond-outlet",
    says: "{neutral} and {earth} are joined at {at} although both come from {panel}",
    sits: Sits::Outlet,
    severity: Severity::LogUniform(5e-3, 0.5),
    prevalence: Prevalence::judged(
        1.5e-3,
        "our guess, per outlet of a site",
    ),
    alters: |place, _| {
        let can = place.has_neutral() && place.has_earth_wire() && place.has_earth_contact();
        can.then_some(())?;
        Some(vec![leaks(
            place.contact(Pin::Neutral)?,
            place.contact(Pin::Earth)?,
            1.0,
        )])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::defect(
        0.0,
        Who::Electrician,
        Harm::of(0.06, 0.02, 0.03),
    )],
    mends: "A licensed electrician finds and separates the joint of {neutral} and {earth} at {at}; a machine plugged in there may hold it.",
    caution: "Load current runs over the {earth} and over screens of data cables, and a broken {neutral} will not be noticed: unplug what is there one by one and keep it unplugged if the reading changes.",
    reach: Reach::Circuit,
    signs: &[
        (Kind::ResidualTripped, 0.45),
        (Kind::AfterWorks, 0.3),
        (Kind::Wet, 0.05),
    ],
};
