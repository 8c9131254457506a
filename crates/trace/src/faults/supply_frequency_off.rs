//! The frequency is off: the premises run on a generator or inverter that is set wrong.
//!
//! Severity: hertz. A public network keeps within a fraction of one.

use chain::alter::Alteration;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "supply-frequency-off",
    says: "the frequency of the supply is off",
    sits: Sits::Supply,
    severity: Severity::Uniform(42.0, 68.0),
    prevalence: Prevalence::judged(1e-3, "our guess, per site"),
    alters: |_, _| Some(vec![Alteration::Frequency]),
    misreads: Misreads::Nothing,
    steps: &[Step::defect(0.0, Who::Owner, Harm::of(0.0, 0.02, 0.2))],
    mends: "Whoever runs the generator or inverter has its speed and voltage set; on the public network alone, tell the utility.",
    caution: "Motors and transformers heat, clocks run wrong and a UPS may refuse the supply and empty its battery: run only what is needed.",
    reach: Reach::House,
    signs: &[
        (Kind::Flicker, 0.2),
        (Kind::AfterStorm, 0.4),
        (Kind::Buzzing, 0.1),
    ],
};
