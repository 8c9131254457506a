//! The supply voltage is too high, on all lines alike.
//!
//! Severity: factor on nominal. Most codes allow 1.10 at 230 V and 1.06 at 120 V; from 1.15 on protectors start to conduct.

use chain::alter::Alteration;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "supply-high",
    says: "the supply voltage is too high",
    sits: Sits::Supply,
    severity: Severity::Uniform(1.06, 1.2),
    prevalence: Prevalence::judged(8e-3, "our guess, per site"),
    alters: |_, _| Some(vec![Alteration::Volts]),
    misreads: Misreads::Nothing,
    steps: &[
        Step::advice(0.0, Who::Utility, Harm::of(0.0, 0.01, 0.05)),
        Step::defect(1.1, Who::Utility, Harm::of(0.0, 0.05, 0.3)),
        Step::danger(1.15, Who::Utility, Harm::of(0.02, 0.25, 0.7)),
    ],
    mends: "Tell the utility place, line, voltages and times, and what the neighbours see; keep a log.",
    caution: "Lasting overvoltage ages supplies and makes surge protectors overheat: unplug electronics and strips with protectors if it stays this high.",
    reach: Reach::Street,
    signs: &[
        (Kind::EquipmentBurnt, 0.2),
        (Kind::Brightening, 0.2),
        (Kind::AfterStorm, 0.1),
        (Kind::Buzzing, 0.05),
    ],
};
