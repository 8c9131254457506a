//! `expect`: what a meter or a lamp tester would show under a cause.

use crate::args::Expect;
use crate::ending::{Ending, Refusal};
use crate::screen::Format;

/// Runs the verb.
pub fn run(_args: &Expect, _json: bool, _format: Format) -> Ending {
    Err(Refusal::plain("expect is not there yet"))
}
