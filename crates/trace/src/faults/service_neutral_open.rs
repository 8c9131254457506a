//! The neutral of the service is lost: outlets of one line get too much, of another too little, and it moves with every load.
//!
//! Where the earth hangs on the same conductor, metal cases rise against soil as well.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Sits, Step};

use super::joint::BROKEN;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "service-neutral-open",
    says: "the {neutral} of the service is lost",
    sits: Sits::Service,
    severity: BROKEN,
    prevalence: Prevalence::judged(4e-3, "our guess, per site"),
    alters: |place, _| (place.leg == 0).then(|| vec![place.resists(Conductor::Neutral)]),
    misreads: Misreads::Nothing,
    steps: &[Step::danger(0.0, Who::Utility, Harm::of(0.4, 0.5, 0.9))],
    mends: "Call the utility's emergency line and say that the service {neutral} is lost; a licensed electrician follows if it is behind the meter.",
    caution: "Voltages swing up to line to line and burn equipment, and metal cases may be live: unplug all electronics now, touch no metal that tingles, leave the panel alone.",
    reach: Reach::House,
    signs: &[(Kind::NeutralBroken, 0.3), 
        (Kind::Brightening, 0.6),
        (Kind::Flicker, 0.5),
        (Kind::Dimming, 0.5),
        (Kind::EquipmentBurnt, 0.35),
        (Kind::Buzzing, 0.15),
        (Kind::AfterStorm, 0.25),
        (Kind::Burnt, 0.1),
    ],
};
