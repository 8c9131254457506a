//! Readings in, ranked causes and the next check out.
//!
//! A cause is a set of no, one or two faults. Its probability is its prior times the mean likelihood of all that was
//! witnessed over sampled worlds (`engine`); the action is the one with the least expected loss (`decide`); the next check
//! is the one that lets that loss fall fastest (`checks`). `trace` judges; it neither solves networks nor prints.
pub mod answer;
#[cfg(test)]
mod brute;
pub mod causes;
mod checks;
mod claims;
mod decide;
mod engine;
mod estimate;
pub mod expect;
mod explain;
pub mod fault;
pub mod faults;
mod fit;
mod forecast;
mod known;
pub mod likelihood;
mod look;
mod near;
mod next;
mod outlook;
mod pull;
mod seats;
pub mod seeing;
mod settle;
mod sieve;
mod slope;
mod study;
mod tell;
mod told;
mod unknown;
pub mod verdicts;
mod whole;
pub mod words;

pub use study::Question;

pub use verdicts::{verdict, verdicts};
pub use whole::trace;
