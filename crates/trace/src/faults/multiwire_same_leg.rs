//! Two circuits with one neutral on the same line: their currents add in the neutral, and no breaker sees it.

use chain::alter::Point;
use chain::element::{Conductor, Element};
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

use super::place::{JUMPER, joins};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "multiwire-same-leg",
    says: "{circuit} and the circuit that shares its {neutral} are on the same line",
    sits: Sits::SharedNeutral,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        5e-3,
        "our guess, per circuit with a shared neutral of a site",
    ),
    alters: |place, _| {
        let (here, partner) = (place.circuit()?, place.partner()?);
        let there = &place.site.circuits[partner.0];
        let can = here.leg != there.leg && here.second_leg.is_none() && there.second_leg.is_none();
        can.then_some(())?;
        let other_bar = Point::Near(Element::Circuit(partner), Conductor::Line);
        let start = Point::Far(place.at, Conductor::Line);
        Some(vec![
            place.parts(Conductor::Line),
            joins(other_bar, start, JUMPER),
        ])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::danger(
        0.0,
        Who::Electrician,
        Harm::of(0.02, 0.3, 0.03),
    )],
    mends: "A licensed electrician moves one of the two breakers to the other line and ties their handles.",
    caution: "The shared {neutral} can carry twice what it is made for and overheat inside the wall: take the load off both circuits until they are separated.",
    reach: Reach::Circuit,
    signs: &[
        (Kind::AfterWorks, 0.6),
        (Kind::Warm, 0.1),
        (Kind::Burnt, 0.05),
    ],
};
