//! A live earth of a whole circuit: its earth is off at the panel, and the line touches it somewhere.

use chain::alter::Point;
use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

use super::place::leaks;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "live-earth-circuit",
    says: "the {earth} of {circuit} is live: it is off at {panel} and touches the {line}",
    sits: Sits::Circuit,
    severity: Severity::LogUniform(0.1, 1e3),
    prevalence: Prevalence::judged(
        3e-4,
        "our guess, per circuit of a site",
    ),
    alters: |place, _| {
        place.has_earth_wire().then_some(())?;
        let end = |of| Point::Far(place.at, of);
        let touch = leaks(end(Conductor::Line), end(Conductor::Earth), 1.0);
        Some(vec![place.parts(Conductor::Earth), touch])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::danger(
        0.0,
        Who::Electrician,
        Harm::of(0.9, 0.15, 0.1),
    )],
    mends: "A licensed electrician takes {circuit} out of service and finds where the {line} touches its {earth}.",
    caution: "All metal cases on {circuit} are at line voltage, switched on or off: touch none of them; have the circuit switched off before anything is unplugged.",
    reach: Reach::Circuit,
    signs: &[
        (Kind::AfterWorks, 0.4),
        (Kind::Wet, 0.1),
        (Kind::OldWiring, 0.2),
        (Kind::Burnt, 0.05),
    ],
};
