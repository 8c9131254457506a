//! A second bond in a panel that is fed by another: the feeder's earth carries part of the neutral current.

use chain::alter::Point;
use chain::element::Element;
use site::finding::Who;
use site::visit::{Bar, Contact, Reach};

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

use super::place::{JUMPER, joins};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "second-bond-sub-panel",
    says: "{neutral} and {earth} are joined in {panel}, which is fed by another panel",
    sits: Sits::SubPanel,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        3e-2,
        "our guess, per panel fed by another, of a site",
    ),
    alters: |place, _| {
        let Element::Panel(p) = place.at else {
            return None;
        };
        (place.leg == 0).then_some(())?;
        let bar = |bar| Point::Contact(Contact::Panel(p, bar));
        Some(vec![joins(bar(Bar::Neutral), bar(Bar::Earth), JUMPER)])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::defect(
        0.0,
        Who::Electrician,
        Harm::of(0.06, 0.02, 0.03),
    )],
    mends: "A licensed electrician separates {neutral} and {earth} in {panel} where the local code asks for it.",
    caution: "Load current runs over {earth} conductors, cases and screens of data cables, and all of it if the feeder's {neutral} opens: join no data cables with metal screens between this part and the rest.",
    reach: Reach::Floor,
    signs: &[
        (Kind::AfterWorks, 0.3),
        (Kind::OldWiring, 0.2),
        (Kind::ResidualTripped, 0.1),
    ],
};
