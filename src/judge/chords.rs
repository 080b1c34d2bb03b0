//! The chords a take is judged by: a chart, the chart that a take of ours carries, or the chord text of a MIDI file.

use std::collections::HashMap;
use std::ops::Range;
use std::sync::Arc;

use crate::chart::header::{MOST_CHORUSES, key_text};
use crate::chart::midi_chord_text::{CHORDS_TRACK, NoChordTexts, TextLeftOut, Trust, form_of_texts};
use crate::chart::{Chart, Feel, Form, FormBar, FormChord, Sevenths};
use crate::harmony::{self, Changes, Overrides, Reading, Region};
use crate::report::review::{ChartId, WarningRecord};
use crate::take::{Imprint, MidiFile};
use crate::theory::chord::BareSymbols;
use crate::theory::{Key, Written};
use crate::time::{TickSpan, Ticks};

use super::{KeptScales, fingerprint};

/// Chords in time with what they mean.
#[derive(Clone, Debug, PartialEq)]
pub struct ChordSource {
    /// The form.
    pub form: Form,
    /// What its chords mean.
    pub reading: Reading,
    /// The same in the key of each chorus, where the tune goes through keys; none where it stays in one.
    pub keys: Vec<Arc<Changes>>,
    /// How the review names it.
    pub id: ChartId,
    /// The feel that the chart's header asks for; `None` where there is no chart.
    pub feel: Option<Feel>,
    /// What was odd about it.
    pub warnings: Vec<WarningRecord>,
    /// The whole, where these are some bars of it.
    pub(super) whole: Option<Arc<Self>>,
}

/// Says why there are no chords to judge by.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoChords {
    /// The file has no chord text.
    #[error("the file says no chords: {}", in_file(.0))]
    InFile(#[from] NoChordTexts),
    /// The form has no bars.
    #[error("the chords take no time: nothing can be judged. Name the chart with --chart CHART")]
    Silent,
}

/// Why a file says no chords, and what to do.
fn in_file(why: &NoChordTexts) -> String {
    match why {
        NoChordTexts::Empty => format!(
            "name the chart with --chart CHART, or write the symbols as text on a track named \"{CHORDS_TRACK}\""
        ),
        NoChordTexts::TooFew { .. } | NoChordTexts::TooLong => {
            format!("{why}. Name the chart with --chart CHART")
        }
    }
}

/// Says why bars cannot be taken out of a form.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("bars {first}-{last}: the form has bars 1 to {all}")]
pub struct NoBars {
    first: usize,
    last: usize,
    all: usize,
}

impl ChordSource {
    /// A chart, read with the player's choices.
    pub fn of_chart(chart: &Chart, overrides: &Overrides) -> Self {
        let written = chart.unfold();
        let form = match written.sevenths {
            Sevenths::Assume => harmony::assume_sevenths(&written),
            Sevenths::AsWritten => written,
        };
        let reading = harmony::read(&form, overrides);
        let header = chart.header();
        let id = ChartId {
            title: chart.title().to_owned(),
            sha256: fingerprint(chart.text().as_bytes()),
            bars: form.bars.len(),
            first_bar: 1,
            meter: header.meter.to_string(),
            tempo: header.tempo.get(),
            key: header.key.map(key_text),
            keys: None,
            written: Written::C,
        };
        let feel = Some(header.feel);
        Self { form, reading, keys: Vec::new(), id, feel, warnings: Vec::new(), whole: None }
    }

    /// The chord text of a MIDI file: one long form.
    pub fn of_file(midi: &MidiFile, bare: BareSymbols) -> Result<Self, NoChords> {
        let texts = midi.chord_texts();
        let trust = if midi.has_chords_track() { Trust::NamedChords } else { Trust::Any };
        let (form, left_out) = form_of_texts(&texts, &midi.meters, midi.end_ticks, trust, bare)?;
        let reading = harmony::read(&form, &Overrides::default());
        let mut written = String::new();
        for (at, text) in &texts {
            written.extend([&at.0.to_string(), " ", text, "\n"]);
        }
        let id = ChartId {
            title: String::new(),
            sha256: fingerprint(written.as_bytes()),
            bars: form.bars.len(),
            first_bar: 1,
            meter: form.bars.first().map_or_else(String::new, |bar| bar.meter.to_string()),
            tempo: 0.0,
            key: midi.key.map(key_text),
            keys: None,
            written: Written::C,
        };
        let keys = Vec::new();
        let warnings = left_out.iter().map(left_out_text).collect();
        Ok(Self { form, reading, keys, id, feel: None, warnings, whole: None })
    }

    /// The chart that a take of ours carries, with what is kept for its chords, in the keys it was taken through; `None` where it carries none, or none that
    /// reads.
    pub fn of_imprint(imprint: &Imprint, bare: BareSymbols, kept: &KeptScales) -> Option<Self> {
        let (chart, _) = Chart::parse(&imprint.chart_name, &imprint.chart, bare).ok()?;
        let keys = imprint.keys.iter().take(MOST_CHORUSES as usize).map(|key| key.parse());
        let keys: Vec<Key> = keys.collect::<Result<_, _>>().ok()?;
        let whole = Self::through_keys(&kept.on(chart), &keys).ok()?;
        match imprint.bars {
            Some((first, last)) => whole.only_bars(first, last).ok(),
            None => Some(whole),
        }
    }

    /// Some bars of the form (first and last, from 1), which then lead back to themselves. They keep what they mean in
    /// the whole.
    pub fn only_bars(self, first: usize, last: usize) -> Result<Self, NoBars> {
        let all = self.form.bars.len();
        if first < 1 || first > last || last > all {
            return Err(NoBars { first, last, all });
        }
        let mut known: HashMap<Key, Arc<Changes>> = HashMap::new();
        let mut cut = |whole: &Arc<Changes>| {
            let cut = known.entry(whole.key).or_insert_with(|| {
                let (form, reading) = only(&whole.form, &whole.reading, first - 1..last);
                Arc::new(Changes { key: whole.key, form, reading })
            });
            Arc::clone(cut)
        };
        let keys = self.keys.iter().map(&mut cut).collect();
        let (form, reading) = only(&self.form, &self.reading, first - 1..last);
        let id = ChartId { bars: form.bars.len(), first_bar: first, ..self.id.clone() };
        let (feel, warnings) = (self.feel, self.warnings.clone());
        Ok(Self { form, reading, keys, id, feel, warnings, whole: Some(Arc::new(self)) })
    }

    /// Warns of the first bar that is in another meter by the file that a chart is laid over from `start`; nothing where
    /// they agree, or the file names none there.
    pub fn meter_warning(&self, midi: &MidiFile, start: Ticks) -> Option<WarningRecord> {
        self.form.bars.iter().find_map(|bar| {
            let at = start + (bar.start - Ticks::ZERO);
            let begun = midi.meters.partition_point(|&(from, _)| from <= at);
            let (_, of_file) = midi.meters.get(begun.checked_sub(1)?)?;
            (*of_file != bar.meter).then(|| WarningRecord {
                code: "other-meter".to_owned(),
                message: format!(
                    "bar {} is in {} by the chart, in {of_file} by the file; the chart's meter is used",
                    bar.number, bar.meter
                ),
                bar: Some(bar.number),
            })
        })
    }

    /// How often a looping form is gone through from `start` to the last note, which may ring over the end without
    /// beginning another chorus; once where the form does not loop.
    pub fn choruses_until(&self, last_strike: Ticks, start: Ticks) -> u32 {
        let length = self.form.length();
        if !self.form.loops || length <= TickSpan::ZERO {
            return 1;
        }
        let choruses = (last_strike - start).0.div_euclid(length.0) + 1;
        u32::try_from(choruses).unwrap_or(1).clamp(1, MOST_CHORUSES)
    }
}

/// The bars of a span, with what their chords mean in the whole.
fn only(form: &Form, reading: &Reading, span: Range<usize>) -> (Form, Reading) {
    let kept: Vec<usize> = (0..form.chords.len()).filter(|&i| span.contains(&form.chords[i].bar)).collect();
    let from = form.bars[span.start].start;
    let bars = form.bars[span.clone()].iter();
    let bars = bars.map(|bar| FormBar { start: Ticks::ZERO + (bar.start - from), ..bar.clone() }).collect();
    let chord = |&index: &usize| {
        let chord = &form.chords[index];
        let start = Ticks::ZERO + (chord.start - from);
        FormChord { bar: chord.bar - span.start, start, ..chord.clone() }
    };
    let chords = kept.iter().map(chord).collect();
    let reading = Reading {
        regions: regions_within(&reading.regions, &kept),
        chords: kept.iter().map(|&index| reading.chords[index].clone()).collect(),
        ..*reading
    };
    (Form { bars, chords, loops: true, sevenths: form.sevenths }, reading)
}

/// The regions cut to the chords that are kept, which stand without a gap.
fn regions_within(regions: &[Region], kept: &[usize]) -> Vec<Region> {
    let (Some(&first), Some(&last)) = (kept.first(), kept.last()) else { return Vec::new() };
    let within = regions.iter().filter(|region| region.last >= first && region.first <= last);
    let cut = |region: &Region| Region {
        first: region.first.max(first) - first,
        last: region.last.min(last) - first,
        ..region.clone()
    };
    within.map(cut).collect()
}

fn left_out_text(text: &TextLeftOut) -> WarningRecord {
    WarningRecord { code: "text-left-out".to_owned(), message: text.to_string(), bar: Some(text.bar) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::take::TakeFile;

    fn source(text: &str) -> ChordSource {
        let (chart, _) = Chart::parse("chart", text, BareSymbols::default()).expect("a chart");
        ChordSource::of_chart(&chart, &Overrides::default())
    }

    #[test]
    fn a_file_in_another_meter_is_warned_of_by_its_first_such_bar() {
        let check = |chart: &str, meters: &[(i64, &str)], expect: Option<&str>| {
            let meters = meters
                .iter()
                .map(|&(quarters, meter)| {
                    (Ticks::ZERO + TickSpan::quarters(quarters), meter.parse().expect("a meter"))
                })
                .collect();
            let bytes = TakeFile { meters, ..TakeFile::default() }.to_bytes();
            let midi = MidiFile::parse(&bytes).expect("a file");
            let warned = source(chart).meter_warning(&midi, Ticks::ZERO);
            assert_eq!(warned.map(|warning| warning.message).as_deref(), expect, "{chart}");
        };
        let waltz = "meter: 3/4\n| Dm7 | G7 |";
        check(waltz, &[(0, "3/4")], None);
        check(waltz, &[], None);
        let first = "bar 1 is in 3/4 by the chart, in 4/4 by the file; the chart's meter is used";
        check(waltz, &[(0, "4/4")], Some(first));
        let second = "bar 2 is in 3/4 by the chart, in 4/4 by the file; the chart's meter is used";
        check("| Dm7 | 3/4 G7 |", &[(0, "4/4")], Some(second));
        check("| Dm7 | 3/4 G7 |", &[(0, "4/4"), (4, "3/4")], None);
    }

    #[test]
    fn a_chorus_begins_with_a_note_struck_in_it() {
        let chords = source("| Dm7 | G7 | Cmaj7 | % |");
        let choruses = |last: i64| chords.choruses_until(Ticks(last), Ticks::ZERO);
        let length = chords.form.length().0;
        assert_eq!([choruses(0), choruses(length - 1), choruses(length)], [1, 1, 2]);
    }
}
