//! Too much load on a circuit: the voltage sags at its far end, cables and contacts heat, the breaker trips late.
//!
//! Severity: ohms of the load at 120 V behind a 15 A breaker (8 Ω is 15 A), scaled to the circuit's own voltage and breaker.
//! Under a condition that tells the loads off it is not there.

use chain::alter::Point;
use site::finding::Who;
use site::visit::{Contact, Pin, Reach, Running};

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

use super::place::{leaks, loads_at};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "circuit-overloaded",
    says: "{circuit} is overloaded",
    sits: Sits::Circuit,
    severity: Severity::LogUniform(3.0, 9.0),
    prevalence: Prevalence::judged(
        1e-2,
        "our guess, per circuit of a site",
    ),
    alters: |place, condition| {
        let last = place.last_outlet()?;
        let told = loads_at(place.site, last, condition);
        if matches!(told, Some(Running::Off | Running::Unplugged)) {
            return Some(Vec::new());
        }
        let amps = place.circuit()?.breaker.map_or(15.0, |a| a.si());
        let at = |pin| Point::Contact(Contact::Outlet(last, pin));
        Some(vec![leaks(
            at(Pin::Line),
            at(Pin::Neutral),
            place.volts() / 120.0 * 15.0 / amps,
        )])
    },
    misreads: Misreads::Nothing,
    steps: &[
        Step::defect(0.0, Who::Technician, Harm::of(0.0, 0.12, 0.05)).now(),
        Step::advice(7.0, Who::Technician, Harm::of(0.0, 0.02, 0.01)),
    ],
    mends: "Move heaters, kettles and printers of {circuit} to other circuits; a licensed electrician adds a circuit if there is none to spare.",
    caution: "Cables, strips and contacts heat before the breaker opens: unplug heaters and kettles now, and never put in a larger breaker.",
    reach: Reach::Circuit,
    signs: &[
        (Kind::BreakerTripped, 0.45),
        (Kind::Dimming, 0.4),
        (Kind::Warm, 0.2),
        (Kind::Flicker, 0.1),
    ],
};
