//! What a player decided about chords of a chart: the scale of one, or the key it is heard in. It stands beside the text,
//! not in it, and goes where the chord goes: into every repeat, under every `%`, along into another key.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::theory::{Key, ScaleRequest};

use super::model::Chart;
use super::shift::Shift;

/// A chord of the page.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct ChordPlace {
    /// Bar of the page, from 1.
    pub bar: usize,
    /// Which of its chords, from 1; N.C. is none.
    pub chord: usize,
}

/// Prints `5.1`, as it is typed.
impl std::fmt::Display for ChordPlace {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}.{}", self.bar, self.chord)
    }
}

/// What a player decided about a chord.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Default)]
pub struct Decided {
    /// Its scale, instead of the one that is found or written.
    pub scale: Option<ScaleRequest>,
    /// The key it is heard in.
    pub key: Option<Key>,
}

impl Decided {
    /// The same in another key: what names a note of its own moves with it.
    #[must_use]
    pub fn moved(self, from: Key, to: Key) -> Self {
        Shift::new(from, to).decided(self)
    }

    /// Whether nothing is decided.
    pub const fn is_nothing(&self) -> bool {
        self.scale.is_none() && self.key.is_none()
    }
}

/// What is decided about a chart, chord by chord.
pub type Decisions = BTreeMap<ChordPlace, Decided>;

impl Chart {
    /// This chart with nothing decided about it but `decisions`. Those for places where no chord is written are passed
    /// over.
    #[must_use]
    pub fn deciding(mut self, decisions: &Decisions) -> Self {
        for chord in &mut self.form.chords {
            let decided = chord.place.and_then(|place| decisions.get(&place));
            chord.decided = decided.cloned().unwrap_or_default();
        }
        self
    }

    /// What is decided about its chords.
    pub fn decisions(&self) -> Decisions {
        let decided = self.form.chords.iter().filter(|chord| !chord.decided.is_nothing());
        decided.filter_map(|chord| Some((chord.place?, chord.decided.clone()))).collect()
    }

    /// The symbol that is written at a place of the page; `None` where no chord is.
    pub fn symbol_at(&self, place: ChordPlace) -> Option<&str> {
        let bar = self.bars.get(place.bar.checked_sub(1)?)?;
        let mut chords = bar.chords().into_iter().filter(|(_, chord)| chord.symbol.is_some());
        chords.nth(place.chord.checked_sub(1)?).map(|(_, chord)| chord.text.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::theory::chord::BareSymbols;

    fn chart(text: &str) -> Chart {
        Chart::parse("a.bars", text, BareSymbols::default()).expect("a chart").0
    }

    fn decided(place: (usize, usize), scale: &str) -> Decisions {
        let place = ChordPlace { bar: place.0, chord: place.1 };
        BTreeMap::from([(
            place,
            Decided { scale: Some(scale.parse().expect("a scale")), key: "G".parse().ok() },
        )])
    }

    /// The scale decided for each chord of the form.
    fn scales(chart: &Chart) -> Vec<String> {
        let scale = |chord: &crate::chart::FormChord| {
            chord.decided.scale.as_ref().map_or_else(|| "-".to_owned(), ToString::to_string)
        };
        chart.unfold().chords.iter().map(scale).collect()
    }

    #[test]
    fn a_decision_goes_into_every_repeat_of_its_chord() {
        let repeated = chart("|: N.C. / Dm7 / | % | | G7 :|").deciding(&decided((1, 1), "altered"));
        assert_eq!(scales(&repeated), ["-", "altered", "-", "altered", "altered", "-"].repeat(2));
        assert_eq!(repeated.decisions(), decided((1, 1), "altered"));
    }

    #[test]
    fn a_decision_goes_along_into_another_key_and_gives_way_to_a_scale_set_there() {
        let own = chart("key: C\n| Dm7 | G7 | Cmaj7 |").deciding(&decided((2, 1), "harmonic-minor-of-C"));
        let moved = own.transposed("Eb".parse().expect("a key")).expect("another key");
        let there = moved.decisions().remove(&ChordPlace { bar: 2, chord: 1 }).expect("a decision");
        assert_eq!(there.scale.map(|scale| scale.to_string()).as_deref(), Some("harmonic-minor-of-Eb"));
        assert_eq!(there.key.map(|key| key.to_string()).as_deref(), Some("Bb major"));
        let set = own.with_scale(2, 1, &"altered".parse().expect("a scale")).expect("a chart");
        assert_eq!(set.decisions()[&ChordPlace { bar: 2, chord: 1 }].scale, None);
    }

    #[test]
    fn a_place_without_a_chord_is_passed_over() {
        let chart = chart("| Dm7 | N.C. |");
        assert_eq!(chart.symbol_at(ChordPlace { bar: 1, chord: 1 }), Some("Dm7"));
        for place in [(1, 2), (2, 1), (3, 1), (0, 1), (1, 0)] {
            assert_eq!(chart.symbol_at(ChordPlace { bar: place.0, chord: place.1 }), None);
            assert!(chart.clone().deciding(&decided(place, "dorian")).decisions().is_empty());
        }
    }
}
