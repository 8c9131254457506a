//! The catalogue of faults, one file each.

use crate::fault::{Fault, catalogue};

catalogue! { Fault: open_neutral_run, line_neutral_reversed_outlet, contacts_named_wrongly }

/// The fault of an identifier.
#[must_use]
pub fn find(id: &str) -> Option<&'static Fault> {
    ALL.iter().copied().find(|f| f.id == id)
}
