//! A line from a file, to be played as if it were played now.

use std::path::Path;

use crate::command::exit_status::Failure;
use crate::command::load;
use crate::judge::ChordSource;
use crate::live::ShortMessage;
use crate::take::{Imprint, MidiFile};
use crate::time::{Nanos, Ticks};

/// A MIDI file whose line is played as if it were played now.
pub struct Replayed {
    /// Its messages, their times counted from bar 1.
    pub messages: Vec<(Nanos, ShortMessage)>,
    /// How often the form is gone through until its end.
    pub choruses: u32,
}

impl Replayed {
    /// Loads a MIDI file.
    pub fn load(path: &Path, chords: &ChordSource) -> Result<Self, Failure> {
        let bytes = load::midi_bytes(path)?;
        Self::of(&bytes, chords).map_err(|error| Failure::bad_input(format!("{}: {error}", path.display())))
    }

    /// The line in the bytes of a MIDI file, or what is wrong with them.
    pub fn of(bytes: &[u8], chords: &ChordSource) -> Result<Self, String> {
        let midi = MidiFile::parse(bytes).map_err(|error| error.to_string())?;
        let track = midi.solo_track(None).map_err(|error| error.to_string())?;
        let imprint = Imprint::of(&midi);
        let start = imprint.as_ref().map_or(Ticks::ZERO, Imprint::start);
        let from = midi.tempo.nanos(start);
        let messages = midi.tracks[track].messages.iter();
        let messages = messages.filter_map(|timed| {
            let message = ShortMessage::new(timed.message.wire())?;
            Some((Nanos::ZERO + (timed.at - from), message))
        });
        let choruses =
            imprint.map_or_else(|| chords.choruses_until(midi.last_strike(track), start), |i| i.choruses);
        Ok(Self { messages: messages.collect(), choruses })
    }
}
