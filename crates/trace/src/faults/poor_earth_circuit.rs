//! A poor earth connection at the start of a circuit.

use chain::element::Conductor;
use site::visit::Reach;

use crate::fault::{Fault, Kind, Misreads, Prevalence, Sits};

use super::joint::{POOR_EARTH, WEAK_EARTH};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "poor-earth-circuit",
    says: "the {earth} connection of {circuit} is poor at {panel}",
    sits: Sits::Circuit,
    severity: POOR_EARTH,
    prevalence: Prevalence::judged(
        1e-3,
        "our guess, per circuit of a site",
    ),
    alters: |place, _| {
        place
            .has_earth_wire()
            .then(|| vec![place.resists(Conductor::Earth)])
    },
    misreads: Misreads::Nothing,
    steps: WEAK_EARTH,
    mends: "A licensed electrician remakes the {earth} connection of {circuit} at {panel}.",
    caution: "A fault to a case anywhere on {circuit} may last instead of tripping the breaker: touch no two metal cases of it at once.",
    reach: Reach::Circuit,
    signs: &[(Kind::OldWiring, 0.2), (Kind::AfterWorks, 0.1)],
};
