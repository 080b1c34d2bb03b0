//! Writing a take: a Standard MIDI File 1.0 of format 1 whose division is our own ticks, so nothing is rounded twice.
//!
//! Track 1 has tempo, meters, key and sections; `Chords` the chord symbols as texts; `Solo` what was played, with
//! settings and calibration as texts at its start. A backing has a track for each part in place of `Solo`. It returns
//! bytes; what becomes of them is the store's.

use midly::num::{u4, u7, u15, u24, u28};
use midly::{
    Format, Header, MetaMessage, MidiMessage, Smf, Timing, TrackEvent, TrackEventKind, live::LiveEvent,
};

use super::message::{ChannelMessage, TimedMessage};
use crate::theory::{Key, KeyMode, Pitch};
use crate::time::{Meter, NanoSpan, Nanos, TICKS_PER_QUARTER, TempoMap, TickSpan, Ticks};

/// A take as it is saved.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct TakeFile {
    /// The tempo map; written in whole microseconds a quarter ([`writable`]).
    pub tempo: TempoMap,
    /// The meters and where each begins.
    pub meters: Vec<(Ticks, Meter)>,
    /// The key. A blues is written as major: the format knows no more.
    pub key: Option<Key>,
    /// The keys that follow, and where each begins.
    pub keys: Vec<(Ticks, Key)>,
    /// Section names.
    pub markers: Vec<(Ticks, String)>,
    /// Chord symbols.
    pub chords: Vec<(Ticks, String)>,
    /// What was played, from the start of the take, in the order it came.
    pub solo: Vec<(Nanos, ChannelMessage)>,
    /// Settings and calibration, one text each.
    pub texts: Vec<String>,
    /// The parts of a backing; a file that has some is no take and has no `Solo`.
    pub parts: Vec<PartTrack>,
}

/// A part of a backing, on a track of its own.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct PartTrack {
    /// The track's name.
    pub name: String,
    /// The channel, 0 to 15.
    pub channel: u8,
    /// The General MIDI program, 0 to 127; percussion has none.
    pub program: Option<u8>,
    /// Each note's start, length, pitch and velocity (1 to 127).
    pub notes: Vec<(Ticks, TickSpan, Pitch, u8)>,
}

/// The longest a quarter can be written as, in microseconds (three bytes).
const MAX_QUARTER_MICROS: i64 = 0xFF_FFFF;
/// The longest time between two events, in ticks (28 bits).
const MAX_DELTA: i64 = (1 << 28) - 1;
/// What FF 58 says of the metronome: a click each quarter, eight thirty-seconds a quarter.
const CLOCKS_A_CLICK: u8 = 24;
const THIRTY_SECONDS_A_QUARTER: u8 = 8;

/// The tempo map as a file can hold it: quarters in whole microseconds. A take played on this map and read back has
/// the same bars to the nanosecond.
pub fn writable(tempo: &TempoMap) -> TempoMap {
    let whole = |(at, quarter)| (at, NanoSpan(micros(quarter) * 1000));
    TempoMap::from_changes(tempo.changes().map(whole))
}

fn micros(quarter: NanoSpan) -> i64 {
    ((quarter.0 + 500) / 1000).clamp(1, MAX_QUARTER_MICROS)
}

/// The instant as a saved take has it: the nearest tick of a [`writable`] map, and that tick's nanosecond. Doing it
/// twice changes nothing, so a take judged on these instants is judged the same after it was saved and read.
/// Before the start counts as the start.
pub fn quantise(tempo: &TempoMap, at: Nanos) -> (Nanos, Ticks) {
    let at = at.max(Nanos::ZERO);
    let before = tempo.ticks(at);
    let after = before + TickSpan(1);
    let (early, late) = (tempo.nanos(before), tempo.nanos(after));
    if late - at < at - early { (late, after) } else { (early, before) }
}

impl TakeFile {
    /// What was played, on the instants that the file has.
    pub fn quantised_solo(&self) -> Vec<TimedMessage> {
        let tempo = writable(&self.tempo);
        let timed = |&(at, message): &(Nanos, ChannelMessage)| {
            let (at, ticks) = quantise(&tempo, at);
            TimedMessage { at, ticks, message }
        };
        let mut solo: Vec<_> = self.solo.iter().map(timed).collect();
        solo.sort_by_key(|timed| timed.ticks);
        solo
    }

    /// The file's bytes. Judging what [`MidiFile::parse`](super::MidiFile::parse) makes of them judges a take that
    /// has just been played exactly as it will be judged from disk, its end included.
    ///
    /// # Panics
    ///
    /// Past what a chunk can hold: four gigabytes of events, or a text of 256 megabytes.
    pub fn to_bytes(&self) -> Vec<u8> {
        let solo = self.quantised_solo();
        let header = Header::new(Format::Parallel, Timing::Metrical(u15::new(TICKS_PER_QUARTER as u16)));
        let mut tracks = vec![self.conductor_track(), self.chord_track()];
        if self.parts.is_empty() {
            tracks.push(self.solo_track(&solo));
        }
        tracks.extend(self.parts.iter().map(PartTrack::events));
        let mut bytes = Vec::new();
        Smf { header, tracks }
            .write(&mut bytes)
            .expect("tracks, each within what a chunk can hold, go into memory");
        bytes
    }

    fn conductor_track(&self) -> Vec<TrackEvent<'_>> {
        let mut track = TrackWriter::default();
        for (at, quarter) in self.tempo.changes() {
            track.meta(at, MetaMessage::Tempo(u24::new(micros(quarter) as u32)));
        }
        for &(at, meter) in &self.meters {
            let power = meter.unit().trailing_zeros() as u8;
            let (beats, clocks) = (meter.beats(), CLOCKS_A_CLICK);
            track.meta(at, MetaMessage::TimeSignature(beats, power, clocks, THIRTY_SECONDS_A_QUARTER));
        }
        let first = self.key.map(|key| (Ticks::ZERO, key));
        for (at, key) in first.into_iter().chain(self.keys.iter().copied()) {
            track.meta(at, MetaMessage::KeySignature(key.fifths(), key.mode == KeyMode::Minor));
        }
        for (at, text) in &self.markers {
            track.meta(*at, MetaMessage::Marker(text.as_bytes()));
        }
        track.finish()
    }

    fn chord_track(&self) -> Vec<TrackEvent<'_>> {
        let mut track = TrackWriter::default();
        track.meta(Ticks::ZERO, MetaMessage::TrackName(b"Chords"));
        for (at, text) in &self.chords {
            track.meta(*at, MetaMessage::Text(text.as_bytes()));
        }
        track.finish()
    }

    fn solo_track<'a>(&'a self, solo: &'a [TimedMessage]) -> Vec<TrackEvent<'a>> {
        let mut track = TrackWriter::default();
        track.meta(Ticks::ZERO, MetaMessage::TrackName(b"Solo"));
        for text in &self.texts {
            track.meta(Ticks::ZERO, MetaMessage::Text(text.as_bytes()));
        }
        for timed in solo {
            if let Ok(LiveEvent::Midi { channel, message }) = LiveEvent::parse(timed.message.wire()) {
                track.push(timed.ticks, TrackEventKind::Midi { channel, message });
            }
        }
        track.finish()
    }
}

impl PartTrack {
    fn events(&self) -> Vec<TrackEvent<'_>> {
        let mut track = TrackWriter::default();
        let channel = u4::new(self.channel & 0x0f);
        let mut push = |at, message| track.push(at, TrackEventKind::Midi { channel, message });
        if let Some(program) = self.program {
            push(Ticks::ZERO, MidiMessage::ProgramChange { program: u7::new(program & 0x7f) });
        }
        // Ends first, so that a note that is struck again as it ends is let go before.
        for &(at, length, pitch, _) in &self.notes {
            push(at + length, MidiMessage::NoteOff { key: u7::new(pitch.key()), vel: u7::new(64) });
        }
        for &(at, _, pitch, velocity) in &self.notes {
            push(at, MidiMessage::NoteOn { key: u7::new(pitch.key()), vel: u7::new(velocity & 0x7f) });
        }
        track.meta(Ticks::ZERO, MetaMessage::TrackName(self.name.as_bytes()));
        track.finish()
    }
}

/// Events of a track at their instants.
#[derive(Default)]
struct TrackWriter<'a>(Vec<(Ticks, TrackEventKind<'a>)>);

impl<'a> TrackWriter<'a> {
    fn push(&mut self, at: Ticks, kind: TrackEventKind<'a>) {
        self.0.push((at.max(Ticks::ZERO), kind));
    }

    fn meta(&mut self, at: Ticks, meta: MetaMessage<'a>) {
        self.push(at, TrackEventKind::Meta(meta));
    }

    /// The events in order of time with their distances, and the end-of-track event that the format asks for.
    fn finish(mut self) -> Vec<TrackEvent<'a>> {
        self.0.sort_by_key(|&(at, _)| at);
        let end = self.0.last().map_or(Ticks::ZERO, |&(at, _)| at);
        self.meta(end, MetaMessage::EndOfTrack);
        let mut events = Vec::with_capacity(self.0.len());
        let mut last = Ticks::ZERO;
        for (at, kind) in self.0 {
            let mut delta = (at - last).0;
            last = at;
            while delta > MAX_DELTA {
                let kind = TrackEventKind::Meta(MetaMessage::Text(b""));
                let filler = TrackEvent { delta: u28::new(MAX_DELTA as u32), kind };
                events.push(filler);
                delta -= MAX_DELTA;
            }
            let delta = u28::new(delta as u32);
            events.push(TrackEvent { delta, kind });
        }
        events
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::take::midi_file::MidiFile;
    use proptest::prelude::*;

    fn message() -> impl Strategy<Value = ChannelMessage> {
        (0x80u8..0xF0, 0u8..128, 0u8..128).prop_map(|(status, first, second)| {
            let one_value = matches!(status, 0xC0..=0xDF);
            let wire = [status, first, second];
            ChannelMessage::from_wire(&wire[..if one_value { 2 } else { 3 }]).expect("a channel message")
        })
    }

    #[test]
    fn a_tempo_is_written_in_whole_microseconds() {
        let quarter = |map: &TempoMap| map.quarter(Ticks::ZERO);
        assert_eq!(quarter(&writable(&TempoMap::at_bpm(132.0))), NanoSpan(454_545_000));
        let slow = TempoMap::constant(NanoSpan(i64::MAX / 2));
        assert_eq!(quarter(&writable(&slow)), NanoSpan(MAX_QUARTER_MICROS * 1000));
    }

    #[test]
    fn a_silence_longer_than_a_distance_can_be_is_kept() {
        let quarter = NanoSpan(250_000_000);
        let at = Nanos(quarter.0 * 20_000);
        let strike = ChannelMessage::from_wire(&[0x90, 60, 80]).expect("a message");
        let take =
            TakeFile { tempo: TempoMap::constant(quarter), solo: vec![(at, strike)], ..TakeFile::default() };
        let read = MidiFile::parse(&take.to_bytes()).expect("a file");
        assert_eq!(read.tracks[2].messages[0].at, at);
        assert_eq!(read.tracks[2].texts, []);
    }

    proptest! {
        #[test]
        fn what_is_written_is_read(
            quarters in prop::collection::vec((0i64..400_000, 1_000_000i64..16_000_000_000), 0..4),
            solo in prop::collection::vec((0i64..100_000_000_000, message()), 0..40),
            chords in prop::collection::vec((0i64..1_000_000, "[A-G]m?7?"), 0..8),
        ) {
            let chord = |&(at, ref text): &(i64, String)| (Ticks(at), text.clone());
            let mut chords: Vec<_> = chords.iter().map(chord).collect();
            chords.sort_by_key(|&(at, _)| at);
            let three_four = Meter::new(3, 4).expect("a meter");
            let take = TakeFile {
                tempo: TempoMap::from_changes(quarters.into_iter().map(|(at, quarter)| (Ticks(at), NanoSpan(quarter)))),
                meters: vec![(Ticks::ZERO, Meter::FOUR_FOUR), (Ticks(80_640), three_four)],
                key: "Ebm".parse().ok(),
                keys: vec![(Ticks(80_640), "Bb".parse().expect("a key"))],
                markers: vec![(Ticks(40), "A".to_owned())],
                chords,
                solo: solo.iter().map(|&(at, message)| (Nanos(at), message)).collect(),
                texts: vec!["offset 31 ms".to_owned()],
                parts: Vec::new(),
            };
            let read = MidiFile::parse(&take.to_bytes()).expect("a file");
            prop_assert_eq!(&read.warnings, &[]);
            prop_assert_eq!(&read.tempo, &writable(&take.tempo));
            prop_assert_eq!(&read.meters, &take.meters);
            prop_assert_eq!(read.key, take.key);
            prop_assert_eq!(read.chord_texts(), take.chords.clone());
            prop_assert_eq!(&read.tracks[0].texts[0].text, "A");
            prop_assert_eq!(&read.tracks[2].texts[0].text, "offset 31 ms");
            prop_assert_eq!(&read.tracks[2].messages, &take.quantised_solo());
            let again = TakeFile {
                solo: read.tracks[2].messages.iter().map(|timed| (timed.at, timed.message)).collect(),
                tempo: read.tempo.clone(),
                ..take.clone()
            };
            prop_assert_eq!(again.to_bytes(), take.to_bytes());
        }

        #[test]
        fn quantising_moves_by_half_a_tick_at_most_and_only_once(quarter in 21_000i64..17_000_000, at in 0i64..1_000_000_000_000) {
            let tempo = TempoMap::constant(NanoSpan(quarter * 1000));
            let (nanos, ticks) = quantise(&tempo, Nanos(at));
            prop_assert!((nanos - Nanos(at)).0.abs() * 2 <= quarter * 1000 / TICKS_PER_QUARTER + 2);
            prop_assert_eq!(quantise(&tempo, nanos), (nanos, ticks));
            prop_assert_eq!(tempo.nanos(ticks), nanos);
        }
    }
}
