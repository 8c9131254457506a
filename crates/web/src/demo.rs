//! The invented demo: what a fresh store begins with, and what the pages' samples are made of.

/// An invented site; it says so.
pub const SITE: &str = include_str!("../../site/data/demo/site.toml");
/// An invented visit to it.
pub const VISIT: &str = include_str!("../../site/data/demo/visit.toml");
