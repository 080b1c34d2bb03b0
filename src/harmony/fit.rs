//! The symbol wins: which scales agree with what a chord symbol names, and what to do when none does.
//!
//! Common practice: an alteration in the symbol belongs to the scale and drives its natural form out of it; the fifth is
//! the note of a dominant that a scale may lack. The lists for altered dominants follow what recorded soloists played over
//! them in half of the Weimar Jazz Database (Pfleiderer et al. 2017).

use crate::theory::chord::{Arpeggio, Colour};
use crate::theory::{ChordSymbol, Mode, NoteName, PitchClassSet, Scale};

use super::reduce::Class;

/// What a symbol asks of a scale, relative to the root.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Demands {
    symbol: ChordSymbol,
    class: Class,
    /// The basic arpeggio.
    arpeggio: PitchClassSet,
    /// Arpeggio and named colours.
    needed: PitchClassSet,
    /// Natural forms that a named alteration drives out, and the reverse.
    expelled: PitchClassSet,
}

/// A default and the others that fit, in listing order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Choice {
    /// The first that fits.
    pub(super) default: Scale,
    /// The others.
    pub(super) alternatives: Vec<Scale>,
    /// Whether the symbol changed the default that the function alone would give.
    pub(super) set_by_symbol: bool,
}

/// Scales tried for a class when none of those listed for the function fits.
const fn last_resorts(class: Class) -> &'static [Mode] {
    use Mode as M;
    match class {
        Class::Major => &[M::Ionian, M::Lydian, M::LydianAugmented],
        Class::Minor => {
            &[M::Dorian, M::Aeolian, M::Phrygian, M::DorianFlat2, M::MelodicMinor, M::HarmonicMinor]
        }
        Class::MinorTonic => &[M::MelodicMinor, M::Dorian, M::HarmonicMinor],
        Class::HalfDiminished => &[M::Locrian, M::LocrianNatural2],
        Class::Diminished => &[M::WholeHalfDiminished, M::HarmonicMinor7thMode],
        Class::Dominant => &[
            M::Mixolydian,
            M::LydianDominant,
            M::MixolydianFlat13,
            M::PhrygianDominant,
            M::HalfWholeDiminished,
            M::Altered,
            M::MixolydianFlat9Sharp9Flat13,
            M::WholeTone,
        ],
        Class::Suspended => &[M::Mixolydian, M::DorianFlat2, M::Phrygian, M::MixolydianFlat13],
    }
}

impl Demands {
    /// What `symbol`, as it is heard, asks for.
    pub(super) fn of(symbol: ChordSymbol) -> Self {
        let symbol = symbol.heard();
        let needed = symbol.quality.named();
        Self {
            symbol,
            class: Class::of(symbol.quality),
            arpeggio: symbol.quality.arpeggio.set(),
            needed,
            expelled: expelled(symbol) - needed,
        }
    }

    /// Semitones of the bass above the root, as a set; empty without a bass of its own.
    pub(super) fn bass(&self) -> PitchClassSet {
        let root = self.symbol.root.pitch_class();
        let bass = self.symbol.bass.map(|bass| bass.pitch_class().above(root));
        bass.map_or(PitchClassSet::EMPTY, |semitones| PitchClassSet::of(&[semitones]))
    }

    /// The chord tones: arpeggio and bass.
    pub(super) fn tones(&self) -> PitchClassSet {
        self.arpeggio | self.bass()
    }

    /// What joins a scale that a player or a chart sets: the chord tones, but not the natural fifth of a dominant, which
    /// altered scales leave out.
    pub(super) fn joins_a_set_scale(&self) -> PitchClassSet {
        let fifth = match self.class {
            Class::Dominant => PitchClassSet::of(&[7]) - self.bass(),
            _ => PitchClassSet::EMPTY,
        };
        self.tones() - fifth
    }

    /// The root as heard.
    pub(super) const fn root(&self) -> NoteName {
        self.symbol.root
    }

    fn names(&self, colour: Colour) -> bool {
        self.symbol.quality.colours.has(colour)
    }

    /// The list that takes the place of the function's for an altered dominant.
    pub(super) fn replacement(&self) -> Option<&'static [Mode]> {
        use Mode as M;
        if self.class != Class::Dominant {
            return None;
        }
        let fifth_altered = matches!(
            self.symbol.quality.arpeggio,
            Arpeggio::Dominant7Sharp5 | Arpeggio::Dominant7Flat5 | Arpeggio::Augmented
        );
        if self.names(Colour::FlatNine) {
            let bright = self.names(Colour::Thirteen) || self.names(Colour::SharpEleven);
            let all: &[Mode] =
                &[M::PhrygianDominant, M::MixolydianFlat9Sharp9Flat13, M::HalfWholeDiminished, M::Altered];
            Some(if bright { &all[2..] } else { all })
        } else if self.names(Colour::SharpNine) {
            Some(&[M::MixolydianFlat9Sharp9Flat13, M::HalfWholeDiminished, M::Altered])
        } else if fifth_altered {
            Some(&[M::WholeTone, M::Altered])
        } else {
            None
        }
    }

    fn default_fits(&self, scale: &Scale) -> bool {
        scale.relative().holds(self.needed) && !scale.relative().meets(self.expelled)
    }

    /// On a dominant an alternative may lack the fifth.
    fn alternative_fits(&self, scale: &Scale) -> bool {
        let optional = match self.class {
            Class::Dominant => PitchClassSet::of(&[7]),
            _ => PitchClassSet::EMPTY,
        };
        scale.relative().holds(self.needed - optional) && !scale.relative().meets(self.expelled)
    }

    /// The default and the alternatives out of the scales `listed` for the function (the symbol may replace them), then
    /// those `from_key` that bring other notes.
    pub(super) fn choose(&self, listed: &[Mode], from_key: Vec<Scale>) -> Choice {
        let list = self.replacement().unwrap_or(listed);
        let scales = |modes: &[Mode]| -> Vec<Scale> { modes.iter().map(|m| m.on(self.root())).collect() };
        let candidates = scales(list);
        let default = candidates
            .iter()
            .chain(&scales(last_resorts(self.class)))
            .find(|scale| self.default_fits(scale))
            .cloned()
            .unwrap_or_else(|| self.patched(list));
        let mut alternatives: Vec<Scale> = candidates
            .into_iter()
            .filter(|scale| *scale != default && self.alternative_fits(scale))
            .collect();
        for scale in from_key {
            let same = |other: &Scale| self.sounding(other) == self.sounding(&scale);
            let known = same(&default) || alternatives.iter().any(same);
            if !known && self.alternative_fits(&scale) {
                alternatives.push(scale);
            }
        }
        let plain = listed.first().map(|mode| mode.on(self.root()));
        Choice { set_by_symbol: plain.is_some_and(|plain| plain != default), default, alternatives }
    }

    /// The first of the list with what the symbol needs put in and what it drives out taken away.
    fn patched(&self, list: &[Mode]) -> Scale {
        let first = list.first().copied().unwrap_or(Mode::Mixolydian);
        first.on(self.root()).patched(self.needed, self.expelled)
    }

    fn sounding(&self, scale: &Scale) -> PitchClassSet {
        scale.relative() | self.arpeggio
    }
}

/// The notes driven out, relative to the root.
fn expelled(symbol: ChordSymbol) -> PitchClassSet {
    use Colour as C;
    let quality = symbol.quality;
    if quality.arpeggio == Arpeggio::Altered {
        return PitchClassSet::of(&[2, 5, 7, 9]);
    }
    let class = Class::of(quality);
    let has = |colour| quality.colours.has(colour);
    let bright = matches!(class, Class::Major | Class::Dominant | Class::Suspended);
    let suspended = class == Class::Suspended;
    let nine_altered = has(C::FlatNine) || has(C::SharpNine);
    let rules: [(bool, &[u8]); 7] = [
        (bright && nine_altered && !has(C::Nine), &[2]),
        (bright && !suspended && has(C::SharpEleven) && !has(C::Eleven), &[5]),
        (bright && has(C::FlatThirteen) && !has(C::Thirteen), &[9]),
        (bright && has(C::Nine), &[1]),
        (bright && !suspended && has(C::Nine), &[3]),
        (bright && has(C::Thirteen), &[8]),
        (has_altered_fifth(quality.arpeggio), &[7]),
    ];
    let driven_out = rules.iter().filter(|(applies, _)| *applies);
    driven_out.fold(PitchClassSet::EMPTY, |set, (_, notes)| set | PitchClassSet::of(notes))
}

/// A flat or sharp five in place of the fifth; a minor seventh with a sharp five keeps its fifth at hand.
fn has_altered_fifth(arpeggio: Arpeggio) -> bool {
    let set = arpeggio.set();
    let altered = set.has_semitone(6) || set.has_semitone(8);
    altered && !set.has_semitone(7) && arpeggio != Arpeggio::Minor7Sharp5
}

#[cfg(test)]
mod tests {
    use super::*;

    fn demands(symbol: &str) -> Demands {
        Demands::of(symbol.parse().expect("a chord"))
    }

    fn default_of(symbol: &str, listed: &[Mode]) -> String {
        demands(symbol).choose(listed, Vec::new()).default.name()
    }

    #[test]
    fn a_named_tension_sets_the_scale() {
        let listed = [Mode::Mixolydian, Mode::LydianDominant];
        for (symbol, scale) in [
            ("G7", "mixolydian"),
            ("G7#11", "lydian dominant"),
            ("G7b9", "phrygian dominant"),
            ("G13b9", "half-whole diminished"),
            ("G7#9", "mixolydian b9 #9 b13"),
            ("G7#5", "whole tone"),
            ("G7#5b9", "altered"),
            ("G7alt", "altered"),
            ("G7b13", "mixolydian b13"),
            ("Gaug", "whole tone"),
        ] {
            assert_eq!(default_of(symbol, &listed), scale, "{symbol}");
        }
    }

    #[test]
    fn a_scale_is_patched_when_none_fits() {
        assert_eq!(default_of("Cmaj7b9", &[Mode::Ionian, Mode::Lydian]), "ionian + b9 - 9");
    }

    #[test]
    fn an_alternative_on_a_dominant_may_lack_the_fifth() {
        let choice = demands("G7").choose(&[Mode::Mixolydian, Mode::WholeTone], Vec::new());
        assert_eq!(choice.alternatives, [Mode::WholeTone.on("G".parse().expect("a note"))]);
        let triad = demands("G").choose(&[Mode::Mixolydian, Mode::WholeTone], Vec::new());
        assert_eq!(triad.alternatives, []);
    }
}
