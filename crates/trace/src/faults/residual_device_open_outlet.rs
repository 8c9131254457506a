//! The residual-current device of an outlet is open: it and what follows it on the cable is dead.

use chain::element::{Conductor, Element};
use site::finding::Who;
use site::model::Origin;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

use super::place::parts;

/// The fault.
pub const ITEM: Fault = Fault {
    id: "residual-device-open-outlet",
    says: "the residual-current device of {at} is open",
    sits: Sits::Outlet,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        6e-3,
        "our guess, per outlet of a site",
    ),
    alters: |place, _| {
        let outlet = place.outlet()?;
        let can = outlet.residual_current.is_some() || place.site.origin == Origin::Assumed;
        (can && place.is_fixed()).then_some(())?;
        let run = Element::Run(place.outlet_ix()?);
        Some(vec![
            parts(run, Conductor::Line),
            parts(run, Conductor::Neutral),
        ])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::dead(
        0.0,
        Who::Technician,
        Harm::of(0.06, 0.02, 0.0),
    )],
    mends: "Unplug what is at {at} and behind it, press its reset button once, plug in one thing after another; if it opens with nothing plugged in, call a licensed electrician.",
    caution: "It opened because current went astray, perhaps through somebody: find the machine or the damp before it is used again.",
    reach: Reach::Circuit,
    signs: &[
        (Kind::ResidualTripped, 0.8),
        (Kind::Wet, 0.2),
        (Kind::AfterStorm, 0.15),
    ],
};
