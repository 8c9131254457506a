//! What the tests share: seeded chance, invented wiring, and a dense solution in double-double arithmetic.

#![allow(dead_code, reason = "each test program uses its part")]

pub mod chance;
pub mod netlist;
pub mod truth;
pub mod wiring;
