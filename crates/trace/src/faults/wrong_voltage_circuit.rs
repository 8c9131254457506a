//! The neutral of a circuit is on another line at the panel: all of its outlets get line to line.

use chain::alter::Point;
use chain::element::Conductor;
use site::finding::Who;
use site::visit::{Bar, Contact, Reach};

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

use super::place::{JUMPER, joins};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "wrong-voltage-circuit",
    says: "{circuit} is wired across two lines: its {neutral} is a second {line} conductor",
    sits: Sits::Circuit,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        4e-4,
        "our guess, per circuit of a site",
    ),
    alters: |place, _| {
        let (circuit, n_legs) = (place.circuit()?, place.site.service.system.legs.len());
        (n_legs > 1 && place.has_neutral() && place.partner().is_none()).then_some(())?;
        let other = Bar::Leg((circuit.leg + 1) % n_legs);
        let bar = Point::Contact(Contact::Panel(circuit.panel, other));
        let start = Point::Far(place.at, Conductor::Neutral);
        Some(vec![
            place.parts(Conductor::Neutral),
            joins(bar, start, JUMPER),
        ])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::danger(
        0.0,
        Who::Electrician,
        Harm::of(0.3, 0.4, 0.95),
    )],
    mends: "A licensed electrician puts the wiring of {circuit} at {panel} right.",
    caution: "Both slots of every outlet of {circuit} are live with nearly twice the voltage: switch its breaker off, unplug everything, plug nothing in.",
    reach: Reach::Circuit,
    signs: &[
        (Kind::EquipmentBurnt, 0.6),
        (Kind::AfterWorks, 0.6),
        (Kind::Brightening, 0.3),
    ],
};
