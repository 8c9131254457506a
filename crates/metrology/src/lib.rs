//! Quantities, meters, doubt and decisions: what a reading is worth.
//!
//! - [`quantity`]: volts, amps and the rest as types, read from and written as what people write (`4.7 kΩ`, `12 AWG`).
//! - [`sourced`]: a value that carries where it comes from and how far to trust it.
//!
//! This crate has not heard of an outlet, a circuit or a fault.

pub mod quantity;
pub mod sourced;
