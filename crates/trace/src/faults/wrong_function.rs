//! The meter stands on a function that does not see mains voltage: d.c., millivolts, or another jack.

use site::visit::Reach;

use crate::fault::{Fault, Misreads, Prevalence, Severity, Sits, Step};

/// The mistake.
pub const ITEM: Fault = Fault {
    id: "wrong-function",
    says: "the meter stood on the wrong function",
    sits: Sits::Meter,
    severity: Severity::One,
    prevalence: Prevalence::judged(4e-3, "our guess, per meter used"),
    alters: |_, _| Some(Vec::new()),
    misreads: Misreads::WrongFunction,
    steps: &[Step::SOUND],
    mends: "Set the meter to a.c. volts with the leads in the volts jacks, prove it on an outlet known to be live, then read again.",
    caution: "On current or resistance the meter is nearly a short circuit or burns out: look at dial and jacks before every contact with an outlet.",
    reach: Reach::Pin,
    signs: &[],
};
