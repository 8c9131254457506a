//! The measure of the trace engine from outside: simulated premises, real cases, what no catalogue knows.
//!
//! Nothing here shares a prior, a sampler, a default or a network builder with the engine. What is simulated is drawn
//! from this crate's own tables, built straight on `network`, and handed to the engine as a site and a visit, the way a
//! person would hand it over. All of it is invented; `sim` says how.
pub mod calibration;
pub mod chance;
pub mod diagram;
pub mod field;
pub mod led;
pub mod narrate;
pub mod optimal;
pub mod outsiders;
pub mod right;
pub mod same;
pub mod score;
pub mod sim;
pub mod usual;
