//! What is asked of a player, how takes stand by it, what became of them over weeks, and what comes next.
//!
//! Pure functions over text, tallies and digests; where files lie is the store's business.

pub mod assignment;
pub mod class;
pub mod contests;
pub mod hand_in;
pub mod what_next;
pub mod odds;
pub mod sent_take;
pub mod standing;
pub mod key_order;
pub mod tempo_step;
pub mod position_heard;
pub mod digest;
pub mod progress;
pub mod days;
pub mod pauses;

pub use assignment::Assignment;
pub use digest::Digest;
pub use hand_in::HandIn;
pub use key_order::KeyOrder;
pub use sent_take::SentTake;
