//! Simulated premises with hidden truth, and whoever visits them.
//!
//! `premises` draws a site as it is told and as it is; `fault` spoils it; `lay` builds the network; `look` makes a check;
//! `story` says what the visit starts with.
pub mod appliance;
pub mod fault;
pub mod lay;
pub mod look;
pub mod net;
pub mod person;
pub mod premises;
pub mod story;
