//! Planning: what a machine draws from its supply, and whether a supply will do.
//!
//! - [`Demand`]: per rail and moment, with its doubt.
//! - [`fit()`]: a supply held against a demand at a place: findings, margins, what gives way first.
//! - [`rank`]: candidates in the order in which they would be chosen.
//!
//! This crate has not heard of networks, faults or readings, of files or terminals.

mod demand;
mod fit;
mod hold;
mod inlet;
mod judge;
mod left;
mod lines;
mod place;
mod plugs;
mod rules;
mod sum;
pub mod words;
mod year;

pub use demand::{Demand, Flow, Taken};
pub use fit::{Fit, Standing, fit, rank};
pub use inlet::{Inlet, inlet};
pub use lines::{Line, Of, Unit};
pub use place::{Branch, Place};
pub use plugs::{Need, needs};
pub use rules::Doubted;
pub use site::typical::Moment;
pub use sum::Sum;
pub use year::Year;
