//! What would have been right: this crate's own table of hazards, by fault and by how bad it is.
//!
//! A joint is a fire where 10 A through it make 50 W in one spot: `R ≥ 0.5 Ω` (in the service, where 25 A flow, from
//! 0.1 Ω, 62 W). A contact that a hand can meet at line voltage is a shock. Voltage 15 % above nominal or line to line on
//! an outlet is a fire. All of it judgement.

use site::finding::Use;

use crate::sim::fault::Fault;

/// What can come of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize)]
pub enum Hazard {
    /// Nothing that a person or a building suffers from.
    None,
    /// Fire.
    Fire,
    /// Shock.
    Shock,
}

/// The hazard of a fault, and the mildest use that is right.
#[must_use]
pub fn right(fault: &Fault) -> (Hazard, Use) {
    let joint = |from: f64| match fault.how_bad >= from {
        true => (Hazard::Fire, Use::Stop),
        false => (Hazard::None, Use::Restricted),
    };
    match fault.kind {
        "open-neutral-circuit"
        | "open-neutral-run"
        | "open-neutral-terminal"
        | "cord-open-neutral"
        | "feeder-neutral-open"
        | "service-neutral-open"
        | "shared-neutral-open"
        | "line-earth-reversed-outlet"
        | "line-earth-reversed-service"
        | "line-neutral-reversed-service"
        | "neutral-earth-jumper-reversed"
        | "live-earth-outlet"
        | "live-earth-run"
        | "live-earth-circuit" => (Hazard::Shock, Use::Stop),
        "wrong-voltage-outlet" | "wrong-voltage-circuit" | "multiwire-same-leg" => {
            (Hazard::Fire, Use::Stop)
        }
        "poor-line-circuit"
        | "poor-line-run"
        | "poor-line-terminal"
        | "poor-neutral-circuit"
        | "poor-neutral-run"
        | "poor-neutral-terminal"
        | "cord-poor-line"
        | "cord-poor-neutral"
        | "worn-contacts"
        | "shared-neutral-poor" => joint(0.5),
        "service-neutral-poor"
        | "service-leg-poor"
        | "feeder-neutral-poor"
        | "feeder-line-poor" => joint(0.1),
        "supply-high" if fault.how_bad >= 1.15 => (Hazard::Fire, Use::Stop),
        "open-earth-circuit"
        | "open-earth-run"
        | "open-earth-terminal"
        | "cord-open-earth"
        | "no-earth-run"
        | "bond-missing"
        | "service-earth-open"
        | "feeder-earth-open"
        | "line-neutral-reversed-outlet"
        | "line-neutral-reversed-run"
        | "line-neutral-reversed-circuit"
        | "cord-reversed"
        | "neutral-earth-reversed-outlet"
        | "neutral-earth-jumper-no-earth"
        | "second-bond-outlet"
        | "second-bond-sub-panel"
        | "earth-through-poor-path"
        | "switched-neutral"
        | "neutral-borrowed" => (Hazard::None, Use::Restricted),
        _ => (Hazard::None, Use::Yes),
    }
}

/// The worst of several.
#[must_use]
pub fn worst(faults: &[Fault]) -> (Hazard, Use) {
    let all = faults.iter().map(right);
    all.fold((Hazard::None, Use::Yes), |(h, u), (a, b)| {
        (h.max(a), u.max(b))
    })
}
