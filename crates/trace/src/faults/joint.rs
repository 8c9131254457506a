//! How bad a broken wire or a poor joint is: the heat that it makes.
//!
//! `P = I² R`, I: current of the circuit in amperes, R: resistance of the joint in ohms, P in watts, all in one screw or
//! blade. At 15 A: 0.1 Ω gives 22 W, 0.5 Ω gives 112 W. Where R is no longer small beside the load `R_L`,
//! `P = U² R / (R + R_L)²`, which is largest at `R = R_L`: 1500 W at 120 V is 9.6 Ω, so 375 W. A joint of 60 Ω in
//! front of it still makes 178 W, so that from 0.5 Ω on no joint that carries an ordinary load is cool. A sound joint
//! has 0.5 mΩ to 3 mΩ; 50 mΩ is a defect by common practice. The service carries more: at 40 A 0.1 Ω makes 160 W and
//! lifts a neutral by 4 V. The bounds are judgement on these figures.

use site::finding::Who;

use crate::fault::{Harm, Severity, Step};

/// A broken conductor, ohms: from a damp break to a clean one.
pub(super) const BROKEN: Severity = Severity::LogUniform(3e4, 1e9);

/// A poor joint of a line or neutral, ohms; below it cannot be told from a long run.
pub(super) const POOR: Severity = Severity::LogUniform(0.15, 60.0);

/// What follows from a poor joint in fixed wiring.
pub(super) const HOT: &[Step] = &[
    Step::defect(0.0, Who::Electrician, Harm::of(0.02, 0.1, 0.05)),
    Step::danger(0.5, Who::Electrician, Harm::of(0.1, 0.4, 0.15)),
];

/// What follows from a poor joint in a cord or strip.
pub(super) const HOT_CORD: &[Step] = &[
    Step::defect(0.0, Who::Technician, Harm::of(0.02, 0.1, 0.05)),
    Step::danger(0.5, Who::Technician, Harm::of(0.1, 0.4, 0.15)),
];

/// A poor joint of an earth, ohms.
pub(super) const POOR_EARTH: Severity = Severity::LogUniform(0.3, 3e3);

/// What follows from a poor joint in an earth. At 120 V a path of 1 Ω drives 120 A, about what a 20 A breaker needs to
/// trip at once; above it a fault to the case lasts.
pub(super) const WEAK_EARTH: &[Step] = &[
    Step::advice(0.0, Who::Electrician, Harm::of(0.01, 0.0, 0.0)),
    Step::defect(1.0, Who::Electrician, Harm::of(0.05, 0.0, 0.01)),
];

/// A poor joint of the service or of a feeder, ohms.
pub(super) const POOR_SERVICE: Severity = Severity::LogUniform(0.04, 20.0);
