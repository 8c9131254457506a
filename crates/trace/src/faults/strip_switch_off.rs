//! The switch of a strip is off, or its own breaker is out: it is dead and sound.
//!
//! Where plugs fit both ways round the switch breaks both poles, else the line.

use chain::element::Conductor;
use site::finding::Who;
use site::visit::{Reach, SwitchState};

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "strip-switch-off",
    says: "the switch of the strip to {at} is off",
    sits: Sits::Cord,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        2e-2,
        "our guess, per cord or strip of a site",
    ),
    alters: |place, condition| {
        let o = place.outlet_ix()?;
        if condition.switches.contains(&(o, SwitchState::Closed)) {
            return Some(Vec::new());
        }
        let mut off = vec![place.parts(Conductor::Line)];
        if !place.tells_line_from_neutral() {
            off.push(place.parts(Conductor::Neutral));
        }
        Some(off)
    },
    misreads: Misreads::Nothing,
    steps: &[Step::advice(0.0, Who::Technician, Harm::NONE)],
    mends: "Switch the strip to {at} on, or reset its own breaker once after unplugging heavy loads.",
    caution: "It goes live with one push: treat it as live while reading, and see that no heater hangs on it.",
    reach: Reach::Outlet,
    signs: &[(Kind::SwitchOff, 0.97), (Kind::SwitchMatters, 0.3), (Kind::BreakerTripped, 0.05)],
};
