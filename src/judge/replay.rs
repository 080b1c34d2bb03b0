//! A take to be heard again: its line laid over its own form by bars and beats, so that it can be played at any tempo, whole
//! or a few bars of it, in one chorus or in all. Pure.

use super::kept::{Line, take_file};
use super::{Choices, ChordSource};
use crate::band::{BandNote, Part};
use crate::chart::Turns;
use crate::take::midi_file::{MidiFileError, NoTrack};
use crate::take::note::LeftOut;
use crate::take::{ChannelMessage, Imprint, MidiFile, Note};
use crate::theory::Pitch;
use crate::time::{Nanos, TempoMap, TickSpan, Ticks};

/// Why a take cannot be heard again.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NotHeardAgain {
    /// It is no MIDI file.
    #[error(transparent)]
    File(#[from] MidiFileError),
    /// No track to hear.
    #[error(transparent)]
    Track(#[from] NoTrack),
    /// It was not played over a chart of ours.
    #[error("it brings no chart: only takes that barwise kept are heard over their backing")]
    NoChart,
    /// Bars of the form that were not played.
    #[error("bars {first} to {last} were played in this take")]
    NotPlayed {
        /// The first that was.
        first: usize,
        /// The last that was.
        last: usize,
    },
    /// No such chorus.
    #[error("the take has choruses 1 to {last}")]
    Chorus {
        /// The last one.
        last: u32,
    },
}

/// What of a take is to be heard; all of it by default.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Wanted {
    /// First and last bar of the form, from 1.
    pub bars: Option<(usize, usize)>,
    /// One chorus, from 1.
    pub chorus: Option<u32>,
}

/// A note of the line, at its place behind the start of bar 1 of what is heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LineNote {
    /// When it is struck.
    pub at: Ticks,
    /// How long it sounds.
    pub length: TickSpan,
    /// Its pitch.
    pub pitch: Pitch,
    /// How hard it is struck.
    pub velocity: u8,
    /// The MIDI channel it came by.
    pub channel: u8,
}

/// A take, or a part of one, to be heard again.
#[derive(Clone, Debug, PartialEq)]
pub struct HeardAgain {
    /// What the take says about itself, cut to what is heard.
    pub imprint: Imprint,
    /// The chords that sound.
    pub chords: ChordSource,
    /// Quarter notes a minute, as it was played.
    pub bpm: f64,
    /// Times through.
    pub choruses: u32,
    /// Whose bars are whose.
    pub turns: Turns,
    /// The line.
    pub notes: Vec<LineNote>,
}

impl HeardAgain {
    /// The take in the bytes of its file, as far as it is `wanted`. Notes that were misread stay silent.
    pub fn of(bytes: &[u8], wanted: Wanted, choices: &Choices) -> Result<Self, NotHeardAgain> {
        let midi = MidiFile::parse(bytes)?;
        let track = midi.solo_track(None)?;
        let imprint = Imprint::of(&midi).ok_or(NotHeardAgain::NoChart)?;
        let source = |imprint: &Imprint| ChordSource::of_imprint(imprint, choices.bare, &choices.kept);
        let played = source(&imprint).ok_or(NotHeardAgain::NoChart)?;
        let stretch = Stretch::of(&played, &imprint, wanted)?;
        let mut cut = imprint.clone();
        cut.bars = wanted.bars.or(imprint.bars);
        cut.choruses = stretch.choruses;
        if stretch.is_part {
            // Head, trading and where it was stopped are said of the whole.
            (cut.head, cut.trade, cut.stopped) = (None, None, None);
        }
        if let (Some(chorus), false) = (wanted.chorus, cut.keys.is_empty()) {
            cut.keys = imprint.keys.get(chorus as usize - 1).cloned().into_iter().collect();
        }
        let chords = source(&cut).ok_or(NotHeardAgain::NoChart)?;
        let cleaned = midi.notes(track, &choices.cleaning).notes;
        let heard = cleaned.iter().filter(|note| !is_misread(note));
        let notes = heard.filter_map(|note| stretch.lay(note, &midi.tempo, imprint.start())).collect();
        Ok(Self {
            turns: super::kept::turns(&cut),
            bpm: 60e9 / midi.tempo.quarter(Ticks::ZERO).0 as f64,
            choruses: stretch.choruses,
            imprint: cut,
            chords,
            notes,
        })
    }

    /// The line for the band to play, from bar 1.
    pub fn line(&self) -> Vec<BandNote> {
        let heard = |note: &LineNote| BandNote {
            part: Part::Line,
            at: note.at,
            length: note.length,
            key: note.pitch,
            velocity: note.velocity,
        };
        self.notes.iter().map(heard).collect()
    }

    /// The line as messages at `tempo`, their times counted from bar 1, in order.
    pub fn messages(&self, tempo: &TempoMap) -> Vec<(Nanos, ChannelMessage)> {
        let wire = |note: &LineNote| {
            let key = note.pitch.key();
            let on = (note.at, [0x90 | note.channel, key, note.velocity]);
            [on, (note.at + note.length, [0x80 | note.channel, key, 0])]
        };
        let struck = self.notes.iter().flat_map(wire);
        let mut messages: Vec<_> = struck
            .filter_map(|(at, wire)| Some((tempo.nanos(at), ChannelMessage::from_wire(&wire)?)))
            .collect();
        // Of what falls together keys are let go first.
        messages.sort_by_key(|&(at, message)| (at, message.wire()[0] & 0xf0));
        messages
    }

    /// A take of its own without a count-in, with the chart in it: to hear, to replay, to review. `None` where the chart
    /// does not read.
    pub fn file(&self, choices: &Choices) -> Option<Vec<u8>> {
        let tempo = crate::take::writer::writable(&TempoMap::at_bpm(self.bpm));
        let imprint = Imprint { count_in_ticks: 0, ..self.imprint.clone() };
        let line = Line { solo: self.messages(&tempo), gaps: Vec::new() };
        Some(take_file(&imprint, &tempo, choices.bare, line)?.to_bytes())
    }
}

/// Whether a note was not meant to sound: a misreading of the converter's.
fn is_misread(note: &Note) -> bool {
    matches!(note.left_out, Some(LeftOut::Ghost | LeftOut::Retrigger))
}

/// The stretch of each chorus that is heard, as played.
struct Stretch {
    /// One time through as played.
    form: TickSpan,
    /// Where in it what is heard begins, and how long it is.
    from: Ticks,
    length: TickSpan,
    /// The first chorus that is heard, from 0, and how many are.
    first: u32,
    choruses: u32,
    /// Whether it is less than all.
    is_part: bool,
}

impl Stretch {
    fn of(played: &ChordSource, imprint: &Imprint, wanted: Wanted) -> Result<Self, NotHeardAgain> {
        let (bars, form) = (&played.form.bars, played.form.length());
        let (Some(first), Some(last)) = (bars.first(), bars.last()) else {
            return Err(NotHeardAgain::NoChart);
        };
        if wanted.chorus.is_some_and(|chorus| !(1..=imprint.choruses).contains(&chorus)) {
            return Err(NotHeardAgain::Chorus { last: imprint.choruses });
        }
        let not_played = NotHeardAgain::NotPlayed { first: first.number, last: last.number };
        let (from, until) = match wanted.bars {
            None => (first, last),
            Some((from, until)) => {
                let at = |number: usize| bars.iter().find(|bar| bar.number == number);
                at(from).zip(at(until)).filter(|_| from <= until).ok_or(not_played)?
            }
        };
        Ok(Self {
            form,
            from: from.start,
            length: until.start + until.meter.bar() - from.start,
            first: wanted.chorus.map_or(0, |chorus| chorus - 1),
            choruses: if wanted.chorus.is_some() { 1 } else { imprint.choruses },
            is_part: wanted != Wanted::default(),
        })
    }

    /// The note at its place in what is heard; `None` where it is not in it. The note before bar 1 of the whole is.
    fn lay(&self, note: &Note, tempo: &TempoMap, bar_one: Ticks) -> Option<LineNote> {
        let (on, off) = (tempo.ticks(note.on), tempo.ticks(note.off));
        let since = on - bar_one;
        let chorus = since.0.div_euclid(self.form.0).max(0);
        let within = since - self.form * chorus - (self.from - Ticks::ZERO);
        let nth = chorus - i64::from(self.first);
        let is_heard = (0..i64::from(self.choruses)).contains(&nth)
            && within < self.length
            && (within >= TickSpan::ZERO || !self.is_part);
        is_heard.then(|| LineNote {
            at: Ticks::ZERO + self.length * nth + within,
            length: (off - on).max(TickSpan(1)),
            pitch: note.pitch,
            velocity: note.velocity,
            channel: note.channel,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demo;

    fn again(bars: Option<(usize, usize)>, chorus: Option<u32>) -> Result<HeardAgain, NotHeardAgain> {
        HeardAgain::of(&demo::take().to_bytes(), Wanted { bars, chorus }, &Choices::default())
    }

    #[test]
    fn a_whole_take_is_heard_note_for_note_but_for_what_was_misread() {
        let again = again(None, None).expect("a take of ours");
        let choices = Choices::default();
        let question = crate::judge::Question {
            choices: &choices,
            chart: None,
            track: None,
            detail: crate::report::review::Detail::Notes,
            bands: None,
        };
        let review = crate::judge::judge(&demo::take().to_bytes(), None, question).expect("a review").review;
        let judged = review.notes.expect("notes");
        let misread = |note: &crate::report::review::NoteRecord| note.left_out == Some("ghost");
        assert_eq!(judged.iter().filter(|note| misread(note)).count(), 1);
        let written = demo::heard().into_iter().zip(&judged).filter(|(_, note)| !misread(note));
        let written: Vec<BandNote> = written.map(|(note, _)| note).collect();
        assert_eq!((again.choruses, again.bpm.round()), (demo::CHORUSES.into(), 132.0));
        assert_eq!(again.notes.len(), written.len());
        let places = |notes: Vec<BandNote>| -> Vec<_> {
            notes.into_iter().map(|note| (note.key, note.velocity)).collect()
        };
        assert_eq!(places(again.line()), places(written.clone()));
        // A file keeps milliseconds, not ticks.
        let far = |(one, other): (BandNote, BandNote)| (one.at - other.at).0.abs();
        let farthest = again.line().into_iter().zip(written).map(far).max();
        assert!(farthest.is_some_and(|ticks| ticks < crate::time::TICKS_PER_QUARTER / 100), "{farthest:?}");
    }

    #[test]
    fn bars_of_one_chorus_stand_at_the_start() {
        let whole = again(None, Some(1)).expect("a chorus");
        let bars = again(Some((9, 10)), Some(1)).expect("bars");
        let two_bars = TickSpan::quarters(8);
        let start = Ticks::ZERO + TickSpan::quarters(32);
        let there: Vec<_> = whole
            .notes
            .iter()
            .filter(|note| (start..start + two_bars).contains(&note.at))
            .map(|note| LineNote { at: Ticks::ZERO + (note.at - start), ..*note })
            .collect();
        assert!(!there.is_empty());
        assert_eq!(bars.notes, there);
        assert_eq!((bars.choruses, bars.chords.form.length()), (1, two_bars));
    }

    #[test]
    fn a_part_is_a_take_of_its_own() {
        let choices = Choices::default();
        let bars = again(Some((9, 10)), Some(1)).expect("bars");
        let file = bars.file(&choices).expect("a file");
        let read = HeardAgain::of(&file, Wanted::default(), &choices).expect("a take of ours");
        assert_eq!((read.imprint.bars, read.notes.len()), (Some((9, 10)), bars.notes.len()));
    }

    #[test]
    fn what_was_not_played_is_refused() {
        let check = |bars, chorus, expect: &str| {
            assert_eq!(again(bars, chorus).map_err(|error| error.to_string()).err().as_deref(), Some(expect));
        };
        check(Some((9, 17)), None, "bars 1 to 16 were played in this take");
        check(None, Some(9), &format!("the take has choruses 1 to {}", demo::CHORUSES));
        let bare = crate::take::TakeFile::default().to_bytes();
        assert!(HeardAgain::of(&bare, Wanted::default(), &Choices::default()).is_err());
    }
}
