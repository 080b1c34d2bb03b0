//! What is asked of a player, what comes next, and what became of it over weeks: assignments, the keys a tune is taken
//! through, the next tempo, progress.
//!
//! Pure functions over text, tallies and digests; where files lie is the store's business.

pub mod assignment;
pub mod key_order;
pub mod tempo_step;
pub mod position;
pub mod digest;
pub mod progress;

pub use assignment::{Assignment, NoAssignment};
pub use digest::Digest;
pub use key_order::KeyOrder;
