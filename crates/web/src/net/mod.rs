//! The way in over the local network: addresses, certificate, pairing, and the gate that only paired phones pass.

pub mod address;
pub mod certificate;
pub mod gate;
pub mod listen;
pub mod pairing;
pub mod phones;
