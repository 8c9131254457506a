//! The supply voltage is too low, on all lines alike.
//!
//! Severity: factor on nominal.

use chain::alter::Alteration;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "supply-low",
    says: "the supply voltage is too low",
    sits: Sits::Supply,
    severity: Severity::Uniform(0.7, 0.94),
    prevalence: Prevalence::judged(1e-2, "our guess, per site"),
    alters: |_, _| Some(vec![Alteration::Volts]),
    misreads: Misreads::Nothing,
    steps: &[
        Step::defect(0.0, Who::Utility, Harm::of(0.0, 0.05, 0.3)).now(),
        Step::defect(0.85, Who::Utility, Harm::of(0.0, 0.02, 0.12)),
        Step::advice(0.9, Who::Utility, Harm::of(0.0, 0.0, 0.03)),
    ],
    mends: "Tell the utility place, line, voltages and times, and what the neighbours see; keep a log.",
    caution: "Motors overheat and machines restart at low voltage: switch refrigerators, cooling and pumps off until it is back.",
    reach: Reach::Street,
    signs: &[
        (Kind::Dimming, 0.5),
        (Kind::Flicker, 0.25),
        (Kind::AfterStorm, 0.15),
    ],
};
