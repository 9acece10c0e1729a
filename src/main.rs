//! The `pintle` program.
fn main() {}
