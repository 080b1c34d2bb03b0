//! The take that is kept: what was played, with all that makes the file whole by itself.

use crate::chart::{Chart, Form};
use crate::take::{ChannelMessage, Imprint, TakeFile};
use crate::theory::chord::BareSymbols;
use crate::time::{Meter, Nanos, TempoMap, TickSpan, Ticks};

use super::ChordSource;

/// What was played.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Line {
    /// The messages in the order they came.
    pub solo: Vec<(Nanos, ChannelMessage)>,
    /// Stretches in which messages may be missing.
    pub gaps: Vec<(Nanos, Nanos)>,
}

/// The file of a take that says `imprint` about itself. `None` where the chart in it does not read.
pub fn take_file(imprint: &Imprint, tempo: &TempoMap, bare: BareSymbols, line: Line) -> Option<TakeFile> {
    let chords = ChordSource::of_imprint(imprint, bare)?;
    let (chart, _) = Chart::parse(&imprint.chart_name, &imprint.chart, bare).ok()?;
    let form = &chords.form;
    let starts = (0..i64::from(imprint.choruses)).map(|chorus| imprint.start() + form.length() * chorus);
    let texts = starts.clone().flat_map(|start| {
        form.chords.iter().map(move |chord| (start + (chord.start - Ticks::ZERO), chord.text.clone()))
    });
    let choruses = starts.enumerate().map(|(index, at)| (at, format!("chorus {}", index + 1)));
    let gaps = line.gaps.iter().flat_map(|&(from, until)| {
        [
            (tempo.ticks(from), "gap: notes may be missing".to_owned()),
            (tempo.ticks(until), "gap ends".to_owned()),
        ]
    });
    Some(TakeFile {
        tempo: tempo.clone(),
        meters: meters(form, imprint.start()),
        key: chart.header().key,
        markers: choruses.chain(gaps).collect(),
        chords: texts.collect(),
        solo: line.solo,
        texts: vec![imprint.to_text()],
    })
}

/// Choruses of which at least the beginning was played when a take has gone on to `at`; `None` in the count-in.
pub fn choruses_begun(imprint: &Imprint, tempo: &TempoMap, bare: BareSymbols, at: Nanos) -> Option<u32> {
    let length = ChordSource::of_imprint(imprint, bare)?.form.length();
    let since = tempo.ticks(at) - imprint.start();
    if since < TickSpan::ZERO || length <= TickSpan::ZERO {
        return None;
    }
    let begun = u32::try_from(since.0 / length.0).unwrap_or(u32::MAX).saturating_add(1);
    Some(begun.min(imprint.choruses))
}

/// The meter map of a take: from each change of meter in the first chorus on.
fn meters(form: &Form, start: Ticks) -> Vec<(Ticks, Meter)> {
    let mut meters: Vec<(Ticks, Meter)> = Vec::new();
    for bar in &form.bars {
        if meters.last().is_none_or(|&(_, meter)| meter != bar.meter) {
            let at = if meters.is_empty() { Ticks::ZERO } else { start + (bar.start - Ticks::ZERO) };
            meters.push((at, bar.meter));
        }
    }
    meters
}
