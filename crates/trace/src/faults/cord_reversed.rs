//! Line and neutral exchanged in a cord or strip, mostly a home-made one.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "cord-reversed",
    says: "{line} and {neutral} are exchanged in the cord or strip to {at}",
    sits: Sits::Cord,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        3e-3,
        "our guess, per cord or strip of a site",
    ),
    alters: |place, _| {
        let can = place.tells_line_from_neutral();
        can.then(|| vec![place.exchanges(Conductor::Line, Conductor::Neutral)])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::dead(0.0, Who::Technician, Harm::of(0.06, 0.02, 0.0))],
    mends: "Replace the cord or strip to {at}, and look what else was made at home.",
    caution: "A switch behind it no longer takes the voltage away: pull the plug at the wall end before touching anything inside.",
    reach: Reach::Outlet,
    signs: &[(Kind::AfterWorks, 0.1)],
};
