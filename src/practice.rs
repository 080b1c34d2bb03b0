//! What is asked of a player, and what to practise next: assignments, suggestions after a take.
//!
//! Pure functions over text and tallies; where files lie is the store's business.

pub mod assignment;
pub mod next;

pub use assignment::{Assignment, NoAssignment};
