//! A live earth behind a run: the earth is broken there, and behind the break the line touches it.

use chain::alter::Point;
use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

use super::place::leaks;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "live-earth-run",
    says: "the {earth} from {at} on is live: it is broken between {before} and {at} and touches the {line} behind the break",
    sits: Sits::Run,
    severity: Severity::LogUniform(0.1, 1e3),
    prevalence: Prevalence::judged(
        3e-4,
        "our guess, per run of a site",
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
    mends: "A licensed electrician takes {circuit} out of service and finds the damage between {before} and {at}.",
    caution: "Metal cases at {at} and behind it are at line voltage, switched on or off: touch none of them; have {circuit} switched off before anything is unplugged.",
    reach: Reach::Circuit,
    signs: &[
        (Kind::AfterWorks, 0.4),
        (Kind::Wet, 0.1),
        (Kind::Burnt, 0.08),
    ],
};
