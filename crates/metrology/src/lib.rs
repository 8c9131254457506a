//! Quantities, meters, doubt and decisions: what a reading is worth.
//!
//! - [`Volts`] and its kin: quantities as types, read from and written as what people write (`4.7 kΩ`, `12 AWG`).
//! - [`Sourced`]: a value that carries where it comes from and how far to trust it.
//!
//! This crate has not heard of an outlet, a circuit or a fault.

mod quantity;
mod sourced;

pub use quantity::{
    AmpHours, Amps, Celsius, Farads, Fraction, Gauge, Henries, Hertz, Kind, Metres, Ohms, Quantity,
    QuantityError, Seconds, Siemens, SquareMetres, VoltAmps, Volts, WattHours, Watts,
};
pub use sourced::{Basis, Sourced};
