//! What was played: MIDI files and messages, cleaned into notes, with a reason for every note set aside.
//!
//! It knows no chords. Takes bytes, touches no disk, and runs on whichever thread asks.

pub mod clean;
pub mod message;
pub mod midi_file;
pub mod note;
pub mod warning;
pub mod writer;
pub mod imprint;

pub use clean::{CleanSettings, Cleaned, Timeline, clean};
pub use imprint::{BandPlayed, Imprint};
pub use message::{ChannelMessage, Meaning, TimedMessage};
pub use midi_file::{MidiFile, MidiFileError};
pub use note::{BendPart, LeftOut, Note};
pub use warning::Warning;
pub use writer::TakeFile;
