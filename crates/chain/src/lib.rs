//! A site under a condition becomes an electrical network, and a fault a few changed branches of it.
//!
//! The chain knows what a cable, an outlet, a breaker and a filter are made of; it does not know which faults exist
//! (that is `trace`) nor how a network is solved (that is `network`).
pub mod alter;
pub mod draw;
pub mod element;
pub mod guess;
pub mod lanes;
pub mod wiring;
pub mod worlds;
