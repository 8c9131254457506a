//! A borrowed neutral: the load of one circuit returns over the neutral of another one of the same panel.

use chain::alter::Point;
use chain::element::{Conductor, Element};
use site::finding::Who;
use site::model::{CircuitIx, Feed, OutletIx};
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Place, Prevalence, Severity, Sits, Step};

use super::place::{JUMPER, joins, parts};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "neutral-borrowed",
    says: "{circuit} returns over the {neutral} of another circuit",
    sits: Sits::Circuit,
    severity: Severity::One,
    prevalence: Prevalence::judged(
        3e-3,
        "our guess, per circuit of a site",
    ),
    alters: |place, _| {
        let here = place.circuit_ix()?;
        (place.has_neutral() && place.partner().is_none()).then_some(())?;
        let own = first_outlet(place, here)?;
        let lender = (0..place.site.circuits.len())
            .map(CircuitIx)
            .find_map(|c| lends(place, here, c))?;
        let end = |o| Point::Far(Element::Run(o), Conductor::Neutral);
        Some(vec![
            parts(Element::Run(own), Conductor::Neutral),
            joins(end(lender), end(own), JUMPER),
        ])
    },
    misreads: Misreads::Nothing,
    steps: &[Step::defect(
        0.0,
        Who::Electrician,
        Harm::of(0.12, 0.06, 0.05),
    )],
    mends: "A licensed electrician gives {circuit} its own {neutral} back and finds out what was joined.",
    caution: "With the breaker of one circuit off its {neutral} still carries the other's current and can shock: keep heavy loads off both, and let nobody work on either with only one breaker off.",
    reach: Reach::Circuit,
    signs: &[
        (Kind::ResidualTripped, 0.4),
        (Kind::AfterWorks, 0.5),
        (Kind::ArcTripped, 0.1),
    ],
};

/// The first outlet of a circuit on a fixed cable from the panel.
fn first_outlet(place: &Place<'_>, circuit: CircuitIx) -> Option<OutletIx> {
    let from_panel = |o: &OutletIx| {
        let outlet = &place.site.outlets[o.0];
        outlet.circuit == circuit && outlet.after.is_none() && matches!(outlet.feed, Feed::Fixed(_))
    };
    (0..place.site.outlets.len()).map(OutletIx).find(from_panel)
}

/// The first outlet of another circuit whose neutral may be borrowed: of the same panel, from line to neutral.
fn lends(place: &Place<'_>, here: CircuitIx, other: CircuitIx) -> Option<OutletIx> {
    let (a, b) = (&place.site.circuits[here.0], &place.site.circuits[other.0]);
    (other != here && a.panel == b.panel && b.second_leg.is_none()).then_some(())?;
    first_outlet(place, other)
}
