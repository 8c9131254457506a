//! Real cases, retold by people, against the engine.
//!
//! `case` reads the data, `told` turns a case into an assumed site and a visit by one general list of words, `judge` holds
//! the answer against what the case says.
pub mod case;
pub mod codes;
pub mod judge;
pub mod told;
