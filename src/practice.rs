//! What is asked of a player, and what became of it over weeks.
//!
//! Pure functions over text, tallies and digests; where files lie is the store's business.

pub mod assignment;
pub mod position;
pub mod digest;
pub mod progress;

pub use assignment::{Assignment, NoAssignment};
pub use digest::Digest;
