//! Strokes: each note-on with its end, before any judgement.

use super::bend_range::{BendState, CurvePoint};
use super::{CleanSettings, Timeline};
use crate::take::message::{Meaning, TimedMessage};
use crate::take::note::LeftOut;
use crate::take::warning::Warning;
use crate::time::{NanoSpan, Nanos, TickSpan, Ticks};

/// A note-on of the same key and channel this soon after the last is no new note (our choice; no finger is so fast).
const RETRIGGER: NanoSpan = NanoSpan::millis(50);
/// How many bars a note that is never let go may last (our choice).
const STUCK_BARS: i64 = 2;

/// One note-on.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stroke {
    pub on: Nanos,
    /// When it was let go; `None` until it is.
    pub let_go: Option<Nanos>,
    /// Its end: `let_go`, or the end that [`close`] gave it.
    pub off: Nanos,
    pub ticks: Ticks,
    pub key: u8,
    pub velocity: u8,
    pub channel: u8,
    /// Cents the channel was bent by when it was struck.
    pub bent_by: f32,
    /// Index of the first later point of the channel's curve.
    pub curve_from: u32,
    /// Index of the last stroke of the same key and channel that is no re-trigger.
    pub before: Option<u32>,
    pub left_out: Option<LeftOut>,
}

impl Stroke {
    pub fn length(&self) -> NanoSpan {
        self.off - self.on
    }
}

/// The bend curves of the sixteen channels.
pub(super) type Curves = [Vec<CurvePoint>; 16];

/// The last stroke of each key of each channel: its index plus one, 0 where there is none.
type LastStrokes = [[u32; 128]; 16];

struct Collector {
    strokes: Vec<Stroke>,
    last: Box<LastStrokes>,
    bends: BendState,
    mark_retriggers: bool,
}

/// Walks through the messages once. Note-off, note-on of velocity 0, all notes off and the next stroke of the same
/// key end a stroke; sustain and sostenuto pedals do not lengthen it.
pub(super) fn collect(messages: &[TimedMessage], settings: &CleanSettings) -> (Vec<Stroke>, Curves) {
    let mut collector = Collector {
        strokes: Vec::with_capacity(messages.len() / 2),
        last: Box::new([[0; 128]; 16]),
        bends: BendState::new(settings.bend_range),
        mark_retriggers: settings.ghost_filter == super::GhostFilter::On,
    };
    for timed in messages {
        let channel = timed.message.channel();
        match timed.message.meaning() {
            Meaning::NoteOn { key, velocity } => collector.strike(timed, channel, key, velocity),
            Meaning::NoteOff { key } => collector.let_go(timed.at, channel, key),
            // All sound off, all notes off; the mode messages above them imply it (MIDI 1.0).
            Meaning::Control { controller: 120 | 123..=127, .. } => collector.let_all_go(timed.at, channel),
            Meaning::Control { controller, value } => {
                collector.bends.control(timed.at, channel, controller, value);
            }
            Meaning::Bend(value) => collector.bends.bend(timed.at, channel, value),
            Meaning::Other => {}
        }
    }
    (collector.strokes, collector.bends.into_curves())
}

impl Collector {
    fn strike(&mut self, timed: &TimedMessage, channel: u8, key: u8, velocity: u8) {
        let on = timed.at;
        let last = self.last(channel, key).map(|last| *last);
        let again = last.is_some_and(|last| on - last.on < RETRIGGER);
        let left_out = (again && self.mark_retriggers).then_some(LeftOut::Retrigger);
        let before = match last {
            Some(last) if last.left_out.is_some() => last.before,
            _ => self.number(channel, key).checked_sub(1),
        };
        if left_out.is_none() {
            self.let_go(on, channel, key);
        }
        let (bent_by, curve_from) = self.bends.now(channel);
        self.strokes.push(Stroke {
            on,
            let_go: None,
            off: on,
            ticks: timed.ticks,
            key,
            velocity,
            channel,
            bent_by,
            curve_from,
            before,
            left_out,
        });
        self.last[usize::from(channel)][usize::from(key)] = self.strokes.len() as u32;
    }

    fn last(&mut self, channel: u8, key: u8) -> Option<&mut Stroke> {
        let index = self.number(channel, key).checked_sub(1)?;
        self.strokes.get_mut(index as usize)
    }

    fn number(&self, channel: u8, key: u8) -> u32 {
        self.last[usize::from(channel)][usize::from(key)]
    }

    /// Ends the sounding stroke of a key. A re-trigger goes on sounding the stroke before it, which ends with it.
    fn let_go(&mut self, at: Nanos, channel: u8, key: u8) {
        let Some(&mut stroke) = self.last(channel, key) else {
            return;
        };
        if stroke.let_go.is_some() || self.is_meant_for_the_one_before(&stroke, at) {
            return;
        }
        if let Some(stroke) = self.last(channel, key) {
            stroke.let_go = Some(at);
        }
        if let (Some(LeftOut::Retrigger), Some(first)) = (stroke.left_out, stroke.before) {
            self.strokes[first as usize].let_go = Some(at);
        }
    }

    /// Files may put a note-off behind the next note-on of its key at the same instant.
    fn is_meant_for_the_one_before(&self, stroke: &Stroke, at: Nanos) -> bool {
        let before = stroke.before.map(|before| &self.strokes[before as usize]);
        stroke.on == at && before.is_some_and(|before| before.let_go == Some(at))
    }

    fn let_all_go(&mut self, at: Nanos, channel: u8) {
        for key in 0..128 {
            self.let_go(at, channel, key);
        }
    }
}

/// Gives every stroke its end. One that was never let go ends with the next of its channel where a channel has one
/// voice, else after two bars or with the take; for these a warning is returned.
pub(super) fn close(strokes: &mut [Stroke], mono_channels: u16, timeline: Timeline<'_>) -> Option<Warning> {
    let mut next_on: [Option<Nanos>; 16] = [None; 16];
    let (mut stuck, mut first_ms) = (0, 0);
    for stroke in strokes.iter_mut().rev() {
        let channel = usize::from(stroke.channel);
        stroke.off = stroke.let_go.unwrap_or_else(|| {
            let latest = latest_end(stroke, timeline);
            let damped = next_on[channel].filter(|&next| mono_channels >> channel & 1 == 1 && next <= latest);
            if damped.is_none() && stroke.left_out.is_none() {
                stuck += 1;
                first_ms = stroke.on.in_millis() as i64;
            }
            damped.unwrap_or(latest)
        });
        next_on[channel] = Some(stroke.on);
    }
    (stuck > 0).then_some(Warning::StuckNotes { notes: stuck, first_ms })
}

/// Two bars after the stroke, or the end of the take if that comes first.
fn latest_end(stroke: &Stroke, timeline: Timeline<'_>) -> Nanos {
    let bars = TickSpan(timeline.meter(stroke.ticks).bar().0 * STUCK_BARS);
    let after_bars = timeline.tempo.nanos(stroke.ticks + bars);
    after_bars.min(timeline.end).max(stroke.on)
}
