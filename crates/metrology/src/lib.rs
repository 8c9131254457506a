//! Quantities, meters, doubt and decisions: what a reading is worth.
//!
//! - [`Volts`] and its kin: quantities as types, read from and written as what people write (`4.7 kΩ`, `12 AWG`).
//! - [`Stated`]: a reading as it was told, with the width that its wording deserves (`about 60 V`, `60..90 V`, `dead`).
//! - [`Meter`]: ranges, [`Accuracy`], input and category; generic classes for when only the kind of a meter is known.
//! - [`doubt`], [`Ensemble`], [`Budget`]: uncertainty as JCGM 100, with what readings of one meter share.
//! - [`conformance`], [`Conformity`]: decisions against [`Limits`] as JCGM 106, with risks and what would decide.
//! - [`Sourced`]: a value that carries where it comes from and how far to trust it.
//!
//! This crate has not heard of an outlet, a circuit or a fault.

mod accuracy;
mod budget;
mod conformity;
mod covariance;
mod distribution;
mod doubt;
mod ensemble;
mod meter;
mod quantity;
mod sourced;
mod stated;

pub use accuracy::Accuracy;
pub use budget::{Budget, Combined, Component};
pub use conformity::{
    CONFORMS_FROM, Conformity, FAILS_TO, GlobalRisks, Limits, SpecificRisks, WouldDecide,
    conformance, conforms_above, conforms_below, conforms_between, global_risks, guard_band,
    specific_risks, what_would_decide,
};
pub use covariance::Covariance;
pub use distribution::{normal_cdf, normal_quantile, student_quantile};
pub use doubt::{Doubt, Measured, doubt, doubt_on, measured};
pub use ensemble::{Ensemble, Member, SharedId};
pub use meter::{Category, Fitness, Function, Input, Meter, Range, RangeId, Response, Scale, Wave};
pub use quantity::{
    AmpHours, Amps, Celsius, Farads, Fraction, Gauge, Henries, Hertz, Kind, Metres, Ohms, Quantity,
    QuantityError, Seconds, Siemens, SquareMetres, VoltAmps, Volts, WattHours, Watts,
};
pub use sourced::{Basis, Sourced};
pub use stated::{Shape, Stated, Tellable, Widths, Wording};
