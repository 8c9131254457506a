//! What the tests of the catalogue against a circuit simulator and against tables share.
#![allow(dead_code, reason = "not every test file uses all of it")]

pub mod deck;
pub mod kept;
pub mod ngspice;
pub mod rig;
pub mod sites;
#[path = "../../../network/tests/support/truth.rs"]
pub mod truth;
