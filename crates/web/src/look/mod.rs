//! What is drawn: verdict shapes, the symbols of the chain, faces of receptacles, bars.

pub mod attached;
pub mod bars;
pub mod causes;
pub mod chain;
pub mod check;
pub mod entry;
pub mod face;
pub mod findings;
pub mod first;
pub mod qr;
pub mod seen;
pub mod shape;
pub mod symbol;
