//! The executable.
fn main() {}
