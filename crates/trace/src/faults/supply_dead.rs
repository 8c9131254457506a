//! No voltage from the utility at all.
//!
//! Severity: what is left of nominal.

use chain::alter::Alteration;
use site::finding::Who;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "supply-dead",
    says: "there is no voltage from the utility",
    sits: Sits::Supply,
    severity: Severity::LogUniform(1e-6, 0.01),
    prevalence: Prevalence::judged(5e-3, "our guess, per site"),
    alters: |_, _| Some(vec![Alteration::Volts]),
    misreads: Misreads::Nothing,
    steps: &[Step::dead(0.0, Who::Utility, Harm::of(0.01, 0.01, 0.05)).now()],
    mends: "Ask the neighbours and call the utility; where they have voltage the utility looks at its meter, and a licensed electrician at the main breaker and {panel}.",
    caution: "Voltage may return at any moment, with a surge, and a generator may feed back: treat everything as live, switch off what must not start by itself.",
    reach: Reach::Street,
    signs: &[(Kind::AfterStorm, 0.5)],
};
