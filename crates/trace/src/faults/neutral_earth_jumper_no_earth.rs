//! A false earth: the earth contact is joined to the neutral at the outlet because there is no earth wire.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::{Pin, Reach};

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

use super::place::{JUMPER, joins};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "neutral-earth-jumper-no-earth",
    says: "the {earth} contact of {at} is joined to the {neutral} there, without an {earth} of its own",
    sits: Sits::Outlet,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        4e-3,
        "our guess, per outlet of a site",
    ),
    alters: |place, _| {
        let can = place.is_fixed() && place.has_neutral() && place.has_earth_contact();
        can.then_some(())?;
        let (neutral, earth) = (place.contact(Pin::Neutral)?, place.contact(Pin::Earth)?);
        Some(vec![
            place.parts(Conductor::Earth),
            joins(neutral, earth, JUMPER),
        ])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::defect(
        0.0,
        Who::Electrician,
        Harm::of(0.15, 0.02, 0.03),
    )],
    mends: "A licensed electrician removes the joint at {at} and brings an {earth}, or fits protection that the local code allows without one.",
    caution: "If the {neutral} opens anywhere before it, every metal case plugged in here is at line voltage: use only double-insulated equipment here.",
    reach: Reach::Outlet,
    signs: &[(Kind::EarthMissing, 0.1), (Kind::OldWiring, 0.6), (Kind::AfterWorks, 0.2)],
};
