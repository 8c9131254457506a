//! The wall switch or timer of an outlet is off: it is dead and sound.

use chain::element::{Conductor, Element};
use site::finding::Who;
use site::visit::{Reach, SwitchState};

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

use super::place::parts;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "switched-outlet-off",
    says: "the wall switch or timer of {at} is off",
    sits: Sits::SwitchedOutlet,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        2e-2,
        "our guess, per outlet with a switch or of which nobody knows",
    ),
    alters: |place, condition| {
        let o = place.outlet_ix()?;
        place.is_fixed().then_some(())?;
        if condition.switches.contains(&(o, SwitchState::Closed)) {
            return Some(Vec::new());
        }
        Some(vec![parts(Element::Outlet(o), Conductor::Line)])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::advice(0.0, Who::Technician, Harm::NONE)],
    mends: "Try the wall switches and timers near {at}, and put machines on an outlet that nobody can switch off.",
    caution: "The outlet goes live with the flick of a switch: treat it as live while reading.",
    reach: Reach::Outlet,
    signs: &[(Kind::SwitchOff, 0.97), (Kind::SwitchMatters, 0.6)],
};
