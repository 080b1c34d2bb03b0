//! What other scales would make of a chord: its counts as they are, and as they would be with each scale in use.

use crate::report::number::Count;

/// The notes over a chord of the page, every time it came.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OverChord {
    /// Chord tones.
    pub chord: Count,
    /// Scale tones, those of another scale among them.
    pub scale: Count,
    /// Outside notes.
    pub outside: Count,
    /// Outside notes left open.
    pub open: Count,
}

/// A scale that was tried over a chord.
#[derive(Clone, Debug, PartialEq)]
pub struct ScaleTried {
    /// Its name: `Bb lydian dominant`.
    pub scale: String,
    /// As a chart writes it behind the chord: `lydian-dominant`.
    pub written: String,
    /// What the notes over the chord would be.
    pub over: OverChord,
}

/// The scales of a chord: the one in force, and the others in use.
#[derive(Clone, Debug, PartialEq)]
pub struct OtherScales {
    /// The symbol.
    pub symbol: String,
    /// Bar of the form in which it stands.
    pub bar: usize,
    /// The scale in force.
    pub in_force: String,
    /// What the notes over the chord are by it.
    pub now: OverChord,
    /// The others, in listing order.
    pub others: Vec<ScaleTried>,
}

/// `chord 5   scale 3   outside 2 (1 open)`
pub fn over_chord_words(over: OverChord) -> String {
    format!("chord {}   scale {}   outside {} ({} open)", over.chord, over.scale, over.outside, over.open)
}
