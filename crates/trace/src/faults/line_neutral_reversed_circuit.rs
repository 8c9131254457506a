//! Line and neutral of a circuit exchanged at the panel: all of its outlets are reversed.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "line-neutral-reversed-circuit",
    says: "{line} and {neutral} of {circuit} are exchanged at {panel}",
    sits: Sits::Circuit,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        5e-4,
        "our guess, per circuit of a site",
    ),
    alters: |place, _| {
        let can = place.partner().is_none() && place.somewhere_tells_line_from_neutral();
        can.then(|| vec![place.exchanges(Conductor::Line, Conductor::Neutral)])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::defect(
        0.0,
        Who::Electrician,
        Harm::of(0.06, 0.01, 0.0),
    )],
    mends: "A licensed electrician puts the {line} and {neutral} of {circuit} right at {panel}.",
    caution: "On all of {circuit} a switch no longer takes the voltage away: unplug before touching anything inside, use no screw-shell lamps.",
    reach: Reach::Circuit,
    signs: &[(Kind::AfterWorks, 0.5)],
};
