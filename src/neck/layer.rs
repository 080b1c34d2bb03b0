//! The three layers: what a pitch is to the chord of the moment and to the scale that holds it.

use crate::theory::{ChordSymbol, PitchClass, PitchClassSet, Scale};

/// How near a pitch is to the chord: the nearer, the more ink.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Layer {
    /// In neither chord nor scale: one of the twelve.
    Chromatic,
    /// In the scale in force.
    Scale,
    /// In the basic arpeggio.
    Chord,
}

impl Layer {
    /// The word that documents use.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Chromatic => "chromatic",
            Self::Scale => "scale",
            Self::Chord => "chord",
        }
    }
}

/// What a pitch is to the chord that comes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum InNext {
    /// Nothing.
    Absent,
    /// One of its tones.
    Tone,
    /// Its third or seventh, or what stands for them.
    GuideTone,
}

/// A chord in its scale, and perhaps the chord after it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Layers {
    tones: PitchClassSet,
    scale: PitchClassSet,
    next_tones: PitchClassSet,
    next_guides: PitchClassSet,
}

impl Layers {
    /// The layers of `chord` while `scale` is in force.
    pub fn of(chord: ChordSymbol, scale: &Scale) -> Self {
        Self {
            tones: chord.tone_set(),
            scale: scale.pitch_classes(),
            next_tones: PitchClassSet::EMPTY,
            next_guides: PitchClassSet::EMPTY,
        }
    }

    /// The same, with the tones of the chord that comes flagged.
    #[must_use]
    pub fn before(self, next: ChordSymbol) -> Self {
        let next_guides = next.guide_tones().into_iter().collect();
        Self { next_tones: next.tone_set(), next_guides, ..self }
    }

    /// The layer of a pitch class.
    pub const fn layer(&self, pitch_class: PitchClass) -> Layer {
        if self.tones.has(pitch_class) {
            Layer::Chord
        } else if self.scale.has(pitch_class) {
            Layer::Scale
        } else {
            Layer::Chromatic
        }
    }

    /// What a pitch class is to the chord that comes.
    pub const fn in_next(&self, pitch_class: PitchClass) -> InNext {
        if self.next_guides.has(pitch_class) {
            InNext::GuideTone
        } else if self.next_tones.has(pitch_class) {
            InNext::Tone
        } else {
            InNext::Absent
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::theory::Mode;

    fn chord(symbol: &str) -> ChordSymbol {
        symbol.parse().expect("a symbol")
    }

    fn layers(symbol: &str, mode: Mode) -> Layers {
        let chord = chord(symbol);
        Layers::of(chord, &mode.on(chord.root))
    }

    fn words(layers: Layers) -> String {
        let letter = |pitch_class| match layers.layer(pitch_class) {
            Layer::Chord => 'C',
            Layer::Scale => 's',
            Layer::Chromatic => '.',
        };
        PitchClass::all().map(letter).collect()
    }

    #[test]
    fn a_chord_lies_inside_its_scale_inside_the_twelve() {
        // C  Db D Eb E F  Gb G Ab A Bb B
        assert_eq!(words(layers("Fm7", Mode::Dorian)), "C.sC.C.sC.s.");
    }

    #[test]
    fn a_chord_tone_outside_the_scale_is_a_chord_tone() {
        assert_eq!(words(layers("C7", Mode::Ionian)), "C.s.Cs.C.sCs");
    }

    #[test]
    fn the_next_chord_is_flagged_its_third_and_seventh_apart() {
        let layers = layers("Fm7", Mode::Dorian).before(chord("Bb7"));
        let flag = |name: &str| {
            layers.in_next(name.parse::<crate::theory::NoteName>().expect("a name").pitch_class())
        };
        assert_eq!(flag("D"), InNext::GuideTone);
        assert_eq!(flag("Ab"), InNext::GuideTone);
        assert_eq!(flag("Bb"), InNext::Tone);
        assert_eq!(flag("F"), InNext::Tone);
        assert_eq!(flag("G"), InNext::Absent);
    }
}
