//! Landings: the note each chord begins on, and where on the instrument it is taken.

use super::{HOME, LANDINGS, Pattern, RANGE, WIDEST_LEAP, pattern};
use crate::band::Call;
use crate::band::accompaniment::Playing;
use crate::band::chance::Chance;
use crate::band::stretch::Stretch;
use crate::theory::{ChordSymbol, PitchClass};

/// How often a chord that goes on begins its second bar on the fifth rather than the third, in percent.
const FIFTH_PERCENT: u32 = 60;

/// What a chord begins on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Landing {
    /// Its root; the bass of a slash chord.
    Root(PitchClass),
    /// Its fifth or third, where it has gone on for a bar; the root where that is too far.
    Inner {
        /// The fifth or third, or both, in the order in which they are tried.
        tones: [PitchClass; 2],
        /// The root.
        root: PitchClass,
    },
}

impl Landing {
    /// The key it is taken at, coming from `last`.
    pub fn key(self, last: i32) -> i32 {
        match self {
            Self::Root(root) => root_near(root, last),
            Self::Inner { tones, root } => {
                let inner = tones.into_iter().find_map(|tone| inner_near(tone, last));
                inner.unwrap_or_else(|| root_near(root, last))
            }
        }
    }
}

/// The key of a root nearest to `last` among the landings; the lower one on a tie.
pub(super) fn root_near(root: PitchClass, last: i32) -> i32 {
    nearest(root, LANDINGS, last).unwrap_or(HOME)
}

/// The key of a tone nearest to `last`, among the landings if one is within a leap, else on the whole instrument.
pub(super) fn inner_near(tone: PitchClass, last: i32) -> Option<i32> {
    let within_leap = |key: &i32| (key - last).abs() <= WIDEST_LEAP;
    [LANDINGS, RANGE].into_iter().find_map(|range| nearest(tone, range, last).filter(within_leap))
}

/// The key of a pitch class nearest to `last` within a range; the lower one on a tie.
pub(super) fn nearest(
    pitch_class: PitchClass,
    range: std::ops::RangeInclusive<i32>,
    last: i32,
) -> Option<i32> {
    range.filter(|&key| PitchClass::from_semitones(key) == pitch_class).min_by_key(|key| (key - last).abs())
}

/// What each stretch begins on, `None` for N.C.
///
/// The root; a walking line has the fifth or third in every second bar of a chord that goes on. The first bar of a
/// chorus has the root again, and so has the bar in which the band comes in after bars that were not its own: they are
/// heard by it.
pub(super) fn landings(call: &Call, stretches: &[Stretch], chance: &mut Chance) -> Vec<Option<Landing>> {
    let mut bars_of_chord = 0;
    let landing = |(i, stretch): (usize, &Stretch)| {
        let goes_on = i > 0 && holds(&stretches[i - 1], stretch);
        bars_of_chord = if goes_on { bars_of_chord + 1 } else { 0 };
        let fifth_first = chance.percent(FIFTH_PERCENT);
        let chord = stretch.chord?;
        let root = chord.heard().bass_or_root().pitch_class();
        let mut tones = [fifth(chord), third(chord)];
        if !fifth_first {
            tones.reverse();
        }
        let may_be_inner = bars_of_chord % 2 == 1 && pattern(call, stretch) == Pattern::Walking;
        let mut tones = tones.into_iter().flatten().filter(|&tone| tone != root && may_be_inner);
        let inner = tones.next().map(|first| [first, tones.next().unwrap_or(first)]);
        Some(inner.map_or(Landing::Root(root), |tones| Landing::Inner { tones, root }))
    };
    stretches.iter().enumerate().map(landing).collect()
}

/// Whether a chord goes on from one stretch to the next in one and the same line.
fn holds(before: &Stretch, stretch: &Stretch) -> bool {
    let comes_in = before.bar.playing != Playing::Band && stretch.bar.playing == Playing::Band;
    let one_chorus = before.bar.chorus == stretch.bar.chorus;
    stretch.goes_on(before) && one_chorus && !comes_in
}

/// The fifth as the chord has it: perfect, diminished or augmented.
pub(super) fn fifth(chord: ChordSymbol) -> Option<PitchClass> {
    let (heard, tones) = (chord.heard(), chord.tone_set());
    [7, 6, 8].map(|s| heard.root.pitch_class().up(s)).into_iter().find(|&p| tones.has(p))
}

/// The third, or what stands for it.
pub(super) fn third(chord: ChordSymbol) -> Option<PitchClass> {
    chord.guide_tones().first().copied().or_else(|| fifth(chord))
}
