//! What was played: MIDI files and messages, cleaned into notes, with a reason for every note set aside.
//!
//! It knows no chords. Takes bytes, touches no disk.

pub mod note;

pub use note::{LeftOut, Note};
