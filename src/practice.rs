//! What is asked of a player, and what comes next: assignments, the keys a tune is taken through, the next tempo.
//!
//! Pure functions over text and tallies; where files lie is the store's business.

pub mod assignment;
pub mod key_order;
pub mod tempo_step;

pub use assignment::{Assignment, NoAssignment};
pub use key_order::KeyOrder;
