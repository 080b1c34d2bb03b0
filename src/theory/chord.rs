//! Chord symbols: a root, a quality and perhaps a bass, as a lead sheet writes them.
//!
//! [`parse`] reads every spelling met, [`quality`] says which notes a quality stands for and prints its one canonical
//! spelling. What a chord *does* in a key is not here: see [`crate::harmony`].

pub mod quality;
mod words;
mod resolve;
pub mod parse;

use std::fmt;
use std::str::FromStr;

pub use parse::{BareSymbols, GREATEST_LENGTH, NoChord};
pub use quality::{Arpeggio, Colour, Colours, Quality};

use super::degree::Degree;
use super::pitch_class::{PitchClass, PitchClassSet};
use super::spelling::NoteName;

/// A chord symbol: `Ebmaj7`, `D7b9`, `C/E`.
///
/// Prints in one canonical ASCII spelling that reads back to the same symbol.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct ChordSymbol {
    /// The root as written.
    pub root: NoteName,
    /// Everything between root and bass.
    pub quality: Quality,
    /// The note after the slash, if one is written.
    pub bass: Option<NoteName>,
}

impl ChordSymbol {
    /// Reads a symbol, with the choices of `bare` for the symbols the trade disagrees about.
    pub fn parse_with(text: &str, bare: BareSymbols) -> Result<Self, NoChord> {
        parse::parse(text, bare)
    }

    /// The symbol as it is heard: a minor seventh over its fourth (`Dm7/G`) and a plain triad over its second (`F/G`)
    /// are a 9sus4 on the bass; every other symbol is itself.
    #[must_use]
    pub fn heard(self) -> Self {
        let Some(bass) = self.bass else { return self };
        let above = bass.pitch_class().above(self.root.pitch_class());
        let minor_seventh_over_fourth = above == 5 && self.quality == Quality::plain(Arpeggio::Minor7);
        let triad_over_second = above == 2 && self.quality.is_plain_triad();
        if minor_seventh_over_fourth || triad_over_second {
            let quality =
                Quality { arpeggio: Arpeggio::Dominant7Sus4, colours: Colours::of(&[Colour::Nine]) };
            Self { root: bass, quality, bass: None }
        } else {
            self
        }
    }

    /// The lowest note: the written bass, else the root.
    pub fn bass_or_root(self) -> NoteName {
        self.bass.unwrap_or(self.root)
    }

    /// The chord tones: the basic arpeggio from the root up, as heard, a foreign bass last.
    pub fn tones(self) -> Vec<PitchClass> {
        let heard = self.heard();
        let root = heard.root.pitch_class();
        let mut tones: Vec<PitchClass> =
            heard.quality.arpeggio.set().up(i32::from(root.semitones())).iter_from(root).collect();
        let bass = heard.bass_or_root().pitch_class();
        if !tones.contains(&bass) {
            tones.push(bass);
        }
        tones
    }

    /// The chord tones as a set.
    pub fn tone_set(self) -> PitchClassSet {
        self.tones().into_iter().collect()
    }

    /// The guide tones that a line lands on: third and seventh, or the sixth of a 6 chord, the fourth of a sus.
    pub fn guide_tones(self) -> Vec<PitchClass> {
        let heard = self.heard();
        heard
            .quality
            .arpeggio
            .guide_tones()
            .iter()
            .map(|&s| heard.root.pitch_class().up(i32::from(s)))
            .collect()
    }

    /// The colours named in the symbol (9, 11, 13 and alterations), as pitch classes.
    pub fn named_colours(self) -> PitchClassSet {
        let heard = self.heard();
        heard.quality.named_colours().up(i32::from(heard.root.pitch_class().semitones()))
    }

    /// The degree of `pitch_class` over this chord, as players call it.
    pub fn degree_of(self, pitch_class: PitchClass) -> Degree {
        let heard = self.heard();
        Degree::in_chord(pitch_class.above(heard.root.pitch_class()), heard.quality.arpeggio.set())
    }

    /// The name of `pitch_class` over this chord, spelled by its degree.
    pub fn spell(self, pitch_class: PitchClass) -> NoteName {
        let bass = self.bass.filter(|bass| bass.pitch_class() == pitch_class);
        bass.unwrap_or_else(|| self.degree_of(pitch_class).above(self.heard().root))
    }

    /// The symbol moved so that its root is `root`; the bass keeps its distance.
    #[must_use]
    pub fn transposed(self, root: NoteName) -> Self {
        let bass = self.bass.map(|bass| {
            let steps = bass.letter as i32 - self.root.letter as i32;
            root.up(steps, i32::from(bass.pitch_class().above(self.root.pitch_class())))
        });
        Self { root, bass, ..self }
    }
}

impl FromStr for ChordSymbol {
    type Err = NoChord;

    fn from_str(text: &str) -> Result<Self, NoChord> {
        parse::parse(text, BareSymbols::default())
    }
}

impl fmt::Display for ChordSymbol {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.root, self.quality)?;
        self.bass.map_or(Ok(()), |bass| write!(f, "/{bass}"))
    }
}
