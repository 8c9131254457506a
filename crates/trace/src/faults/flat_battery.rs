//! The battery of the meter is flat: its readings are off by a factor.
//!
//! Severity: the factor.

use site::visit::Reach;

use crate::fault::{Fault, Misreads, Prevalence, Severity, Sits, Step};

/// The mistake.
pub const ITEM: Fault = Fault {
    id: "flat-battery",
    says: "the battery of the meter is flat",
    sits: Sits::Meter,
    severity: Severity::Uniform(0.3, 2.5),
    prevalence: Prevalence::judged(3e-3, "our guess, per meter used"),
    alters: |_, _| Some(Vec::new()),
    misreads: Misreads::Factor,
    steps: &[Step::SOUND],
    mends: "Put a fresh battery into the meter, away from any outlet and with the leads off, prove it on an outlet known to be live, then read again.",
    caution: "A flat meter can show a live contact as dead: believe no reading of it.",
    reach: Reach::Pin,
    signs: &[],
};
