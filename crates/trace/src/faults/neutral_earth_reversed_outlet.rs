//! Neutral and earth exchanged at one outlet: its load current returns over the earth.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "neutral-earth-reversed-outlet",
    says: "{neutral} and {earth} are exchanged at {at}",
    sits: Sits::Outlet,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        1.5e-3,
        "our guess, per outlet of a site",
    ),
    alters: |place, _| {
        let can = place.is_fixed()
            && place.has_neutral()
            && place.has_earth_wire()
            && place.has_earth_contact();
        can.then(|| vec![place.exchanges(Conductor::Neutral, Conductor::Earth)])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::defect(
        0.0,
        Who::Electrician,
        Harm::of(0.15, 0.03, 0.02),
    )],
    mends: "A licensed electrician puts the {neutral} and {earth} wires at {at} right.",
    caution: "Cases of other machines carry the drop of this outlet's current, and go live if the {earth} opens anywhere: plug nothing into {at}.",
    reach: Reach::Outlet,
    signs: &[(Kind::ResidualTripped, 0.4), (Kind::AfterWorks, 0.4)],
};
