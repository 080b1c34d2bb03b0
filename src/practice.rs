//! What is asked of a player, and how takes stand by it: assignments, hand-ins, a class.
//!
//! Pure functions over text and tallies; where files lie is the store's business.

pub mod assignment;
pub mod class;
pub mod contests;
pub mod hand_in;
pub mod odds;
pub mod sent_take;
pub mod standing;

pub use assignment::Assignment;
pub use hand_in::HandIn;
pub use sent_take::SentTake;
