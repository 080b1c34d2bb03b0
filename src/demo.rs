//! The demo: an invented line over one of the charts that ship, so that a first report needs no device and no file.
//!
//! It makes a take from the text of the line; judging it is everybody's own business.

pub mod weeks;

use crate::band::{BandNote, Part};
use crate::chart::{Backing, Chart};
use crate::take::writer::writable;
use crate::take::{ChannelMessage, Imprint, TakeFile};
use crate::theory::Pitch;
use crate::theory::chord::BareSymbols;
use crate::theory::spelling::NoteName;
use crate::time::{Meter, Nanos, TempoMap, TickSpan, Ticks};

/// The name of the chart that the line is played over.
pub const CHART: &str = "bus-shelter";

/// Times through.
pub const CHORUSES: u16 = 2;

/// The line as it is written down.
const LINE: &str = include_str!("demo_line.txt");

/// Where a swung off-beat lies in its beat, in hundredths.
const OFF_BEAT: i64 = 62;

/// A note that sounds to the next one lets go this much of a beat before it, in hundredths.
const BREATH: i64 = 4;

/// One note of the line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DemoNote {
    /// When it is struck, from bar 1.
    pub on: Ticks,
    /// How long it is held.
    pub length: TickSpan,
    /// Its pitch.
    pub pitch: Pitch,
    /// How hard it is struck.
    pub velocity: u8,
}

/// Velocities: of a plain note on the beat, off the beat, and of a ghost.
const ON_BEAT: u8 = 84;
const OFF_THE_BEAT: u8 = 76;
const GHOST: u8 = 12;

/// The chart that the line is played over.
///
/// # Panics
///
/// Never: it ships with the program and is read by its tests.
pub fn chart() -> Chart {
    let backing = Backing::find(CHART).expect("the demo's chart ships");
    let (chart, _) = Chart::parse(&format!("{CHART}.bars"), backing.text, BareSymbols::default())
        .expect("charts that ship read");
    chart
}

/// The line as a take of ours: the chart with it, no count-in.
///
/// # Panics
///
/// Never: the chart and the line ship with the program and are read by its tests.
pub fn take() -> TakeFile {
    take_of(line(), chart().header().tempo.get())
}

/// What the take says of itself: the chart, twice, and no count-in.
pub fn imprint() -> Imprint {
    let chart = chart();
    Imprint {
        chart: chart.text().to_owned(),
        chart_name: chart.name().to_owned(),
        count_in_ticks: 0,
        choruses: CHORUSES.into(),
        ..Imprint::default()
    }
}

/// A line over the demo's chart as a take of ours, at so many quarter notes a minute.
fn take_of(line: Vec<DemoNote>, bpm: f64) -> TakeFile {
    let chart = chart();
    let form = chart.unfold();
    let tempo = writable(&TempoMap::at_bpm(bpm));
    let imprint = imprint();
    let starts = (0..i64::from(CHORUSES)).map(|chorus| Ticks::ZERO + form.length() * chorus);
    let chords = starts.flat_map(|start| {
        form.chords.iter().map(move |chord| (start + (chord.start - Ticks::ZERO), chord.text.clone()))
    });
    TakeFile {
        meters: vec![(Ticks::ZERO, Meter::FOUR_FOUR)],
        key: chart.header().key,
        chords: chords.collect(),
        solo: messages(line, &tempo),
        texts: vec![imprint.to_text()],
        tempo,
        ..TakeFile::default()
    }
}

/// The line as notes to be heard over the band, from bar 1.
pub fn heard() -> Vec<BandNote> {
    let heard = |note: DemoNote| BandNote {
        part: Part::Line,
        at: note.on,
        length: note.length,
        key: note.pitch,
        velocity: note.velocity,
    };
    line().into_iter().map(heard).collect()
}

/// A line as wire messages, in order of time.
fn messages(line: Vec<DemoNote>, tempo: &TempoMap) -> Vec<(Nanos, ChannelMessage)> {
    let struck = line.into_iter().flat_map(|note| {
        let key = note.pitch.key();
        let on = (note.on, [0x90, key, note.velocity]);
        let off = (note.on + note.length, [0x80, key, 0]);
        [on, off]
    });
    let mut messages: Vec<_> =
        struck.filter_map(|(at, wire)| Some((tempo.nanos(at), ChannelMessage::from_wire(&wire)?))).collect();
    messages.sort_by_key(|&(at, message)| (at, message.wire()[0]));
    messages
}

/// What is written before a note is known to end.
struct Written {
    on: Ticks,
    pitch: Pitch,
    velocity: u8,
    length: Length,
}

/// How long a note is written to last.
enum Length {
    ToNext,
    Beats(f64),
    Ghost,
}

/// The line, in 4/4.
pub fn line() -> Vec<DemoNote> {
    let rows = LINE.lines().filter(|row| !row.is_empty() && !row.starts_with(';'));
    let bar = Meter::FOUR_FOUR.bar();
    let written: Vec<Written> =
        rows.enumerate().flat_map(|(index, row)| read_row(Ticks::ZERO + bar * index as i64, row)).collect();
    let nexts = written.iter().skip(1).map(|next| next.on).chain([Ticks::ZERO + bar * 64]);
    written.iter().zip(nexts).map(|(note, next)| finish(note, next)).collect()
}

fn finish(note: &Written, next: Ticks) -> DemoNote {
    let beat = Meter::FOUR_FOUR.beat();
    let length = match note.length {
        Length::ToNext => next - note.on - hundredths(beat, BREATH),
        Length::Beats(beats) => TickSpan((beat.0 as f64 * beats) as i64),
        Length::Ghost => hundredths(beat, 8),
    };
    DemoNote { on: note.on, length, pitch: note.pitch, velocity: note.velocity }
}

fn hundredths(beat: TickSpan, hundredths: i64) -> TickSpan {
    TickSpan(beat.0 * hundredths / 100)
}

/// The notes of one bar: places and notes in turn.
fn read_row(start: Ticks, row: &str) -> Vec<Written> {
    let tokens: Vec<&str> = row.split_whitespace().collect();
    tokens.chunks_exact(2).filter_map(|pair| read_note(start, pair[0], pair[1])).collect()
}

fn read_note(start: Ticks, place: &str, text: &str) -> Option<Written> {
    let beat = Meter::FOUR_FOUR.beat();
    let number: i64 = place.trim_end_matches('&').parse().ok()?;
    let off_beat = place.ends_with('&');
    let grace = text.starts_with('\'');
    let part = if off_beat { hundredths(beat, OFF_BEAT) } else { TickSpan::ZERO };
    // A grace note comes just before the off-beat that it leads to.
    let lead = if grace { hundredths(beat, OFF_BEAT - 12) } else { TickSpan::ZERO };
    let ghost = text.starts_with('(');
    let (name, length) = match text.split_once(':') {
        Some((name, beats)) => (name, Length::Beats(beats.parse().ok()?)),
        None if ghost => (text, Length::Ghost),
        None => (text, Length::ToNext),
    };
    let velocity = match (ghost, off_beat) {
        (true, _) => GHOST,
        (false, true) => OFF_THE_BEAT,
        (false, false) => ON_BEAT,
    };
    let pitch = read_pitch(name.trim_matches(['(', ')', '\'']))?;
    Some(Written { on: start + beat * (number - 1) + part + lead, pitch, velocity, length })
}

/// Reads `Bb4`: a note name and its octave, 4 the one of middle C.
fn read_pitch(text: &str) -> Option<Pitch> {
    let (name, octave) = text.split_at_checked(text.len().checked_sub(1)?)?;
    let name: NoteName = name.parse().ok()?;
    let octave: i32 = octave.parse().ok()?;
    let key = (octave + 1) * 12 + name.letter.semitones() + i32::from(name.alter);
    u8::try_from(key).ok().and_then(Pitch::new)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_token_of_the_line_is_a_note() {
        let tokens: usize =
            LINE.lines().filter(|r| !r.starts_with(';')).map(|r| r.split_whitespace().count()).sum();
        assert_eq!(line().len() * 2, tokens);
    }

    #[test]
    fn the_line_moves_forward_and_every_note_sounds() {
        let line = line();
        assert!(line.windows(2).all(|pair| pair[0].on < pair[1].on));
        assert!(line.iter().all(|note| note.length > TickSpan::ZERO));
    }
}
