//! What keeping another scale for a chord would change in a take: its notes counted both ways, before anything is kept.

use std::sync::Arc;

use super::kept_scales::KeptScale;
use super::{Choices, Heard, NotJudged, Question, heard};
use crate::chart::{Chart, ChordPlace, Decided};
use crate::report::review::Detail;
use crate::take::{Imprint, MidiFile};
use crate::tally::mix::Counts;

/// A take counted as things stand, and as they would.
#[derive(Clone, Debug, PartialEq)]
pub struct OtherScale {
    /// What would be kept.
    pub kept: KeptScale,
    /// The notes over this chord, in every chorus and repeat, as they count now.
    pub before: Counts,
    /// The same notes as they would count.
    pub after: Counts,
    /// All counted notes of the take as they count now.
    pub take_before: Counts,
    /// The same as they would count.
    pub take_after: Counts,
}

/// Counts a take of ours, from the bytes of its file, with `decided` for a chord of its chart. `None` where the take brings
/// no chart, or no chord is written at `place`.
pub fn other_scale(
    bytes: &[u8],
    choices: &Choices,
    place: ChordPlace,
    decided: Decided,
) -> Result<Option<OtherScale>, NotJudged> {
    let midi = MidiFile::parse(bytes)?;
    let chart = Imprint::of(&midi)
        .and_then(|imprint| Chart::parse(&imprint.chart_name, &imprint.chart, choices.bare).ok());
    let Some(kept) = chart.and_then(|(chart, _)| KeptScale::of(&chart, place, decided)) else {
        return Ok(None);
    };
    let with_it = choices.kept.as_ref().clone().with(kept.clone());
    let (before, take_before) = counted(bytes, choices, place)?;
    let (after, take_after) = counted(bytes, &Choices { kept: Arc::new(with_it), ..choices.clone() }, place)?;
    Ok(Some(OtherScale { kept, before, after, take_before, take_after }))
}

/// The counted notes over the chord at `place`, and all of them.
fn counted(bytes: &[u8], choices: &Choices, place: ChordPlace) -> Result<(Counts, Counts), NotJudged> {
    let question = Question { choices, chart: None, track: None, detail: Detail::Totals, bands: None };
    heard(bytes, question, |Heard { stage, tally, .. }| {
        let is_there = |visit: usize| stage.chord(visit).chord.place == Some(place);
        let (mut there, mut all) = (Counts::default(), Counts::default());
        for note in &tally.notes {
            all.add(note);
            if note.visit.is_some_and(is_there) {
                there.add(note);
            }
        }
        (there, all)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demo;
    use crate::judge::{Answer, judge};

    fn judged(choices: &Choices) -> Answer {
        let question = Question { choices, chart: None, track: None, detail: Detail::Notes, bands: None };
        judge(&demo::take().to_bytes(), None, question).expect("a review")
    }

    fn asked(place: (usize, usize), scale: &str) -> Option<OtherScale> {
        let place = ChordPlace { bar: place.0, chord: place.1 };
        let decided = Decided { scale: scale.parse().ok(), key: None };
        let bytes = demo::take().to_bytes();
        other_scale(&bytes, &Choices::default(), place, decided).expect("a take of ours")
    }

    #[test]
    fn notes_move_between_scale_and_outside_and_none_is_lost() {
        // The line of the demo over Bb7 in bar 6 moves in Bb mixolydian; none of these is a scale of it.
        let other = asked((6, 1), "1,b2").expect("a chord");
        assert_eq!(other.before.counted(), other.after.counted());
        assert!(other.before.counted() > crate::tally::judged::Weight::default());
        assert_eq!(other.before.chord, other.after.chord);
        assert_eq!(other.kept.words(), "6.1 Bb7: 1,b2");
    }

    #[test]
    fn it_says_what_the_review_says_once_the_scale_is_kept() {
        let before = Choices::default();
        let other = asked((6, 1), "altered").expect("a chord");
        let kept =
            Choices { kept: Arc::new([other.kept.clone()].into_iter().collect()), ..Choices::default() };
        for (counts, choices) in [(other.take_before, &before), (other.take_after, &kept)] {
            assert_eq!(counts, judged(choices).tally.mix.total);
        }
        let notes = |answer: Answer| answer.review.notes.expect("notes");
        let altered = notes(judged(&kept));
        let over = |note: &&crate::report::review::NoteRecord| note.bar == 6;
        let scales: Vec<_> = altered.iter().filter(over).filter_map(|note| note.scale.clone()).collect();
        assert!(scales.iter().any(|scale| scale == "Bb altered"), "{scales:?}");
    }

    #[test]
    fn a_place_without_a_chord_changes_nothing() {
        assert_eq!(asked((99, 1), "altered"), None);
    }
}
