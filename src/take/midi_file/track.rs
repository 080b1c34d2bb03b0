//! Decoding one track's events, still in the file's own ticks.

use midly::{EventIter, MetaMessage, TrackEvent, TrackEventKind};

use super::chunks::TrackChunk;
use super::file_time::Division;
use super::{MAX_EVENTS, MidiFileError, MidiTrack, TextKind, TrackText};
use crate::take::message::{ChannelMessage, Meaning, TimedMessage};
use crate::take::warning::Warning;
use crate::theory::Key;
use crate::time::{Meter, Nanos, Ticks};

/// What concerns all tracks, wherever it stands; instants in file ticks.
#[derive(Default)]
pub(super) struct Conductor {
    /// Microseconds a quarter lasts from there on.
    pub tempos: Vec<(u64, u32)>,
    pub meters: Vec<(u64, Meter)>,
    pub key: Option<Key>,
    pub end: u64,
    pub events: usize,
    pub warnings: Vec<Warning>,
}

impl Conductor {
    /// Warns of the first of a kind only: a damaged file may have thousands.
    fn warn_once(&mut self, warning: Warning) {
        if self.warnings.iter().all(|told| told.code() != warning.code()) {
            self.warnings.push(warning);
        }
    }

    /// Warns that a track stops at `byte` without an end-of-track event, unless its truncation was told already.
    fn warn_of_early_end(&mut self, chunk: &TrackChunk<'_>, track: usize, byte: usize) {
        if chunk.events.len() < chunk.declared {
            return;
        }
        self.warnings.push(if byte < chunk.byte + chunk.events.len() {
            Warning::BrokenEvent { track, byte }
        } else {
            Warning::NoEndOfTrack { track, byte }
        });
    }
}

/// Capacity kept ready for a track's messages: about one in four bytes, never more than a megabyte or two unasked.
const MOST_RESERVED: usize = 1 << 16;

/// Reads the events of a track, numbered from 1. Messages and texts keep file ticks until the tempo map is known.
pub(super) fn decode(
    chunk: &TrackChunk<'_>,
    number: usize,
    division: &Division,
    conductor: &mut Conductor,
) -> Result<MidiTrack, MidiFileError> {
    let mut track = MidiTrack::default();
    track.messages.reserve((chunk.events.len() / 4).min(MOST_RESERVED));
    let chunk_end = chunk.byte + chunk.events.len();
    let mut events = EventIter::new(chunk.events);
    let mut tick = 0;
    loop {
        let byte = chunk_end - events.unread().len();
        let Some(Ok(TrackEvent { delta, kind })) = events.next() else {
            conductor.warn_of_early_end(chunk, number, byte);
            break;
        };
        tick += u64::from(delta.as_int());
        conductor.events += 1;
        if conductor.events > MAX_EVENTS {
            return Err(MidiFileError::TooManyEvents { track: number });
        }
        if tick > division.last_tick {
            return Err(MidiFileError::TooLong { track: number, byte });
        }
        match kind {
            TrackEventKind::Midi { channel, message } => {
                track.push_message(tick, ChannelMessage::from_file(channel, message));
            }
            TrackEventKind::Meta(MetaMessage::EndOfTrack) => break,
            TrackEventKind::Meta(meta) => read_meta(meta, tick, number, &mut track, conductor),
            TrackEventKind::SysEx(_) | TrackEventKind::Escape(_) => {}
        }
    }
    conductor.end = conductor.end.max(tick);
    Ok(track)
}

impl MidiTrack {
    fn push_message(&mut self, tick: u64, message: ChannelMessage) {
        if matches!(message.meaning(), Meaning::NoteOn { .. }) {
            self.note_count += 1;
        }
        self.messages.push(TimedMessage { at: Nanos::ZERO, ticks: Ticks(tick as i64), message });
    }

    fn push_text(&mut self, tick: u64, kind: TextKind, bytes: &[u8]) {
        let text = decode_text(bytes);
        if !text.is_empty() {
            let at = Ticks(tick as i64);
            self.texts.push(TrackText { at, kind, text });
        }
    }
}

fn read_meta(
    meta: MetaMessage<'_>,
    tick: u64,
    number: usize,
    track: &mut MidiTrack,
    conductor: &mut Conductor,
) {
    match meta {
        MetaMessage::TrackName(name) if track.name.is_none() => track.name = Some(decode_text(name)),
        MetaMessage::Text(text) => track.push_text(tick, TextKind::Text, text),
        MetaMessage::Lyric(text) => track.push_text(tick, TextKind::Lyric, text),
        MetaMessage::Marker(text) => track.push_text(tick, TextKind::Marker, text),
        MetaMessage::Tempo(micros) if micros.as_int() == 0 => {
            conductor.warn_once(Warning::OddTempo { track: number });
        }
        MetaMessage::Tempo(micros) => conductor.tempos.push((tick, micros.as_int())),
        MetaMessage::TimeSignature(beats, power, ..) => match read_meter(beats, power) {
            Some(meter) => conductor.meters.push((tick, meter)),
            None => conductor.warn_once(Warning::OddMeter { track: number, beats, power }),
        },
        MetaMessage::KeySignature(sharps, minor) if conductor.key.is_none() => {
            conductor.key = read_key(sharps, minor);
        }
        _ => {}
    }
}

fn read_meter(beats: u8, power: u8) -> Option<Meter> {
    let unit = 1u8.checked_shl(u32::from(power))?;
    Meter::new(beats, unit)
}

/// Key signatures from seven flats to seven sharps (Standard MIDI File 1.0, FF 59).
const MAJOR_KEYS: [&str; 15] =
    ["Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#"];
const MINOR_KEYS: [&str; 15] =
    ["Abm", "Ebm", "Bbm", "Fm", "Cm", "Gm", "Dm", "Am", "Em", "Bm", "F#m", "C#m", "G#m", "D#m", "A#m"];

fn read_key(sharps: i8, minor: bool) -> Option<Key> {
    let keys = if minor { &MINOR_KEYS } else { &MAJOR_KEYS };
    let index = usize::try_from(i16::from(sharps) + 7).ok()?;
    keys.get(index)?.parse().ok()
}

/// UTF-8, or Latin-1 where it is not; control characters removed and blanks trimmed.
fn decode_text(bytes: &[u8]) -> String {
    let keep = |character: &char| !character.is_control();
    let text: String = match std::str::from_utf8(bytes) {
        Ok(text) => text.chars().filter(keep).collect(),
        Err(_) => bytes.iter().map(|&byte| char::from(byte)).filter(keep).collect(),
    };
    text.trim().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_are_utf8_or_else_latin_1() {
        assert_eq!(decode_text("C\u{394}7\r\n".as_bytes()), "C\u{394}7");
        assert_eq!(decode_text(b"B\xF87 "), "B\u{f8}7");
        assert_eq!(decode_text(b"\x1b[31mDm7\0"), "[31mDm7");
    }

    #[test]
    fn key_signatures_keep_their_spelling() {
        let check = |sharps, minor, expect: &str| {
            assert_eq!(read_key(sharps, minor).map(|key| key.to_string()).as_deref(), Some(expect));
        };
        check(-3, false, "Eb major");
        check(6, false, "F# major");
        check(-6, false, "Gb major");
        check(-3, true, "C minor");
        assert_eq!(read_key(8, false), None);
        for index in 0..15i8 {
            for minor in [false, true] {
                assert_eq!(read_key(index - 7, minor).map(Key::fifths), Some(index - 7));
            }
        }
    }

    #[test]
    fn meters_come_as_powers_of_two() {
        assert_eq!(read_meter(6, 3), Meter::new(6, 8));
        assert_eq!(read_meter(4, 8), None);
        assert_eq!(read_meter(0, 2), None);
    }
}
