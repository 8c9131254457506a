//! What the tests of the catalogue against a circuit simulator share.

pub mod deck;
pub mod kept;
pub mod ngspice;
pub mod rig;
pub mod sites;
#[path = "../../../network/tests/support/truth.rs"]
#[allow(
    dead_code,
    clippy::needless_range_loop,
    reason = "shared with the tests of `network`, which use more of it"
)]
pub mod truth;
