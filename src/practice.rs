//! What is asked of a player, how takes stand by it, and what to practise next: assignments, hand-ins, a class,
//! suggestions after a take.
//!
//! Pure functions over text and tallies; where files lie is the store's business.

pub mod assignment;
pub mod class;
pub mod contests;
pub mod hand_in;
pub mod next;
pub mod odds;
pub mod sent_take;
pub mod standing;

pub use assignment::Assignment;
pub use hand_in::HandIn;
pub use sent_take::SentTake;
