//! What was odd about a take or file that could still be read.

/// Something the reader should know about a take; none of them stops a review.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Warning {
    /// An event could not be read; the rest of its track is lost.
    #[error("track {track} cannot be read from byte {byte} on: what comes before was kept")]
    BrokenEvent {
        /// The track, from 1.
        track: usize,
        /// Where the event stands in the file.
        byte: usize,
    },
    /// A track lacks its end-of-track event.
    #[error("track {track} has no end-of-track event (byte {byte}): taken to end with its last event")]
    NoEndOfTrack {
        /// The track, from 1.
        track: usize,
        /// Where it was expected.
        byte: usize,
    },
    /// The header promises other tracks than there are.
    #[error("the header promises {declared} tracks, {found} are there: those were read")]
    TrackCount {
        /// Tracks announced.
        declared: usize,
        /// Tracks there.
        found: usize,
    },
    /// What stands after the last track is no chunk.
    #[error("byte {byte} begins no chunk: the rest of the file was left out")]
    Junk {
        /// Where it stands in the file.
        byte: usize,
    },
    /// The file counts in frames of film, not in notes.
    #[error(
        "the file counts in SMPTE frames: times are kept, bars and beats come from its tempo, or 120 where it has none"
    )]
    SmpteDivision,
    /// A meter that cannot be used; the first is told.
    #[error("track {track} names a meter {beats}/2^{power} that cannot be used: left out")]
    OddMeter {
        /// The track, from 1.
        track: usize,
        /// The numerator.
        beats: u8,
        /// The denominator, as a power of two.
        power: u8,
    },
    /// A tempo of no length; the first is told.
    #[error("track {track} names a tempo of 0 microseconds a quarter: left out")]
    OddTempo {
        /// The track, from 1.
        track: usize,
    },
    /// Notes that were never let go.
    #[error("{notes} {} never let go, the first at {first_ms} ms: closed after two bars, or with the take", if *notes == 1 { "note was" } else { "notes were" })]
    StuckNotes {
        /// How many.
        notes: usize,
        /// When the first of them was struck, in milliseconds.
        first_ms: i64,
    },
    /// One voice a channel, but not the strings of this tuning.
    #[error(
        "channels {first} to {last} carry one voice each but do not fit the tuning: no strings named; name the tuning or the order of channels"
    )]
    TuningMismatch {
        /// The lowest channel, from 1.
        first: u8,
        /// The highest channel, from 1.
        last: u8,
    },
}

impl Warning {
    /// The word that records use.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::BrokenEvent { .. } => "broken-event",
            Self::NoEndOfTrack { .. } => "no-end-of-track",
            Self::TrackCount { .. } => "track-count",
            Self::Junk { .. } => "junk",
            Self::SmpteDivision => "smpte-division",
            Self::OddMeter { .. } => "odd-meter",
            Self::OddTempo { .. } => "odd-tempo",
            Self::StuckNotes { .. } => "stuck-notes",
            Self::TuningMismatch { .. } => "tuning-mismatch",
        }
    }
}
