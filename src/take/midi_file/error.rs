//! Why a file is refused: what is wrong, where, and what to do instead.

use super::{MAX_EVENTS, MAX_FILE_BYTES, MAX_QUARTERS, MAX_TRACKS};

/// Says why bytes cannot be read as a MIDI file.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MidiFileError {
    /// Nothing at all.
    #[error("the file is empty: export it again as a Standard MIDI File")]
    Empty,
    /// The first bytes are not those of a MIDI file.
    #[error(
        "not a MIDI file: it should begin with MThd (byte 0), or RIFF around it: export it as a Standard MIDI File, format 1"
    )]
    NotMidi,
    /// A RIFF file around something else.
    #[error(
        "a RIFF file, but no MIDI in it (no RMID form with a data chunk): export it as a Standard MIDI File, format 1"
    )]
    RiffWithoutMidi,
    /// The header is cut short or makes no sense.
    #[error("the header (bytes 0 to 13) cannot be read: {reason}: export the file again")]
    BadHeader {
        /// What is wrong with it.
        reason: String,
    },
    /// Format 2: independent patterns.
    #[error("format 2 (independent patterns) has no common time (bytes 8 and 9): export it as format 1")]
    Format2,
    /// A header and nothing else.
    #[error("no track follows the header (byte {byte}): export the file again")]
    NoTracks {
        /// Where the first track should begin.
        byte: usize,
    },
    /// A track's chunk announces more bytes than the file has.
    #[error(
        "track {track} (byte {byte}) should have {declared} bytes, the file ends after {found}: it was cut short. Copy or export it again"
    )]
    TruncatedTrack {
        /// The track, from 1.
        track: usize,
        /// Where its first event stands in the file.
        byte: usize,
        /// Bytes announced.
        declared: usize,
        /// Bytes there.
        found: usize,
    },
    /// More bytes than are read.
    #[error("{bytes} bytes are more than the {MAX_FILE_BYTES} that are read: split the file")]
    TooLarge {
        /// The size of the file.
        bytes: usize,
    },
    /// More events than are read.
    #[error("more than {MAX_EVENTS} events (reached in track {track}): split the file")]
    TooManyEvents {
        /// The track, from 1, in which the limit is reached.
        track: usize,
    },
    /// More tracks than are read.
    #[error("more than {MAX_TRACKS} tracks (reached at byte {byte}): export only those that are needed")]
    TooManyTracks {
        /// Where the first track too many begins.
        byte: usize,
    },
    /// Longer than any playing.
    #[error(
        "track {track} runs past {MAX_QUARTERS} quarter notes (byte {byte}): cut the silence out or export the file again"
    )]
    TooLong {
        /// The track, from 1.
        track: usize,
        /// Where the event stands in the file.
        byte: usize,
    },
}
