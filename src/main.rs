//! The barwise program.
fn main() {}
