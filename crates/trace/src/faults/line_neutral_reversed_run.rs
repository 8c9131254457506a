//! Line and neutral exchanged in a joint before an outlet: it and everything behind it is reversed.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "line-neutral-reversed-run",
    says: "{line} and {neutral} are exchanged between {before} and {at}",
    sits: Sits::Run,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        1e-3,
        "our guess, per run of a site",
    ),
    alters: |place, _| {
        let can = place.tells_line_from_neutral();
        can.then(|| vec![place.exchanges(Conductor::Line, Conductor::Neutral)])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::defect(
        0.0,
        Who::Electrician,
        Harm::of(0.05, 0.01, 0.0),
    )],
    mends: "A licensed electrician finds the exchanged joint between {before} and {at} and puts it right.",
    caution: "From here on a switch no longer takes the voltage away: unplug before touching anything inside, use no screw-shell lamps.",
    reach: Reach::Circuit,
    signs: &[(Kind::AfterWorks, 0.4)],
};
