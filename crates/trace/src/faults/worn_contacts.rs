//! Worn contacts: the springs of an outlet no longer press, line and neutral heat under load.
//!
//! Severity: ohms in each of the two contacts. A sound one has 1 mΩ to 5 mΩ.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "worn-contacts",
    says: "the contacts of {at} are worn",
    sits: Sits::Outlet,
    severity: Severity::LogUniform(0.05, 5.0),
    prevalence: Prevalence::judged(
        6e-3,
        "our guess, per outlet of a site",
    ),
    alters: |place, _| {
        let both = || {
            vec![
                place.resists(Conductor::Line),
                place.resists(Conductor::Neutral),
            ]
        };
        place.is_fixed().then(both)
    },
    misreads: Misreads::Nothing,
    steps: &[
        Step::advice(0.0, Who::Electrician, Harm::of(0.01, 0.02, 0.01)),
        Step::defect(0.1, Who::Electrician, Harm::of(0.02, 0.12, 0.05)),
        // Two contacts are never worn alike: at 0.4 ohm in the mean one of them may well have 0.5 ohm.
        Step::danger(0.4, Who::Electrician, Harm::of(0.05, 0.4, 0.1)),
    ],
    mends: "A licensed electrician replaces the receptacle at {at}.",
    caution: "A plug that sits loosely arcs and chars the outlet: use it for nothing heavy, wedge nothing in, and stop if plug or face gets warm.",
    reach: Reach::Outlet,
    signs: &[
        (Kind::LoosePlug, 0.7),
        (Kind::Warm, 0.3),
        (Kind::Flicker, 0.3),
        (Kind::Burnt, 0.15),
        (Kind::Buzzing, 0.15),
        (Kind::ArcTripped, 0.05),
    ],
};
