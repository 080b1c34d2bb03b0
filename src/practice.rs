//! What is asked of a player: assignments.
//!
//! Pure functions over text and tallies; where files lie is the store's business.

pub mod assignment;

pub use assignment::{Assignment, NoAssignment};
