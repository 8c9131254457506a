//! An outlet made for line to neutral is wired across two lines.

use chain::alter::Point;
use chain::element::Conductor;
use site::finding::Who;
use site::visit::{Bar, Contact, Pin, Reach};

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

use super::place::joins;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "wrong-voltage-outlet",
    says: "{at} is wired across two lines: its {neutral} contact hangs on a second {line} conductor",
    sits: Sits::Outlet,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        4e-4,
        "our guess, per outlet of a site",
    ),
    alters: |place, _| {
        let (circuit, n_legs) = (place.circuit()?, place.site.service.system.legs.len());
        (n_legs > 1 && place.is_fixed() && place.has_neutral()).then_some(())?;
        let other = Bar::Leg((circuit.leg + 1) % n_legs);
        let bar = Point::Contact(Contact::Panel(circuit.panel, other));
        Some(vec![
            place.parts(Conductor::Neutral),
            joins(bar, place.contact(Pin::Neutral)?, 0.15),
        ])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::danger(
        0.0,
        Who::Electrician,
        Harm::of(0.3, 0.4, 0.95),
    )],
    mends: "A licensed electrician puts the wiring of {at} right.",
    caution: "Both slots are live with nearly twice the voltage: plug nothing in, not even a lamp tester, and cover the outlet.",
    reach: Reach::Outlet,
    signs: &[(Kind::EquipmentBurnt, 0.6), (Kind::AfterWorks, 0.6)],
};
