//! One file a verb.

pub mod bench;
pub mod demand;
pub mod demo;
pub mod expect;
pub mod judge;
pub mod led;
pub mod lines;
pub mod open;
pub mod parts;
pub mod pin;
pub mod pins;
pub mod proofread;
pub mod reread;
pub mod schema;
pub mod shell;
pub mod supply;
pub mod told;
pub mod trace;
