//! A residual-current device at the panel is open: the circuit is dead.
//!
//! The line is open; the neutral may be too, as the device has one pole or two: the severity is what is left in it. Where a
//! site was only assumed any circuit may have one.

use chain::alter::{Alteration, Ohmic};
use chain::element::Conductor;
use site::finding::Who;
use site::model::Origin;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "residual-device-open-panel",
    says: "the residual-current device of {circuit} is open",
    sits: Sits::Circuit,
    severity: Severity::LogUniform(1e-6, 1e9),
    prevalence: Prevalence::judged(
        1.5e-2,
        "our guess, per circuit of a site",
    ),
    alters: |place, _| {
        let told = place.circuit()?.residual_current.is_some();
        (told || place.site.origin == Origin::Assumed).then_some(())?;
        let mut open = vec![place.parts(Conductor::Line)];
        if place.partner().is_none() {
            open.push(Alteration::Series {
                at: place.at,
                of: Conductor::Neutral,
                ohms: Ohmic::Severity(1.0),
            });
        }
        Some(open)
    },
    misreads: Misreads::Nothing,
    steps: &[Step::dead(
        0.0,
        Who::Technician,
        Harm::of(0.06, 0.03, 0.0),
    )],
    mends: "Unplug what is on {circuit}, reset the device once at its handle, plug in one thing after another; if it opens with nothing plugged in, call a licensed electrician.",
    caution: "It opened because current went astray, perhaps through somebody: find the machine or the damp before it is used again, and never bridge it.",
    reach: Reach::Circuit,
    signs: &[
        (Kind::ResidualTripped, 0.8),
        (Kind::BreakerTripped, 0.93),
        (Kind::Wet, 0.15),
        (Kind::AfterStorm, 0.15),
    ],
};
