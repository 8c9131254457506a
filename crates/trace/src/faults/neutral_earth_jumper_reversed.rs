//! A false earth with line and neutral exchanged: the earth contact is live, and the usual readings of the outlet are all normal.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::{Pin, Reach};

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

use super::place::{JUMPER, joins};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "neutral-earth-jumper-reversed",
    says: "the {earth} contact of {at} is joined to the {line}: it was bridged to the {neutral} terminal, and {line} and {neutral} are exchanged",
    sits: Sits::Outlet,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        5e-4,
        "our guess, per outlet of a site",
    ),
    alters: |place, _| {
        let can = place.is_fixed() && place.has_neutral() && place.has_earth_contact();
        can.then_some(())?;
        let (neutral, earth) = (place.contact(Pin::Neutral)?, place.contact(Pin::Earth)?);
        Some(vec![
            place.exchanges(Conductor::Line, Conductor::Neutral),
            place.parts(Conductor::Earth),
            joins(neutral, earth, JUMPER),
        ])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::danger(
        0.0,
        Who::Electrician,
        Harm::of(0.95, 0.05, 0.1),
    )],
    mends: "A licensed electrician removes the joint at {at}, puts {line} and {neutral} right and brings an {earth}.",
    caution: "Every metal case plugged in here is at line voltage although a lamp tester says correct: touch none of them; have {circuit} switched off before anything is unplugged.",
    reach: Reach::Outlet,
    signs: &[(Kind::OldWiring, 0.6), (Kind::AfterWorks, 0.3)],
};
