//! A reading: what was found about a form's keys, functions and scales.

use std::fmt;
use std::sync::Arc;

use crate::theory::{Key, Scale};

/// What a form was found to mean.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The key of the whole, for header and signature; `None` when no key is assumed.
    pub home: Option<Key>,
    /// Stretches of chords in one key, in order.
    pub regions: Vec<Region>,
    /// What each chord of the form means, in the form's order; `None` for N.C.
    /// Chords that are seen alike share one reading.
    pub chords: Vec<Option<Arc<ChordReading>>>,
    /// How much of the harmony moves as keys do.
    pub moves: FunctionalMoves,
}

/// Moves between neighbouring chords that point to a key, of all moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FunctionalMoves {
    /// Twice the sum, as some moves count one half.
    pub halves: u32,
    /// Pairs of neighbours looked at.
    pub pairs: u32,
}

/// Prints as `4.5/7`.
impl fmt::Display for FunctionalMoves {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", f64::from(self.halves) / 2.0, self.pairs)
    }
}

/// What a chord is heard against.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Centre {
    /// A key.
    Key(Key),
    /// No key: the chord stands alone.
    Modal,
}

/// Prints `Eb major`, or `modal`.
impl fmt::Display for Centre {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Key(key) => key.fmt(f),
            Self::Modal => f.write_str("modal"),
        }
    }
}

/// Chords heard in one key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Region {
    /// The key.
    pub centre: Centre,
    /// Index of its first chord in the form.
    pub first: usize,
    /// Index of its last chord in the form.
    pub last: usize,
    /// The cadence that names it, or that there is none.
    pub why: String,
}

/// What one chord means where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChordReading {
    /// The key it is heard in.
    pub centre: Centre,
    /// Its function in full: `ii-7/IV`, `V7/V (unresolved)`.
    pub function: String,
    /// The default scale, or the player's.
    pub scale: Scale,
    /// Other scales in use, in listing order, the default first where another scale was set. Whole scales as they are named:
    /// over a dominant one may lack the fifth, which as a chord tone counts all the same.
    pub alternatives: Vec<Scale>,
    /// The reason, with the key in full: `diatonic in G major`.
    pub why: String,
    /// Whether the player set the scale or the key.
    pub overridden: bool,
}

impl ChordReading {
    /// The reason as a narrow column shows it, a major key by its tonic alone: `borrowed in Eb`.
    pub fn short_why(&self) -> String {
        let Centre::Key(key) = self.centre else {
            return self.why.clone();
        };
        self.why.replace(&format!("{} major", key.tonic), &key.tonic.to_string())
    }
}
