//! The neck and the keys: where notes lie, position by position, and what each place is to the chord of the moment.
//!
//! Everything here is places and pitches. It is not drawing: see [`crate::report`] and [`crate::screen`]. It knows no time
//! and has no side effects; it runs on whichever thread asks.

pub mod layer;
pub mod place;
pub mod position;
pub mod tuning;

pub use layer::{InNext, Layer, Layers};
pub use place::{Fret, FretRange, Place, PlacedNote, StringNumber};
pub use position::{NoPosition, Position};
pub use tuning::Tuning;
