//! Line and neutral exchanged at one outlet: everything works, the switch of what is plugged in breaks the wrong side.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "line-neutral-reversed-outlet",
    says: "{line} and {neutral} are exchanged at {at}",
    sits: Sits::Outlet,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        8e-3,
        "our guess, per outlet of a site",
    ),
    alters: |place, _| {
        let can = place.is_fixed() && place.tells_line_from_neutral();
        can.then(|| vec![place.exchanges(Conductor::Line, Conductor::Neutral)])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::defect(
        0.0,
        Who::Electrician,
        Harm::of(0.05, 0.01, 0.0),
    )],
    mends: "A licensed electrician exchanges the two wires at {at}.",
    caution: "A lamp's or machine's switch no longer takes the voltage away: unplug before touching anything inside, use no screw-shell lamps here.",
    reach: Reach::Outlet,
    signs: &[(Kind::AfterWorks, 0.3)],
};
