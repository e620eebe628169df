//! Settings, logging, wiring.
fn main() {}
