//! From what was played to the take that is kept: the messages as they came, the chords they were played over, and all
//! that makes the file whole by itself.

use crate::chart::{Chart, Form};
use crate::take::{ChannelMessage, Imprint, TakeFile};
use crate::time::{Nanos, TickSpan, Ticks};

use super::plan::{Gap, Played, Stopped};

/// What a take was played over.
#[derive(Clone, Copy, Debug)]
pub struct PlayedOver<'a> {
    /// The chart as it was played: in the key of the take.
    pub chart: &'a Chart,
    /// The form of one chorus.
    pub form: &'a Form,
    /// Choruses that were to be played.
    pub choruses: u16,
    /// The bars of the form that were played, first and last from 1, if not all.
    pub bars: Option<(usize, usize)>,
    /// The settings of the day that could change a figure.
    pub settings: &'a serde_json::Map<String, serde_json::Value>,
}

impl Played {
    /// The take as it is kept. `None` where bar 1 was never reached: there is nothing to judge.
    pub fn take_file(&self, over: PlayedOver<'_>) -> Option<TakeFile> {
        let start = Ticks::ZERO + self.count_in;
        let choruses = self.choruses_begun(over.form, over.choruses)?;
        let imprint = Imprint {
            version: 1,
            chart: over.chart.text().to_owned(),
            chart_name: over.chart.name().to_owned(),
            count_in_ticks: self.count_in.0,
            choruses: u32::from(choruses),
            bars: over.bars,
            settings: over.settings.clone(),
        };
        let starts = (0..i64::from(choruses)).map(|chorus| start + over.form.length() * chorus);
        let chords = starts.clone().flat_map(|start| {
            let chords = over.form.chords.iter();
            chords.map(move |chord| (start + (chord.start - Ticks::ZERO), chord.text.clone()))
        });
        let solo = self
            .messages
            .iter()
            .filter_map(|stamped| Some((stamped.at, ChannelMessage::from_wire(stamped.message.bytes())?)));
        Some(TakeFile {
            tempo: self.tempo.clone(),
            meters: meters(over.form, start),
            key: over.chart.header().key,
            markers: starts
                .enumerate()
                .map(|(index, at)| (at, format!("chorus {}", index + 1)))
                .chain(self.gaps.iter().flat_map(|gap| self.gap_markers(*gap)))
                .collect(),
            chords: chords.collect(),
            solo: solo.collect(),
            texts: vec![imprint.to_text()],
        })
    }

    fn gap_markers(&self, gap: Gap) -> [(Ticks, String); 2] {
        let from = (self.tempo.ticks(gap.from), "gap: notes may be missing".to_owned());
        [from, (self.tempo.ticks(gap.until), "gap ends".to_owned())]
    }

    /// Choruses of which at least the beginning was played.
    fn choruses_begun(&self, form: &Form, planned: u16) -> Option<u16> {
        let begun = |at: Nanos| {
            let since = self.tempo.ticks(at) - (Ticks::ZERO + self.count_in);
            let chorus = since.0.div_euclid(form.length().0.max(1)) + 1;
            u16::try_from(chorus).ok().filter(|&chorus| since >= TickSpan::ZERO && chorus > 0)
        };
        match self.stopped {
            Stopped::AtTheEnd => Some(planned),
            Stopped::AfterChorus(chorus) => Some(chorus),
            Stopped::Now(at) | Stopped::Interrupted(at) => begun(at).map(|chorus| chorus.min(planned)),
        }
    }
}

/// The meter map of a take: from each change of meter in the first chorus on.
fn meters(form: &Form, start: Ticks) -> Vec<(Ticks, crate::time::Meter)> {
    let mut meters: Vec<(Ticks, crate::time::Meter)> = Vec::new();
    for bar in &form.bars {
        if meters.last().is_none_or(|&(_, meter)| meter != bar.meter) {
            let at = if meters.is_empty() { Ticks::ZERO } else { start + (bar.start - Ticks::ZERO) };
            meters.push((at, bar.meter));
        }
    }
    meters
}
