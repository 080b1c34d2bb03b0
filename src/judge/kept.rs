//! The take that is kept: what was played, with all that makes the file whole by itself.

use crate::chart::{Chart, Head, Trade, Turns};
use crate::harmony::Changes;
use crate::report::review::WarningRecord;
use crate::take::midi_file::TextKind;
use crate::take::{ChannelMessage, Imprint, MidiFile, TakeFile};
use crate::tally::Stage;
use crate::tally::stage::{Hints, Place};
use crate::theory::chord::BareSymbols;
use crate::time::{Nanos, TempoMap, TickSpan, Ticks};

use super::{ChordSource, KeptScales};

/// What was played.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Line {
    /// The messages in the order they came.
    pub solo: Vec<(Nanos, ChannelMessage)>,
    /// Stretches in which messages may be missing.
    pub gaps: Vec<(Nanos, Nanos)>,
}

/// The markers around a stretch in which messages may be missing.
const GAP: &str = "gap: notes may be missing";
const GAP_ENDS: &str = "gap ends";

/// The stretches in which a take may have missed something.
pub fn gaps(midi: &MidiFile) -> Vec<(Ticks, Ticks)> {
    let mut gaps = Vec::new();
    let mut from = None;
    let markers = midi.tracks.iter().flat_map(|track| &track.texts);
    for marker in markers.filter(|text| text.kind == TextKind::Marker) {
        match marker.text.as_str() {
            GAP => from = Some(marker.at),
            GAP_ENDS => gaps.extend(from.take().map(|from| (from, marker.at))),
            _ => {}
        }
    }
    gaps
}

/// What a review says of the stretches in which a take may have missed something.
pub fn gap_warnings(midi: &MidiFile, stage: &Stage<'_>) -> Vec<WarningRecord> {
    let at = |tick| midi.tempo.nanos(tick);
    gaps(midi).into_iter().map(|(from, until)| gap_warning(at(from), at(until), stage)).collect()
}

fn gap_warning(from: Nanos, until: Nanos, stage: &Stage<'_>) -> WarningRecord {
    let (first, last) = (place_words(from, stage), place_words(until, stage));
    let stretch = if first == last { format!("in {first}") } else { format!("from {first} to {last}") };
    WarningRecord {
        code: WarningRecord::GAP.to_owned(),
        message: format!(
            "An input was gone {stretch}: notes may be missing there, and its silence counts as rest."
        ),
        bar: bar_at(from, stage),
    }
}

/// What a review says of a take that was stopped before its end.
pub fn stopped_warning(midi: &MidiFile, stage: &Stage<'_>) -> Option<WarningRecord> {
    let at = midi.tempo.nanos(stage.laid().until?);
    let place = place_words(at, stage);
    Some(WarningRecord {
        code: WarningRecord::STOPPED.to_owned(),
        message: format!("Stopped in {place}: what was not played is not counted."),
        bar: bar_at(at, stage),
    })
}

/// `bar 3 of chorus 2`, the chorus where there are several.
fn place_words(at: Nanos, stage: &Stage<'_>) -> String {
    if at < stage.bounds().0 {
        return "the count-in".to_owned();
    }
    let Place { bar, chorus, .. } = stage.spot(at, &mut Hints::default()).place;
    if stage.laid().choruses == 1 { format!("bar {bar}") } else { format!("bar {bar} of chorus {chorus}") }
}

/// The number of the bar at an instant; of the first one before it.
fn bar_at(at: Nanos, stage: &Stage<'_>) -> Option<usize> {
    usize::try_from(stage.spot(at.max(stage.bounds().0), &mut Hints::default()).place.bar).ok()
}

/// The file of a take that says `imprint` about itself. `None` where the chart in it does not read.
pub fn take_file(imprint: &Imprint, tempo: &TempoMap, bare: BareSymbols, line: Line) -> Option<TakeFile> {
    let chords = ChordSource::of_imprint(imprint, bare, &KeptScales::default())?;
    let (chart, _) = Chart::parse(&imprint.chart_name, &imprint.chart, bare).ok()?;
    let form = &chords.form;
    let choruses = 1..=imprint.choruses;
    let starts = choruses.map(|chorus| (chorus, imprint.start() + form.length() * i64::from(chorus - 1)));
    let changes = |chorus| Changes::of_chorus(&chords.keys, chorus);
    let texts = starts.clone().flat_map(|(chorus, start)| {
        let form = changes(chorus).map_or(form, |changes| &changes.form);
        form.chords.iter().map(move |chord| (start + (chord.start - Ticks::ZERO), chord.text.clone()))
    });
    let choruses = starts.clone().map(|(chorus, at)| (at, Changes::marker(&chords.keys, chorus)));
    let keys = starts.skip(1).filter_map(|(chorus, at)| Some((at, changes(chorus)?.key)));
    let gaps = line.gaps.iter().flat_map(|&(from, until)| {
        [(tempo.ticks(from), GAP.to_owned()), (tempo.ticks(until), GAP_ENDS.to_owned())]
    });
    Some(TakeFile {
        tempo: tempo.clone(),
        meters: form.meters_from(imprint.start()),
        key: changes(1).map(|changes| changes.key).or(chart.header().key),
        keys: keys.collect(),
        markers: choruses.chain(gaps).collect(),
        chords: texts.collect(),
        solo: line.solo,
        texts: vec![imprint.to_text()],
        parts: Vec::new(),
    })
}

/// What a review says where a take went through keys and is judged by chords that stay in one.
pub fn one_key_warning(imprint: &Imprint, chords: &ChordSource) -> Option<WarningRecord> {
    let in_one = !imprint.keys.is_empty() && chords.keys.is_empty();
    in_one.then(|| WarningRecord {
        code: "one-key".to_owned(),
        message: "The take went through keys and is judged by chords that stay in one; without --chart each \
                  chorus is judged in its key."
            .to_owned(),
        bar: None,
    })
}

/// Whose bars are whose in a take that says `imprint` about itself.
pub fn turns(imprint: &Imprint) -> Turns {
    Turns { head: imprint.head.and_then(Head::around), trade: imprint.trade.and_then(Trade::of) }
}

/// Choruses of which at least the beginning was played when a take has gone on to `at`; `None` in the count-in.
pub fn choruses_begun(imprint: &Imprint, tempo: &TempoMap, bare: BareSymbols, at: Nanos) -> Option<u32> {
    let length = ChordSource::of_imprint(imprint, bare, &KeptScales::default())?.form.length();
    let since = tempo.ticks(at) - imprint.start();
    if since < TickSpan::ZERO || length <= TickSpan::ZERO {
        return None;
    }
    let begun = u32::try_from(since.0 / length.0).unwrap_or(u32::MAX).saturating_add(1);
    Some(begun.min(imprint.choruses))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::{Choices, Question, judge};
    use crate::report::review::Detail;

    const CHART: &str = "| F7 | Bb7 |\n";

    /// Warnings about a take of two bars, played `choruses` times from 2 s on, that was deaf between two instants in
    /// milliseconds.
    fn warnings(
        choruses: u32,
        bars: Option<(usize, usize)>,
        gap: (i64, i64),
    ) -> Vec<(String, Option<usize>)> {
        let imprint = Imprint {
            chart: CHART.to_owned(),
            chart_name: "two.bars".to_owned(),
            count_in_ticks: TickSpan::quarters(4).0,
            choruses,
            bars,
            ..Imprint::default()
        };
        let at = |millis: i64| Nanos(millis * 1_000_000);
        let line = Line { solo: Vec::new(), gaps: vec![(at(gap.0), at(gap.1))] };
        let file =
            take_file(&imprint, &TempoMap::at_bpm(120.0), BareSymbols::default(), line).expect("a take");
        let choices = Choices::default();
        let question =
            Question { choices: &choices, chart: None, track: None, detail: Detail::Totals, bands: None };
        let answer = judge(&file.to_bytes(), None, question).expect("a review");
        answer.review.warnings.into_iter().map(|warning| (warning.message, warning.bar)).collect()
    }

    fn check(found: &[(String, Option<usize>)], stretch: &str, bar: usize) {
        let message = format!(
            "An input was gone {stretch}: notes may be missing there, and its silence counts as rest."
        );
        assert_eq!(found, [(message, Some(bar))]);
    }

    #[test]
    fn a_gap_is_told_by_its_bars() {
        check(&warnings(1, None, (2_500, 5_000)), "from bar 1 to bar 2", 1);
        check(&warnings(3, None, (5_000, 6_500)), "from bar 2 of chorus 1 to bar 1 of chorus 2", 2);
        check(&warnings(1, None, (4_100, 4_900)), "in bar 2", 2);
        check(&warnings(1, Some((2, 2)), (500, 3_000)), "from the count-in to bar 2", 2);
    }
}
