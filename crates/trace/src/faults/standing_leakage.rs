//! A standing leakage current to earth at an outlet: filters, damp or worn insulation of what is plugged in.
//!
//! Severity: ohms at 120 V, scaled so that 34 kΩ is 3.5 mA everywhere (the touch-current limit of class I equipment,
//! IEC 60950-1 table 5A). Under a condition that tells everything there unplugged it is not there.

use site::finding::Who;
use site::visit::{Pin, Reach, Running};

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

use super::place::{leaks, loads_at};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "standing-leakage",
    says: "what is plugged in at {at} leaks current to {earth}",
    sits: Sits::Outlet,
    severity: Severity::LogUniform(1e4, 2e5),
    prevalence: Prevalence::judged(
        5e-3,
        "our guess, per outlet of a site",
    ),
    alters: |place, condition| {
        (place.has_earth_wire() && place.has_earth_contact()).then_some(())?;
        if loads_at(place.site, place.outlet_ix()?, condition) == Some(Running::Unplugged) {
            return Some(Vec::new());
        }
        let (line, earth) = (place.contact(Pin::Line)?, place.contact(Pin::Earth)?);
        Some(vec![leaks(line, earth, place.volts() / 120.0)])
    },
    misreads: Misreads::Nothing,
    steps: &[
        Step::defect(0.0, Who::Technician, Harm::of(0.06, 0.01, 0.02)),
        Step::advice(3.4e4, Who::Technician, Harm::of(0.01, 0.0, 0.0)),
    ],
    mends: "Unplug the machines at {at} one by one to find which one leaks, and spread machines with filters over several circuits.",
    caution: "If the {earth} opens this current goes through whoever touches the case: do not use an adapter or cord without {earth} here.",
    reach: Reach::Outlet,
    signs: &[(Kind::ResidualTripped, 0.4), (Kind::Wet, 0.15)],
};
