//! Line and earth contacts taken for each other by the person: the outlet is right, the readings are exchanged.

use site::visit::{Pin, Reach};

use crate::fault::{Fault, Misreads, Prevalence, Severity, Sits, Step};

/// The mistake.
pub const ITEM: Fault = Fault {
    id: "line-earth-named-wrongly",
    says: "the {line} and {earth} contacts of {at} were taken for each other",
    sits: Sits::Outlet,
    severity: Severity::One,
    prevalence: Prevalence::judged(1e-3, "our guess, per outlet read"),
    alters: |place, _| place.has_earth_contact().then(Vec::new),
    misreads: Misreads::NamesExchanged(Pin::Line, Pin::Earth),
    steps: &[Step::SOUND],
    mends: "Read {at} again with the contacts named by the picture of the receptacle.",
    caution: "Until it is read again, treat every contact as live, the {earth} too: a live {earth} reads just the same.",
    reach: Reach::Outlet,
    signs: &[],
};
