//! Pages: what the verbs have found, as text. Nothing is computed here.

pub mod answer;
pub mod connector;
pub mod findings;
pub mod led;
#[cfg(test)]
pub mod samples;
pub mod words;
