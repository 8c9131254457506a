//! Line and neutral contacts named the wrong way round by the person: the outlet is right, the readings are exchanged.

use site::visit::{Pin, Reach};

use crate::fault::{Fault, Misreads, Prevalence, Severity, Sits, Step};

/// The mistake.
pub const ITEM: Fault = Fault {
    id: "contacts-named-wrongly",
    says: "the {line} and {neutral} contacts of {at} were named the wrong way round",
    sits: Sits::Outlet,
    severity: Severity::One,
    prevalence: Prevalence::judged(4e-3, "our guess, per outlet read"),
    alters: |_, _| Some(Vec::new()),
    misreads: Misreads::NamesExchanged(Pin::Line, Pin::Neutral),
    steps: &[Step::SOUND],
    mends: "Read {at} again with the contacts named by the picture of the receptacle.",
    caution: "Until it is read again, treat both slots as live.",
    reach: Reach::Outlet,
    signs: &[],
};
