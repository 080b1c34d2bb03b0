//! A kept take judged again, as what its player has entered about it grows: scales kept, notes brought back, contests.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::kept_scales::{KeptScale, KeptScales};
use super::{Answer, Choices, ChordSource, NotJudged, Question, judge};
use crate::chart::{Chart, ChordPlace, Decided, Form};
use crate::harmony::{Changes, Reading};
use crate::practice::contests::found_in;
use crate::report::number::Count;
use crate::report::review::Detail;
use crate::report::review::contests_granted::Granted;
use crate::report::review::other_scales::{OtherScales, OverChord, ScaleTried};
use crate::store::journal::entry::Contest;
use crate::take::{Imprint, MidiFile};
use crate::tally::verdict::Bands;
use crate::theory::{ScaleRequest, Written};

/// A take with all that bears upon how it is judged.
#[derive(Clone, Debug)]
pub struct Again<'a> {
    /// The bytes of its file.
    pub bytes: &'a [u8],
    /// The choices: scales kept for chords of charts and notes brought back are among them.
    pub choices: Choices,
    /// Its notes that are contested.
    pub contests: Vec<Contest>,
    /// What is asked of it, if anything is.
    pub bands: Option<Bands>,
}

impl Again<'_> {
    /// What it says about itself; none where it is no take of ours.
    pub fn imprint(&self) -> Option<Imprint> {
        Imprint::of(&MidiFile::parse(self.bytes).ok()?)
    }

    /// Its chords with the scales kept for them; none where it carries no chart that reads.
    pub fn chords(&self) -> Option<ChordSource> {
        ChordSource::of_imprint(&self.imprint()?, self.choices.bare, &self.choices.kept)
    }

    /// The take as it stands now.
    pub fn judged(&self) -> Result<Answer, NotJudged> {
        self.judged_by(&self.choices)
    }

    /// The same as a player in `written` reads it; `None` where that is as it sounds.
    pub fn read_in(&self, written: Written) -> Option<Result<Answer, NotJudged>> {
        (!written.is_concert()).then(|| self.judged_by(&self.choices.clone().written_for(written)))
    }

    fn judged_by(&self, choices: &Choices) -> Result<Answer, NotJudged> {
        let bands = self.bands.as_ref();
        let question = Question { choices, chart: None, track: None, detail: Detail::Notes, bands };
        judge(self.bytes, None, question)
    }

    /// The take as it would stand with one more scale kept.
    fn judged_with(&self, kept: KeptScale) -> Result<Answer, NotJudged> {
        let all = KeptScales::clone(&self.choices.kept).with(kept);
        self.judged_by(&Choices { kept: Arc::new(all), ..self.choices.clone() })
    }

    /// Its shares with every contested note granted; none where none is found.
    pub fn granted(&self, answer: &Answer) -> Option<Granted> {
        let heard = found_in(&answer.tally, &self.contests);
        (!heard.is_empty()).then(|| Granted::of(&answer.tally.granting(&heard), heard.len()))
    }

    /// Where chord `chord_index` of the form (from 1) is written on the page.
    pub fn place(&self, chord_index: usize) -> Option<ChordPlace> {
        self.chords()?.form.chords.get(chord_index.checked_sub(1)?)?.place
    }

    /// The chart that it carries, as it is written.
    pub fn chart(&self) -> Option<Chart> {
        let imprint = self.imprint()?;
        Some(Chart::parse(&imprint.chart_name, &imprint.chart, self.choices.bare).ok()?.0)
    }

    /// What the other scales in use would make of a chord of the form (from 1) in a chorus, named as the choices are.
    pub fn other_scales(&self, chorus: u32, chord_index: usize) -> Result<Option<OtherScales>, NotJudged> {
        let (Some(chart), Some(chords), Some(index)) =
            (self.chart(), self.chords(), chord_index.checked_sub(1))
        else {
            return Ok(None);
        };
        let Some(place) = self.place(chord_index) else { return Ok(None) };
        let shown = chords.written_for(self.choices.written);
        let (_, reading) = in_chorus(&chords, chorus);
        let (form, shown_reading) = in_chorus(&shown, chorus);
        let (Some(Some(read)), Some(Some(shown))) =
            (reading.chords.get(index), shown_reading.chords.get(index))
        else {
            return Ok(None);
        };
        let group = group(&chords.form, place);
        let mut others = Vec::new();
        let alternatives = read.alternatives.iter().zip(&shown.alternatives);
        for (scale, name) in alternatives.filter(|(scale, _)| **scale != read.scale) {
            // A scale that a chart cannot write cannot be kept either.
            let Ok(request) = scale.name().parse::<ScaleRequest>() else { continue };
            let written = request.to_string();
            let decided = Decided { scale: Some(request), key: None };
            let Some(kept) = KeptScale::of(&chart, place, decided) else { continue };
            let over = over(&self.judged_with(kept)?, &group);
            others.push(ScaleTried { scale: name.to_string(), written, over });
        }
        Ok(Some(OtherScales {
            symbol: form.chords[index].text.clone(),
            bar: form.bars[form.chords[index].bar].number,
            in_force: shown.scale.to_string(),
            now: over(&self.judged()?, &group),
            others,
        }))
    }
}

/// The form and the reading of a chorus (from 1).
fn in_chorus(chords: &ChordSource, chorus: u32) -> (&Form, &Reading) {
    let here = Changes::of_chorus(&chords.keys, chorus);
    here.map_or((&chords.form, &chords.reading), |changes| (&changes.form, &changes.reading))
}

/// The chords of the form (from 1) that are written at a place of the page, where bars only repeat it these too.
fn group(form: &Form, place: ChordPlace) -> BTreeSet<usize> {
    let there = form.chords.iter().enumerate().filter(|(_, chord)| chord.place == Some(place));
    there.map(|(index, _)| index + 1).collect()
}

fn over(answer: &Answer, group: &BTreeSet<usize>) -> OverChord {
    let chords = answer.review.chords.iter().flatten().filter(|chord| group.contains(&chord.chord_index));
    let mut sum = [0.0; 4];
    for chord in chords {
        let scale = chord.scale_notes.0 + chord.other.0;
        for (sum, notes) in sum.iter_mut().zip([chord.chord.0, scale, chord.outside.0, chord.open.0]) {
            *sum += notes;
        }
    }
    let [chord, scale, outside, open] = sum.map(Count);
    OverChord { chord, scale, outside, open }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demo;

    fn again(bytes: &[u8]) -> Again<'_> {
        Again { bytes, choices: Choices::default(), contests: Vec::new(), bands: None }
    }

    #[test]
    fn a_scale_that_is_kept_changes_what_the_other_scales_said_it_would() {
        let bytes = demo::take().to_bytes();
        let mut again = again(&bytes);
        let before = again.other_scales(1, 7).expect("judged").expect("a chord");
        assert_eq!((before.symbol.as_str(), before.bar), ("Bb7", 6));
        let tried = before.others.first().expect("another scale in use").clone();
        assert_ne!(tried.over, before.now, "the line has notes that tell the scales apart");
        let place = again.place(7).expect("on the page");
        let decided = Decided { scale: tried.written.parse().ok(), key: None };
        let kept = KeptScale::of(&again.chart().expect("a chart"), place, decided).expect("a chord");
        again.choices.kept = Arc::new([kept].into_iter().collect());
        let after = again.other_scales(1, 7).expect("judged").expect("a chord");
        assert_eq!((after.in_force, after.now), (tried.scale, tried.over));
    }

    #[test]
    fn a_bar_that_repeats_a_chord_leads_to_where_it_is_written() {
        let bytes = demo::take().to_bytes();
        let again = again(&bytes);
        let answer = again.judged().expect("judged");
        let chords = answer.review.chords.expect("chords");
        let repeated = chords.iter().find(|chord| chord.bar == 12).expect("bar 12");
        assert_eq!(again.place(repeated.chord_index), Some(ChordPlace { bar: 11, chord: 1 }));
    }
}
