//! Reading Standard MIDI Files 1.0: formats 0 and 1, any division, with a warning for what is odd and a refusal
//! that names the place for what cannot be read.
//!
//! It is no cleaning (see [`mod@super::clean`]) and no chart: chord texts are handed on as written. The bytes come from
//! strangers: nothing here panics on them, and sizes are limited.

mod choose;
mod chunks;
mod error;
mod file_time;
mod track;

pub use choose::{NoTrack, TrackSummary};
pub use error::MidiFileError;

use crate::theory::Key;
use crate::time::{Meter, Nanos, TempoMap, Ticks};

use super::clean::{CleanSettings, Cleaned, Timeline, clean};
use super::message::TimedMessage;
use super::warning::Warning;
use file_time::FileTime;
use track::{Conductor, decode};

/// The largest file read, in bytes (64 MiB; an hour of dense guitar takes about one).
pub const MAX_FILE_BYTES: usize = 64 << 20;
/// The most events read from one file.
pub const MAX_EVENTS: usize = 4_000_000;
/// The most tracks read from one file.
pub const MAX_TRACKS: usize = 1024;
/// The longest file read, in quarter notes (five days at 120 a minute).
pub const MAX_QUARTERS: u64 = 1_000_000;

/// A Standard MIDI File, read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MidiFile {
    /// The tempo map, of all tracks.
    pub tempo: TempoMap,
    /// The meters and where each begins, in order; empty where the file names none (then 4/4).
    pub meters: Vec<(Ticks, Meter)>,
    /// The first key signature: a hint, for many files carry C major unasked.
    pub key: Option<Key>,
    /// The tracks, in file order.
    pub tracks: Vec<MidiTrack>,
    /// The instant of the last event of any track.
    pub end: Nanos,
    /// The same instant in ticks.
    pub end_ticks: Ticks,
    /// What was odd.
    pub warnings: Vec<Warning>,
}

/// One track of a file.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct MidiTrack {
    /// Its name, if it has one.
    pub name: Option<String>,
    /// Its channel messages, in order.
    pub messages: Vec<TimedMessage>,
    /// Its texts, lyrics and markers, in order.
    pub texts: Vec<TrackText>,
    /// How many notes it strikes.
    pub note_count: usize,
}

/// A text in a track.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TrackText {
    /// Where it stands.
    pub at: Ticks,
    /// As which kind of event.
    pub kind: TextKind,
    /// The text: UTF-8, or Latin-1 where it is not; control characters removed, blanks trimmed.
    pub text: String,
}

/// The kinds of text event that are kept (Standard MIDI File 1.0: FF 01, FF 05, FF 06).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum TextKind {
    /// Any text.
    Text,
    /// A syllable to be sung; some programs put chords here.
    Lyric,
    /// A rehearsal letter or section name.
    Marker,
}

impl MidiFile {
    /// Reads a file from its bytes, RIFF-wrapped ones (`RMID`) included.
    ///
    /// Instants come from the file's own ticks, rounded down once to the nanosecond. Ticks are exact where the
    /// division divides 20,160 (96, 120, 480, 960 and more) and else rounded to the nearest; under an SMPTE division
    /// they follow from the instants.
    pub fn parse(bytes: &[u8]) -> Result<Self, MidiFileError> {
        let chunks = chunks::split(bytes)?;
        let mut warnings = chunks.warnings;
        let division = chunks.division;
        if division.smpte {
            warnings.push(Warning::SmpteDivision);
        }
        let mut conductor = Conductor::default();
        let mut tracks = Vec::with_capacity(chunks.tracks.len());
        for (index, chunk) in chunks.tracks.iter().enumerate() {
            tracks.push(decode(chunk, index + 1, &division, &mut conductor)?);
        }
        warnings.append(&mut conductor.warnings);
        let time = FileTime::new(&division, &mut conductor.tempos);
        for track in &mut tracks {
            time.place_track(track);
        }
        conductor.meters.sort_by_key(|&(tick, _)| tick);
        let mut walk = time.walk();
        let meters = conductor.meters.iter().map(|&(tick, meter)| (walk.place(tick).1, meter));
        let meters = last_at_each_instant(meters);
        let (end, end_ticks) = time.walk().place(conductor.end);
        Ok(Self { tempo: time.into_tempo(), meters, key: conductor.key, tracks, end, end_ticks, warnings })
    }

    /// The tempo, the meters and the end, as cleaning needs them.
    pub fn timeline(&self) -> Timeline<'_> {
        Timeline { tempo: &self.tempo, meters: &self.meters, end: self.end }
    }

    /// The notes of track `track` (an index into [`Self::tracks`]), cleaned; none where there is no such track.
    pub fn notes(&self, track: usize, settings: &CleanSettings) -> Cleaned {
        let messages = self.tracks.get(track).map_or(&[][..], |track| &track.messages);
        clean(messages, self.timeline(), settings)
    }
}

/// Of several meters at one instant the last counts.
fn last_at_each_instant(meters: impl Iterator<Item = (Ticks, Meter)>) -> Vec<(Ticks, Meter)> {
    let mut kept: Vec<(Ticks, Meter)> = Vec::new();
    for (at, meter) in meters {
        match kept.last_mut() {
            Some(last) if last.0 == at => last.1 = meter,
            _ => kept.push((at, meter)),
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_two_meters_at_one_instant_the_last_counts() {
        let three_four = Meter::new(3, 4).expect("a meter");
        let meters = [(Ticks(0), Meter::FOUR_FOUR), (Ticks(0), three_four), (Ticks(9), Meter::FOUR_FOUR)];
        assert_eq!(
            last_at_each_instant(meters.into_iter()),
            [(Ticks(0), three_four), (Ticks(9), Meter::FOUR_FOUR)]
        );
    }
}
