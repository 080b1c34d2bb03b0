//! MIDI files as they come from the world: built byte by byte, damaged, or recorded.

use std::path::Path;

use barwise::take::clean::{ChannelOrder, CleanSettings};
use barwise::take::midi_file::MAX_FILE_BYTES;
use barwise::take::{ChannelMessage, LeftOut, MidiFile, MidiFileError, Note, TakeFile, Warning};
use barwise::theory::Pitch;
use barwise::time::{Meter, NanoSpan, Nanos, TICKS_PER_QUARTER, TempoMap, Ticks};
use proptest::prelude::*;

/// The events of one track, as bytes.
#[derive(Default, Clone)]
struct Track(Vec<u8>);

impl Track {
    fn named(name: &str) -> Self {
        Self::default().meta(0, 0x03, name.as_bytes())
    }

    /// Bytes as they stand, after `delta` ticks.
    fn raw(mut self, delta: u32, bytes: &[u8]) -> Self {
        let groups: Vec<u8> = (0..4).rev().map(|group| (delta >> (7 * group) & 0x7F) as u8).collect();
        let first = groups.iter().position(|&group| group != 0).unwrap_or(3);
        let (last, leading) = groups[first..].split_last().expect("four groups");
        self.0.extend(leading.iter().map(|group| group | 0x80));
        self.0.push(*last);
        self.0.extend(bytes);
        self
    }

    fn meta(self, delta: u32, kind: u8, bytes: &[u8]) -> Self {
        let length = u8::try_from(bytes.len()).expect("a short text");
        self.raw(delta, &[&[0xFF, kind, length], bytes].concat())
    }

    fn note(self, delta: u32, channel: u8, key: u8, length: u32) -> Self {
        self.raw(delta, &[0x90 | channel, key, 80]).raw(length, &[0x80 | channel, key, 64])
    }

    fn controls(mut self, channel: u8, controls: &[(u8, u8)]) -> Self {
        for &(controller, value) in controls {
            self = self.raw(0, &[0xB0 | channel, controller, value]);
        }
        self
    }

    fn bend(self, delta: u32, channel: u8, value: u16) -> Self {
        self.raw(delta, &[0xE0 | channel, (value & 0x7F) as u8, (value >> 7) as u8])
    }

    fn end(self) -> Self {
        self.meta(0, 0x2F, &[])
    }
}

/// A file of these tracks.
fn file(format: u16, division: u16, tracks: &[Track]) -> Vec<u8> {
    let mut bytes = b"MThd\0\0\0\x06".to_vec();
    for word in [format, tracks.len() as u16, division] {
        bytes.extend(word.to_be_bytes());
    }
    for track in tracks {
        bytes.extend(b"MTrk");
        bytes.extend((track.0.len() as u32).to_be_bytes());
        bytes.extend(&track.0);
    }
    bytes
}

fn parse(bytes: &[u8]) -> MidiFile {
    MidiFile::parse(bytes).expect("a file that can be read")
}

fn refusal(bytes: &[u8]) -> String {
    MidiFile::parse(bytes).expect_err("a file that cannot be read").to_string()
}

/// Key, onset and end in milliseconds of the notes of the judged track.
fn notes(file: &MidiFile) -> Vec<(u8, i64, i64)> {
    let track = file.solo_track(None).expect("a track with notes");
    let cleaned = file.notes(track, &CleanSettings::default());
    let millis = |at: Nanos| at.0 / 1_000_000;
    cleaned.notes.iter().map(|note| (note.pitch.key(), millis(note.on), millis(note.off))).collect()
}

#[test]
fn a_file_of_one_track_has_tempo_meter_key_and_notes() {
    let track = Track::default()
        .meta(0, 0x58, &[3, 2, 24, 8])
        .meta(0, 0x59, &[0xFD, 0])
        .meta(0, 0x51, &[0x0F, 0x42, 0x40])
        .note(0, 0, 60, 480)
        .meta(0, 0x51, &[0x07, 0xA1, 0x20])
        .note(480, 0, 62, 240)
        .end();
    let file = parse(&file(0, 480, &[track]));
    assert_eq!(file.meters, [(Ticks::ZERO, Meter::new(3, 4).expect("a meter"))]);
    assert_eq!(file.key.map(|key| key.to_string()).as_deref(), Some("Eb major"));
    assert_eq!(file.warnings, []);
    assert_eq!(notes(&file), [(60, 0, 1000), (62, 1500, 1750)]);
    assert_eq!(file.end, Nanos(1_750_000_000));
    assert_eq!(file.end_ticks, Ticks(TICKS_PER_QUARTER * 5 / 2));
}

#[test]
fn running_status_and_velocity_zero_are_read() {
    let track = Track::default()
        .raw(0, &[0x90, 60, 80])
        .raw(480, &[60, 0])
        .raw(0, &[62, 80])
        .raw(480, &[62, 0])
        .end();
    assert_eq!(notes(&parse(&file(0, 480, &[track]))), [(60, 0, 500), (62, 500, 1000)]);
}

#[test]
fn a_file_of_several_tracks_has_its_tempo_where_it_stands() {
    let solo = Track::named("Solo").note(0, 0, 60, 480).note(480, 0, 62, 480).end();
    let chords = Track::named("Chords").meta(0, 0x01, b"Dm7").meta(480, 0x01, b"G7").end();
    let tempo = Track::default().meta(480, 0x51, &[0x0F, 0x42, 0x40]).end();
    let file = parse(&file(1, 480, &[solo, chords, tempo]));
    assert_eq!(notes(&file), [(60, 0, 500), (62, 1500, 2500)]);
    let expect = [(Ticks::ZERO, "Dm7".to_owned()), (Ticks(TICKS_PER_QUARTER), "G7".to_owned())];
    assert_eq!(file.chord_texts(), expect);
}

#[test]
fn chords_may_be_texts_lyrics_or_markers_and_latin_1() {
    let track = Track::default()
        .meta(0, 0x01, b"Dm7")
        .meta(1, 0x05, b"B\xF8")
        .meta(1, 0x06, "C\u{394}".as_bytes())
        .note(0, 0, 60, 9);
    let texts = parse(&file(0, 480, &[track.end()])).chord_texts();
    let texts: Vec<_> = texts.iter().map(|(_, text)| text.as_str()).collect();
    assert_eq!(texts, ["Dm7", "B\u{f8}", "C\u{394}"]);
}

#[test]
fn frames_are_converted_with_a_warning() {
    // 25 frames of 40 ticks: a tick is a millisecond.
    let division = u16::from_be_bytes([(-25i8) as u8, 40]);
    let track = Track::default().meta(0, 0x51, &[0x0F, 0x42, 0x40]).note(1000, 0, 60, 250).end();
    let file = parse(&file(1, division, &[track]));
    assert_eq!(notes(&file), [(60, 1000, 1250)]);
    assert_eq!(file.tracks[0].messages[0].ticks, Ticks(TICKS_PER_QUARTER));
    assert_eq!(file.warnings, [Warning::SmpteDivision]);
}

#[test]
fn a_missing_end_of_track_is_told_and_forgiven() {
    let bytes = file(1, 480, &[Track::default().note(0, 0, 60, 480)]);
    let read = parse(&bytes);
    assert_eq!(notes(&read), [(60, 0, 500)]);
    assert_eq!(read.warnings, [Warning::NoEndOfTrack { track: 1, byte: bytes.len() }]);
}

#[test]
fn a_truncated_track_is_refused_with_its_place() {
    let whole = file(
        1,
        480,
        &[Track::default().end(), Track::default().note(0, 0, 60, 480).note(0, 0, 62, 480).end()],
    );
    let expect = "track 2 (byte 34) should have 22 bytes, the file ends after 17: it was cut short. Copy or export it again";
    assert_eq!(refusal(&whole[..whole.len() - 5]), expect);
}

#[test]
fn a_broken_event_names_its_track_and_byte() {
    let broken = Track::default().note(0, 0, 60, 480).raw(0, &[0x90, 200, 80]).end();
    let bytes = file(1, 480, &[broken]);
    let read = parse(&bytes);
    let byte = 14 + 8 + 9;
    assert_eq!(read.warnings, [Warning::BrokenEvent { track: 1, byte }]);
    assert_eq!(notes(&read), [(60, 0, 500)]);
}

#[test]
fn a_header_that_promises_more_tracks_is_told() {
    let mut bytes = file(1, 480, &[Track::default().end()]);
    bytes[11] = 3;
    assert_eq!(parse(&bytes).warnings, [Warning::TrackCount { declared: 3, found: 1 }]);
    let mut with_junk = file(1, 480, &[Track::default().end()]);
    with_junk.extend([0, 1, 2]);
    let byte = with_junk.len() - 3;
    assert_eq!(parse(&with_junk).warnings, [Warning::Junk { byte }]);
}

#[test]
fn unknown_chunks_are_passed_over() {
    let mut bytes = file(1, 480, &[]);
    bytes[11] = 1;
    bytes.extend(b"XFIH\0\0\0\x03abc");
    let track = file(1, 480, &[Track::default().note(0, 0, 60, 480).end()]);
    bytes.extend(&track[14..]);
    let read = parse(&bytes);
    assert_eq!((notes(&read), read.warnings), (vec![(60, 0, 500)], vec![]));
}

#[test]
fn a_riff_wrapped_file_is_unwrapped() {
    let inner = file(1, 480, &[Track::default().note(0, 0, 60, 480).end()]);
    let mut chunk = b"RMIDdata".to_vec();
    chunk.extend((inner.len() as u32).to_le_bytes());
    chunk.extend(&inner);
    let mut bytes = b"RIFF".to_vec();
    bytes.extend((chunk.len() as u32).to_le_bytes());
    bytes.extend(chunk);
    assert_eq!(notes(&parse(&bytes)), [(60, 0, 500)]);
    let wave = b"RIFF\x04\0\0\0WAVE";
    assert!(refusal(wave).contains("no MIDI in it"));
}

#[test]
fn what_cannot_be_read_is_refused_with_place_and_remedy() {
    let check = |bytes: &[u8], parts: &[&str]| {
        let message = refusal(bytes);
        for part in parts {
            assert!(message.contains(part), "{message:?} should say {part:?}");
        }
        assert!(message.starts_with(|first: char| !first.is_uppercase()), "{message}");
    };
    let track = Track::default().note(0, 0, 60, 480).end();
    check(b"", &["empty"]);
    check(b"hello", &["not a MIDI file", "byte 0", "export it"]);
    check(&vec![0xA5; 10 << 20], &["not a MIDI file"]);
    check(b"MThd", &["header", "bytes 0 to 13"]);
    check(&file(2, 480, std::slice::from_ref(&track)), &["format 2", "format 1"]);
    check(&file(9, 480, std::slice::from_ref(&track)), &["header", "bytes 0 to 13"]);
    check(&file(1, 0, std::slice::from_ref(&track)), &["division", "bytes 12 and 13"]);
    check(&file(1, 480, &[]), &["no track", "byte 14"]);
    check(&file(1, 480, &vec![Track::default(); 1025]), &["1024 tracks", "byte 8206"]);
    let mut endless = Track::default();
    for _ in 0..2 {
        endless = endless.raw(0x0FFF_FFFF, &[0x90, 60, 80]);
    }
    check(&file(1, 96, &[endless]), &["track 1", "1000000 quarter notes", "byte 22"]);
    let mut noise = b"MThd".to_vec();
    noise.extend(std::iter::repeat_n(0x5A, 10 << 20));
    assert!(MidiFile::parse(&noise).is_err());
    assert_eq!(
        MidiFile::parse(&vec![0; MAX_FILE_BYTES + 1]),
        Err(MidiFileError::TooLarge { bytes: MAX_FILE_BYTES + 1 })
    );
}

#[test]
fn too_many_events_are_refused() {
    let mut track = Track::default().raw(0, &[0xC0, 1]);
    track.0.extend([0, 1].repeat(4_000_000));
    assert_eq!(MidiFile::parse(&file(0, 480, &[track])), Err(MidiFileError::TooManyEvents { track: 1 }));
}

#[test]
fn bends_before_the_note_apply_by_the_range_in_force() {
    const RANGE_12: [(u8, u8); 5] = [(101, 0), (100, 0), (6, 12), (101, 127), (100, 127)];
    const NRPN: [(u8, u8); 3] = [(99, 0), (98, 0), (6, 12)];
    let check = |controls: &[(u8, u8)], bend: u16, expect: (u8, i16, Option<LeftOut>)| {
        let track = Track::default().controls(0, controls).bend(0, 0, bend).note(0, 0, 60, 480).end();
        let cleaned = parse(&file(0, 480, &[track])).notes(0, &CleanSettings::default());
        let found: Vec<_> = cleaned.notes.iter().map(|n| (n.pitch.key(), n.bend_cents, n.left_out)).collect();
        assert_eq!(found, [expect], "{controls:?} {bend}");
    };
    check(&[], 12288, (61, 100, None));
    check(&[], 0, (58, -200, None));
    check(&[], 8192, (60, 0, None));
    check(&[], 10240, (61, 50, Some(LeftOut::Between)));
    check(&RANGE_12, 9557, (62, 200, None));
    check(&NRPN, 12288, (61, 100, None));
}

#[test]
fn a_guitar_with_a_channel_for_each_string_has_strings_and_frets() {
    let open = [64, 59, 55, 50, 45, 40];
    let mut track = Track::named("Solo").controls(0, &[(124, 0), (126, 6)]);
    for (channel, key) in (0u8..).zip(open) {
        track = track.note(0, channel, key + channel, 480);
    }
    let track = track
        .raw(0, &[0x91, 62, 80])
        .raw(20, &[0x90, 67, 80])
        .raw(480, &[0x81, 62, 0])
        .raw(0, &[0x80, 67, 0])
        .end();
    let cleaned = parse(&file(1, 480, &[track])).notes(0, &CleanSettings::default());
    let places: Vec<_> = cleaned.notes.iter().map(|note| (note.string, note.fret, note.event)).collect();
    let expect = [(1, 0, 0), (2, 1, 1), (3, 2, 2), (4, 3, 3), (5, 4, 4), (6, 5, 5), (2, 3, 6), (1, 3, 6)];
    assert_eq!(places, expect.map(|(string, fret, event)| (Some(string), Some(fret), event)));
    assert_eq!(cleaned.strings.map(|map| map.order()), Some(ChannelOrder::HighFirst));
}

#[test]
fn a_stuck_note_is_closed_by_the_meter_and_told() {
    let track =
        Track::default().meta(0, 0x58, &[3, 2, 24, 8]).raw(0, &[0x90, 60, 80]).note(4800, 0, 62, 480).end();
    let read = parse(&file(0, 480, &[track]));
    assert_eq!(notes(&read), [(60, 0, 3000), (62, 5000, 5500)]);
    let cleaned = read.notes(0, &CleanSettings::default());
    assert_eq!(cleaned.warnings, [Warning::StuckNotes { notes: 1, first_ms: 0 }]);
}

/// A saved take with a bit of everything, to be damaged.
fn take() -> Vec<u8> {
    let message = |wire: &[u8]| ChannelMessage::from_wire(wire).expect("a message");
    let strikes = (0..40u8).flat_map(|step| {
        let (on, channel, key) = (i64::from(step) * 217_000_000, step % 6, 50 + step % 20);
        [
            (Nanos(on), message(&[0x90 | channel, key, 70 + step])),
            (Nanos(on + 50_000_000), message(&[0xE0 | channel, step, 60 + step])),
            (Nanos(on + 190_000_000), message(&[0x80 | channel, key, 0])),
        ]
    });
    let bars = (0..8).map(|bar| Ticks(bar * 4 * TICKS_PER_QUARTER));
    TakeFile {
        tempo: TempoMap::from_changes([
            (Ticks::ZERO, NanoSpan(454_545_000)),
            (Ticks(161_280), NanoSpan(500_000_000)),
        ]),
        meters: vec![(Ticks::ZERO, Meter::FOUR_FOUR)],
        key: "Eb".parse().ok(),
        markers: vec![(Ticks::ZERO, "A".to_owned())],
        chords: bars.map(|bar| (bar, "Dm7".to_owned())).collect(),
        solo: strikes.collect(),
        texts: vec!["offset 31 ms".to_owned()],
        parts: Vec::new(),
        keys: Vec::new(),
    }
    .to_bytes()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_damage_makes_reading_or_cleaning_panic(
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..12),
        cut in prop::option::of(any::<prop::sample::Index>()),
    ) {
        let mut bytes = take();
        for (place, byte) in changes {
            let place = place.index(bytes.len());
            bytes[place] = byte;
        }
        if let Some(cut) = cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        if let Ok(read) = MidiFile::parse(&bytes) {
            prop_assert!(read.chord_texts().len() < bytes.len());
            for (index, track) in read.tracks.iter().enumerate() {
                let cleaned = read.notes(index, &CleanSettings::default());
                prop_assert!(cleaned.notes.len() >= track.note_count);
                prop_assert!(cleaned.notes.iter().all(|note| note.on <= note.off));
            }
        }
    }
}

/// One row of a key to recorded notes.
struct KeyRow {
    solo: String,
    onset_s: f64,
    duration_s: f64,
    pitch: u8,
}

/// Reads a key with a column of each name, in any order.
fn read_key(path: &Path) -> Vec<KeyRow> {
    let mut reader = csv::Reader::from_path(path).expect("a key beside the files");
    let columns = reader.headers().expect("a header").clone();
    let column =
        |name: &str| columns.iter().position(|column| column == name).expect("a column of that name");
    let [solo, onset, duration, pitch] = ["solo", "onset_s", "duration_s", "pitch"].map(column);
    let rows = reader.records().map(|row| {
        let row = row.expect("a row");
        let number = |column: usize| row[column].parse::<f64>().expect("a number");
        KeyRow {
            solo: row[solo].to_owned(),
            onset_s: number(onset),
            duration_s: number(duration),
            pitch: number(pitch) as u8,
        }
    });
    rows.collect()
}

/// The division of recorded and generated solos.
const DIVISION: u16 = 480;

/// Checks that a file lists every note of its key, in order, each within a tick of the file. A key may count from
/// elsewhere than the file, so the distances between the two are compared.
fn check_against_key(bytes: &[u8], key: &[KeyRow]) {
    let read = parse(bytes);
    let cleaned = read.notes(read.solo_track(None).expect("a solo"), &CleanSettings::default());
    assert_eq!(cleaned.notes.len(), key.len());
    let shift = |(note, row): (&Note, &KeyRow)| note.on.in_millis() - row.onset_s * 1000.0;
    let shifts: Vec<f64> = cleaned.notes.iter().zip(key).map(shift).collect();
    let earliest = shifts.iter().copied().fold(f64::INFINITY, f64::min);
    let latest = shifts.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let slowest = read.tempo.changes().map(|(_, quarter)| quarter).max().expect("a tempo");
    let tick = slowest.in_millis() / f64::from(DIVISION);
    assert!((latest - earliest) / 2.0 < tick, "{} ms apart, a tick is {tick} ms", latest - earliest);
    for (note, (index, row)) in cleaned.notes.iter().zip((0..).zip(key)) {
        assert_eq!((note.index, Some(note.pitch)), (index, Pitch::new(row.pitch)));
        let misread = matches!(note.left_out, Some(LeftOut::Ghost | LeftOut::Between));
        assert!(!misread, "{index}: {note:?} of {} s was played", row.duration_s);
    }
}

/// A generated solo of the same shape: beats of uneven length as tempo map, one velocity, times off the grid.
fn generated_solo() -> (Vec<u8>, Vec<KeyRow>) {
    let mut conductor = Track::default().meta(0, 0x58, &[4, 2, 24, 8]);
    let mut beats = vec![0u64];
    for beat in 0..64u32 {
        let micros = 180_000 + beat * 7919 % 40_000;
        let delta = if beat == 0 { 0 } else { 480 };
        conductor = conductor.meta(delta, 0x51, &micros.to_be_bytes()[1..]);
        beats.push(beats[beat as usize] + u64::from(micros));
    }
    let seconds = |tick: u32| {
        let (beat, part) = ((tick / 480) as usize, u64::from(tick % 480));
        (beats[beat] as f64 + (beats[beat + 1] - beats[beat]) as f64 * part as f64 / 480.0) / 1e6
    };
    let (mut solo, mut key, mut tick) = (Track::named("Solo"), Vec::new(), 0);
    for step in 0..120u32 {
        let (gap, length, pitch) = (step * 37 % 130, 90 + step * 53 % 40, 58 + (step * 7 % 24) as u8);
        let onset_s = seconds(tick + gap);
        let duration_s = seconds(tick + gap + length) - onset_s;
        solo = solo.note(gap, 0, pitch, length);
        tick += gap + length;
        key.push(KeyRow { solo: "generated".to_owned(), onset_s, duration_s, pitch });
    }
    (file(1, DIVISION, &[conductor.end(), solo.end()]), key)
}

/// With `BARWISE_SOLOS` naming a folder of recorded solos and their key, those; else a generated one.
#[test]
fn recorded_notes_are_listed_in_order_at_their_onsets() {
    let Some(folder) = std::env::var_os("BARWISE_SOLOS") else {
        let (bytes, key) = generated_solo();
        return check_against_key(&bytes, &key);
    };
    let key = read_key(&Path::new(&folder).join("note_key.csv"));
    assert!(!key.is_empty());
    for rows in key.chunk_by(|one, next| one.solo == next.solo) {
        let path = Path::new(&folder).join(format!("{}.mid", rows[0].solo));
        let bytes = std::fs::read(path).expect("a file for each solo of the key");
        check_against_key(&bytes, rows);
    }
}
