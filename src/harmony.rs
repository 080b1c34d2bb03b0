//! What the chords mean: the key each stretch is in, each chord's function in it, and one scale a chord with its reason.
//!
//! It is not scoring: it never sees a note that was played. Pure; runs on whichever thread asks.

pub mod reading;

pub use reading::{Centre, ChordReading, FunctionalMoves, Reading, Region};
