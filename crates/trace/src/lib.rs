//! Readings in, ranked causes and the next check out.
pub mod answer;
pub mod fault;
pub mod faults;
