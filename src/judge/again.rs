//! A kept take judged again, as what its player has entered about it grows: scales kept, notes brought back, contests.

use std::collections::BTreeSet;

use super::{Answer, Choices, ChordSource, NotJudged, Question, judge};
use crate::chart::{Chart, Form, WrittenBar};
use crate::harmony::Changes;
use crate::practice::contests::found_in;
use crate::report::number::Count;
use crate::report::review::Detail;
use crate::report::review::granted::Granted;
use crate::report::review::other_scales::{OtherScales, OverChord, ScaleTried};
use crate::store::journal::entry::{ChartName, ChordPlace, Contest, ScaleOverride};
use crate::take::{Imprint, MidiFile};
use crate::tally::verdict::Bands;
use crate::theory::ScaleRequest;

/// A take with all that bears upon how it is judged.
#[derive(Clone, Debug)]
pub struct Again<'a> {
    /// The bytes of its file.
    pub bytes: &'a [u8],
    /// The choices, notes brought back among them.
    pub choices: Choices,
    /// The scales kept for chords of its chart.
    pub scales: Vec<ScaleOverride>,
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
        self.chords_with(&self.scales)
    }

    fn chords_with(&self, scales: &[ScaleOverride]) -> Option<ChordSource> {
        let with_scales = |chart: Chart| scales.iter().fold(chart, with_scale);
        ChordSource::of_imprint_changed(&self.imprint()?, self.choices.bare, with_scales)
    }

    /// The take as it stands now.
    pub fn judged(&self) -> Result<Answer, NotJudged> {
        self.judged_with(&self.scales)
    }

    fn judged_with(&self, scales: &[ScaleOverride]) -> Result<Answer, NotJudged> {
        let chords = self.chords_with(scales);
        let question = Question {
            choices: &self.choices,
            chart: chords.as_ref(),
            track: None,
            detail: Detail::Notes,
            bands: self.bands.as_ref(),
        };
        judge(self.bytes, None, question)
    }

    /// Its shares with every contested note granted; none where none is found.
    pub fn granted(&self, answer: &Answer) -> Option<Granted> {
        let heard = found_in(&answer.tally, &self.contests);
        (!heard.is_empty()).then(|| Granted::of(&answer.tally.granting(&heard), heard.len()))
    }

    /// Where chord `chord_index` of the form (from 1) is written on the page, with its symbol there.
    pub fn place(&self, chord_index: usize) -> Option<(ChordPlace, String)> {
        written(&self.chart()?, place_in(&self.chords()?.form, chord_index.checked_sub(1)?)?)
    }

    fn chart(&self) -> Option<Chart> {
        let imprint = self.imprint()?;
        Some(Chart::parse(&imprint.chart_name, &imprint.chart, self.choices.bare).ok()?.0)
    }

    /// What the other scales in use would make of a chord of the form (from 1) in a chorus.
    pub fn other_scales(&self, chorus: u32, chord_index: usize) -> Result<Option<OtherScales>, NotJudged> {
        let (Some(chart), Some(chords), Some(index)) =
            (self.chart(), self.chords(), chord_index.checked_sub(1))
        else {
            return Ok(None);
        };
        let Some((place, symbol)) = self.place(chord_index) else { return Ok(None) };
        let here = Changes::of_chorus(&chords.keys, chorus);
        let (form, reading) =
            here.map_or((&chords.form, &chords.reading), |changes| (&changes.form, &changes.reading));
        let Some(Some(read)) = reading.chords.get(index) else { return Ok(None) };
        let group = group(&chart, &chords.form, place);
        let mut others = Vec::new();
        for scale in read.alternatives.iter().filter(|scale| **scale != read.scale) {
            // A scale that a chart cannot write cannot be kept either.
            let Ok(request) = scale.name().parse::<ScaleRequest>() else { continue };
            let written = request.to_string();
            let tried = self.scale_kept(place, &symbol, Some(&written));
            let scales: Vec<ScaleOverride> = self.scales.iter().cloned().chain([tried]).collect();
            let over = over(&self.judged_with(&scales)?, &group);
            others.push(ScaleTried { scale: scale.to_string(), written, over });
        }
        Ok(Some(OtherScales {
            symbol: form.chords[index].text.clone(),
            bar: form.bars[form.chords[index].bar].number,
            in_force: read.scale.to_string(),
            now: over(&self.judged()?, &group),
            others,
        }))
    }

    /// The entry that keeps a scale for a chord of this take's chart.
    pub fn scale_kept(&self, place: ChordPlace, symbol: &str, scale: Option<&str>) -> ScaleOverride {
        let id = self.chords().map(|chords| chords.id);
        let (title, sha256) = id.map(|id| (id.title, id.sha256)).unwrap_or_default();
        ScaleOverride {
            chart: ChartName { title, sha256 },
            place,
            symbol: symbol.to_owned(),
            scale: scale.map(str::to_owned),
        }
    }
}

/// The chart with a scale that is kept for one of its chords; as it was where that chord stands there no more.
fn with_scale(chart: Chart, kept: &ScaleOverride) -> Chart {
    let stands = written(&chart, kept.place).is_some_and(|(_, symbol)| symbol == kept.symbol);
    let scale = kept.scale.as_ref().and_then(|scale| scale.parse::<ScaleRequest>().ok()).filter(|_| stands);
    let changed = scale.and_then(|scale| chart.with_scale(kept.place.bar, kept.place.chord, &scale).ok());
    changed.unwrap_or(chart)
}

/// Which chord of which bar of the page a chord of the form (from 0) is.
fn place_in(form: &Form, index: usize) -> Option<ChordPlace> {
    let bar = form.chords.get(index)?.bar;
    let here = form.chords[..=index].iter().filter(|chord| chord.bar == bar && chord.symbol.is_some());
    Some(ChordPlace { bar: form.bars.get(bar)?.written, chord: here.count() })
}

/// The place where a chord is written that sounds in a bar of the page, which may only repeat it, and its symbol.
fn written(chart: &Chart, place: ChordPlace) -> Option<(ChordPlace, String)> {
    let symbols = |bar: usize| -> Vec<String> {
        let written = chart.bars().get(bar - 1).map(WrittenBar::chords).unwrap_or_default();
        written
            .iter()
            .filter(|(_, chord)| chord.symbol.is_some())
            .map(|(_, chord)| chord.text.clone())
            .collect()
    };
    let bar = (1..=place.bar).rev().find(|&bar| !symbols(bar).is_empty())?;
    let symbol = symbols(bar).get(place.chord.checked_sub(1)?)?.clone();
    Some((ChordPlace { bar, chord: place.chord }, symbol))
}

/// The chords of the form (from 1) that are written at a place of the page, where bars only repeat it these too.
fn group(chart: &Chart, form: &Form, place: ChordPlace) -> BTreeSet<usize> {
    let is_there = |index: &usize| {
        let found = place_in(form, *index).and_then(|there| written(chart, there));
        found.is_some_and(|(there, _)| there == place)
    };
    (0..form.chords.len()).filter(is_there).map(|index| index + 1).collect()
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
        let choices = Choices::default();
        Again { bytes, choices, scales: Vec::new(), contests: Vec::new(), bands: None }
    }

    #[test]
    fn a_scale_that_is_kept_changes_what_the_other_scales_said_it_would() {
        let bytes = demo::take().to_bytes();
        let mut again = again(&bytes);
        let before = again.other_scales(1, 7).expect("judged").expect("a chord");
        assert_eq!((before.symbol.as_str(), before.bar), ("Bb7", 6));
        let tried = before.others.first().expect("another scale in use").clone();
        assert_ne!(tried.over, before.now, "the line has notes that tell the scales apart");
        let (place, symbol) = again.place(7).expect("on the page");
        again.scales.push(again.scale_kept(place, &symbol, Some(&tried.written)));
        let after = again.other_scales(1, 7).expect("judged").expect("a chord");
        assert_eq!((after.in_force, after.now), (tried.scale, tried.over));
    }

    #[test]
    fn a_scale_for_a_chord_that_stands_there_no_more_changes_nothing() {
        let bytes = demo::take().to_bytes();
        let mut again = again(&bytes);
        let before = again.judged().expect("judged").review;
        let (place, _) = again.place(7).expect("on the page");
        again.scales.push(again.scale_kept(place, "B7", Some("altered")));
        assert_eq!(again.judged().expect("judged").review, before);
    }

    #[test]
    fn a_bar_that_repeats_a_chord_leads_to_where_it_is_written() {
        let bytes = demo::take().to_bytes();
        let again = again(&bytes);
        let answer = again.judged().expect("judged");
        let chords = answer.review.chords.expect("chords");
        let repeated = chords.iter().find(|chord| chord.bar == 12).expect("bar 12");
        let (place, symbol) = again.place(repeated.chord_index).expect("on the page");
        assert_eq!((place, symbol.as_str()), (ChordPlace { bar: 11, chord: 1 }, "Gmaj7"));
    }
}
