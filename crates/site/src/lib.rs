//! The model of a site and of a visit, their files, region profiles and findings.

pub mod assumed;
pub mod bench;
pub mod cable;
pub mod connector;
pub mod file;
pub mod finding;
pub mod inventory;
pub mod machine;
pub mod model;
pub mod pair;
pub mod parts_line;
pub mod plug;
pub mod quick;
pub mod region;
pub mod signal;
pub mod supply;
pub mod typical;
pub mod visit;
