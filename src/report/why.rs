//! Why: the reason behind one note's judgement, naming the chord, the rule and the neighbour that decided.

use crate::take::LeftOut;
use crate::tally::{Class, Device, Judged, Stage, Tag, Tally};
use crate::theory::spelling::{Accidental, NoteName};
use crate::theory::{ChordSymbol, Pitch};

/// The name of a pitch with its octave, spelled over `symbol` where there is one, else with flats.
pub fn name(pitch: Pitch, symbol: Option<&ChordSymbol>) -> String {
    let class = pitch.pitch_class();
    let name = symbol.map_or_else(|| NoteName::plain(class, Accidental::Flat), |symbol| symbol.spell(class));
    pitch.written(name).to_string()
}

/// The reason for one note, in one line.
pub fn one_line(index: usize, tally: &Tally, stage: &Stage<'_>) -> String {
    let judged = &tally.notes[index];
    let symbol = judged.visit.and_then(|visit| stage.chord(visit).chord.symbol.as_ref());
    match (judged.left_out(), symbol) {
        (Some(reason), _) => left_out(reason).to_owned(),
        (None, Some(&symbol)) => counted(judged, index, symbol, tally, stage),
        (None, None) => left_out(LeftOut::NoChord).to_owned(),
    }
}

fn counted(judged: &Judged, index: usize, symbol: ChordSymbol, tally: &Tally, stage: &Stage<'_>) -> String {
    let pitch_class = judged.note.pitch.pitch_class();
    let degree = symbol.degree_of(pitch_class);
    let place = format!("{degree} of {symbol}");
    let push = if judged.early { ", struck early: most of it sounds after the change" } else { "" };
    let either = if judged.either { "; could be either chord" } else { "" };
    let scale = judged
        .visit
        .and_then(|visit| stage.chord(visit).read)
        .map_or_else(String::new, |read| read.scale.to_string());
    let layer = match judged.class {
        Some(Class::Chord) => "chord tone".to_owned(),
        Some(Class::Scale) => format!("in {scale}"),
        Some(Class::Other) => format!("not in {scale}, but in the scale the whole line leans to"),
        Some(Class::Outside) | None => format!("not in {scale}; {}", fate(judged.tag, index, tally, stage)),
    };
    format!("{place}: {layer}{push}{either}")
}

/// What became of an outside note.
fn fate(tag: Option<Tag>, index: usize, tally: &Tally, stage: &Stage<'_>) -> String {
    let target = |away| neighbour(index, away, tally, stage);
    match tag {
        Some(Tag::HeldOutside) => "held longer than a beat, so not an approach: open".to_owned(),
        Some(Tag::Resolved(Device::Approach)) => {
            format!("resolves a semitone to {}, a chord tone (approach)", target(1))
        }
        Some(Tag::Resolved(Device::Passing)) => {
            format!("a semitone between {} and {} (passing)", target(-1), target(1))
        }
        Some(Tag::Resolved(Device::DoubleChromatic)) => {
            format!("two semitones in one direction to {}, a chord tone (double chromatic)", target(2))
        }
        Some(Tag::Resolved(Device::Enclosure)) => {
            let target = target(enclosed(index, tally));
            format!("one of two notes around {target}, a chord tone that follows (enclosure)")
        }
        Some(Tag::Open) | None => match at(index, 1, tally).filter(|&next| is_near(index, next, tally)) {
            None => "no note follows within a beat: open".to_owned(),
            Some(_) => format!("no step to a chord tone follows, but {}: open", target(1)),
        },
    }
}

/// Whether a note is struck within a beat of another.
fn is_near(index: usize, next: usize, tally: &Tally) -> bool {
    let (judged, next) = (&tally.notes[index], &tally.notes[next]);
    (next.note.on - judged.note.on).0 <= judged.timing.beat.0
}

/// How many notes on the target of an enclosure comes: at once behind its second note, else one later.
fn enclosed(index: usize, tally: &Tally) -> isize {
    let pitch = |away| at(index, away, tally).map(|at| i32::from(tally.notes[at].note.pitch.key()));
    let is_tone = at(index, 1, tally).is_some_and(|at| tally.notes[at].class == Some(Class::Chord));
    let note = i32::from(tally.notes[index].note.pitch.key());
    let around = pitch(-1).zip(pitch(1)).is_some_and(|(before, target)| {
        let farthest = u32::from(tally.settings.enclosure.semitones);
        let near = |pitch: i32| (pitch - target).unsigned_abs() <= farthest;
        (before - target) * (note - target) < 0 && near(before) && near(note)
    });
    if is_tone && around { 1 } else { 2 }
}

/// The index of the note `away` counted notes on.
fn at(index: usize, away: isize, tally: &Tally) -> Option<usize> {
    let counted = |i: &usize| tally.notes[*i].is_counted();
    let nth = away.unsigned_abs().checked_sub(1)?;
    if away < 0 {
        (0..index).rev().filter(counted).nth(nth)
    } else {
        (index + 1..tally.notes.len()).filter(counted).nth(nth)
    }
}

/// The name of the note `away` counted notes on; empty where there is none.
fn neighbour(index: usize, away: isize, tally: &Tally, stage: &Stage<'_>) -> String {
    at(index, away, tally).map_or_else(String::new, |at| {
        let judged = &tally.notes[at];
        let symbol = judged.visit.and_then(|visit| stage.chord(visit).chord.symbol.as_ref());
        name(judged.note.pitch, symbol)
    })
}

const fn left_out(reason: LeftOut) -> &'static str {
    match reason {
        LeftOut::Ghost => "a ghost: too soft and short, an overtone or below the open string; not counted",
        LeftOut::Ornament => "an ornament: a grace note before the next note; not counted",
        LeftOut::Retrigger => "the same key again at once; not counted",
        LeftOut::Between => "between two semitones; not counted",
        LeftOut::NoChord => "no chord sounds here; not counted",
        LeftOut::CountIn => "in the count-in; not counted",
        LeftOut::Head => "in a chorus kept for the tune; not counted",
        LeftOut::NotYours => "in the other player's bars; not counted",
    }
}
