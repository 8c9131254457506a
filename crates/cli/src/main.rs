//! The `wattwright` program.
fn main() {}
