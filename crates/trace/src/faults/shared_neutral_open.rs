//! The neutral that two circuits share is open: their outlets lie in series across two lines, and share the voltage by load.

use chain::alter::Point;
use chain::element::{Conductor, Element};
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::BROKEN;
use super::place::{joins, parts};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "shared-neutral-open",
    says: "the {neutral} that {circuit} shares with another circuit is open",
    sits: Sits::SharedNeutral,
    severity: BROKEN,
    prevalence: Prevalence::judged(
        6e-3,
        "our guess, per shared neutral of a site",
    ),
    alters: |place, _| {
        if place.owns_a_shared_neutral() {
            return Some(vec![place.resists(Conductor::Neutral)]);
        }
        // Where nothing is told, the neighbour on the other line may be the partner: both lose the panel, not each other.
        let other = Element::Circuit(place.may_share_with()?);
        let far = |at| Point::Far(at, Conductor::Neutral);
        Some(vec![
            place.resists(Conductor::Neutral),
            parts(other, Conductor::Neutral),
            joins(far(place.at), far(other), 0.01),
        ])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::danger(
        0.0,
        Who::Electrician,
        Harm::of(0.3, 0.45, 0.9),
    )],
    mends: "A licensed electrician finds and remakes the shared {neutral} of {circuit}.",
    caution: "Outlets of both circuits may get up to line to line, the lighter loaded side the most: switch both breakers off and unplug everything on both.",
    reach: Reach::Circuit,
    signs: &[(Kind::NeutralBroken, 0.3), 
        (Kind::Brightening, 0.5),
        (Kind::Dimming, 0.45),
        (Kind::Flicker, 0.4),
        (Kind::EquipmentBurnt, 0.4),
        (Kind::Buzzing, 0.1),
        (Kind::AfterWorks, 0.3),
    ],
};
