//! Sounding time: shares by duration, and rests.

use crate::take::LeftOut;
use crate::time::{NanoSpan, Nanos};

use super::judged::{Class, Judged};
use super::stage::Stage;

/// Bars a note counts for at most, however long it is held.
const LONGEST_BARS: i64 = 2;

/// Sounding time in each class, in nanoseconds times the note's weight.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct ByDuration {
    sums: [f64; 4],
}

impl ByDuration {
    fn add(&mut self, class: Option<Class>, span: NanoSpan, note: &Judged) {
        if let Some(class) = class {
            self.sums[class as usize] += span.0 as f64 * note.weight.notes();
        }
    }

    /// The share of a class in all sounding time; 0 when nothing sounds.
    pub fn share(&self, class: Class) -> f64 {
        let all: f64 = self.sums.iter().sum();
        if all > 0.0 { self.sums[class as usize] / all } else { 0.0 }
    }
}

/// Adds up sounding time by class. A note counts whole for its own chord; one that sounds more than half a beat past a
/// later change is split there.
pub fn by_duration(judged: &[Judged], stage: &Stage<'_>) -> ByDuration {
    let mut sums = ByDuration::default();
    for note in judged {
        let Some((class, visit)) = note.class.zip(note.visit) else { continue };
        let longest = note.timing.bar * LONGEST_BARS;
        let end = note.timing.on + note.timing.length.min(longest);
        let (mut from, mut class, mut visit) = (note.timing.on, Some(class), visit);
        while let Some(change) =
            stage.next_change(visit).filter(|&next| is_split(stage.visits()[next].on, end, note))
        {
            let at = stage.visits()[change].on;
            sums.add(class, at - from, note);
            (from, class, visit) = (at, class_over(note, change, stage), change);
        }
        sums.add(class, end - from, note);
    }
    sums
}

fn is_split(change: Nanos, end: Nanos, note: &Judged) -> bool {
    let half_a_beat = NanoSpan(note.timing.beat.0 / 2);
    end - change > half_a_beat
}

/// The layer of a held note over a chord that came while it sounded; `None` over N.C.
fn class_over(note: &Judged, visit: usize, stage: &Stage<'_>) -> Option<Class> {
    stage.layers(visit).map(|layers| layers.class_of(note.note.pitch.pitch_class()))
}

/// How much of the form was silent. A fact, never part of a verdict.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rests {
    /// Beats of silence, counting silences of half a beat or more.
    pub beats: f64,
    /// Beats of the player's bars, all choruses.
    pub of: f64,
    /// The longest stretch without such a silence, in beats.
    pub longest_run: f64,
}

/// The shortest silence that is a rest, in beats.
const SHORTEST_REST_BEATS: f64 = 0.5;

/// Finds the rests between the first bar and the end of the last.
pub fn rests(judged: &[Judged], stage: &Stage<'_>) -> Rests {
    let clock = BeatClock::of(stage);
    rests_between(judged, &clock, 0.0, clock.end())
}

/// Finds the rests of each chorus by itself: a silence over the barline between two is shared between them.
pub fn rests_of_choruses(judged: &[Judged], stage: &Stage<'_>) -> Vec<Rests> {
    let clock = BeatClock::of(stage);
    let laid = stage.laid();
    let begins = |chorus: u32| {
        let at = laid.start + laid.form.length() * i64::from(chorus);
        clock.beat(laid.tempo.nanos(at)).min(clock.end())
    };
    (0..laid.choruses)
        .map(|before| rests_between(judged, &clock, begins(before), begins(before + 1)))
        .collect()
}

/// Finds the rests between two beats.
fn rests_between(judged: &[Judged], clock: &BeatClock, from: f64, until: f64) -> Rests {
    let mut rests = Rests { beats: 0.0, of: until - from, longest_run: 0.0 };
    let (mut silent_from, mut run_from) = (from, from);
    let struck = judged.iter().filter(|j| !matches!(j.left_out(), Some(LeftOut::Ghost | LeftOut::Retrigger)));
    let spans = struck.map(|j| (clock.beat(j.note.on), clock.beat(j.note.off)));
    for (on, off) in spans.chain([(until, until)]) {
        let (on, off) = (on.clamp(from, until), off.clamp(from, until));
        if on - silent_from >= SHORTEST_REST_BEATS {
            rests.beats += on - silent_from;
            rests.longest_run = rests.longest_run.max(silent_from - run_from);
            run_from = on;
        }
        silent_from = f64::max(silent_from, off);
    }
    rests.longest_run = rests.longest_run.max(silent_from - run_from);
    rests
}

/// Counts beats from the first barline, each in its own meter; in bars that are not the player's it stands still.
struct BeatClock {
    /// When each bar begins, the beats before it, and the beats in it; the end last.
    bars: Vec<(Nanos, f64, f64)>,
}

impl BeatClock {
    fn of(stage: &Stage<'_>) -> Self {
        let mut before = 0.0;
        let mut bars: Vec<(Nanos, f64, f64)> = stage
            .beats_of_bars()
            .map(|(at, beats)| {
                let bar = (at, before, beats);
                before += bar.2;
                bar
            })
            .collect();
        bars.push((stage.bounds().1, before, 0.0));
        Self { bars }
    }

    fn end(&self) -> f64 {
        self.bars.last().map_or(0.0, |bar| bar.1)
    }

    fn beat(&self, at: Nanos) -> f64 {
        let next = self.bars.partition_point(|bar| bar.0 <= at);
        let (Some(bar), Some(after)) = (next.checked_sub(1).map(|i| self.bars[i]), self.bars.get(next))
        else {
            return if next == 0 { 0.0 } else { self.end() };
        };
        let part = (at - bar.0).0 as f64 / (after.0 - bar.0).0.max(1) as f64;
        bar.1 + part * bar.2
    }
}
