//! A lead of the meter is open or a probe did not touch: readings stay near zero.

use site::visit::Reach;

use crate::fault::{Fault, Misreads, Prevalence, Severity, Sits, Step};

/// The mistake.
pub const ITEM: Fault = Fault {
    id: "lead-open",
    says: "a lead of the meter is open or a probe did not touch",
    sits: Sits::Meter,
    severity: Severity::One,
    prevalence: Prevalence::judged(4e-3, "our guess, per meter used"),
    alters: |_, _| Some(Vec::new()),
    misreads: Misreads::LeadOpen,
    steps: &[Step::SOUND],
    mends: "Prove the meter and both leads on an outlet known to be live, then read again.",
    caution: "Zero volts on a broken lead hides a live contact: believe no zero until the meter was proved before and after.",
    reach: Reach::Pin,
    signs: &[],
};
