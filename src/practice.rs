//! What is asked of a player, how takes stand by it, and what became of it over weeks: assignments, hand-ins, a class.
//!
//! Pure functions over text, tallies and digests; where files lie is the store's business.

pub mod assignment;
pub mod class;
pub mod contests;
pub mod digest;
pub mod hand_in;
pub mod odds;
pub mod position;
pub mod progress;
pub mod sent_take;
pub mod standing;

pub use assignment::{Assignment, NoAssignment};
pub use digest::Digest;
pub use hand_in::HandIn;
pub use sent_take::SentTake;
