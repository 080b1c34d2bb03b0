//! Where a bend curve stays: settled stretches and vibrato.

use std::collections::VecDeque;
use std::ops::Range;

use super::super::bend_range::CurvePoint;
use super::super::stroke::Stroke;
use crate::time::{NanoSpan, Nanos};

/// How wide a settled stretch is at most: 20 cents to either side of its middle.
const SETTLED_WIDTH: f32 = 40.0;
/// How wide vibrato is at most: less than 60 cents to either side.
const VIBRATO_WIDTH: f32 = 119.99;
/// A move of this many cents is a swing, and this many swings in a row are vibrato: up, down, up.
const SWING_CENTS: f32 = 20.0;
const VIBRATO_SWINGS: usize = 3;

/// A stretch of one bend value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Step {
    pub from: Nanos,
    pub to: Nanos,
    pub cents: f32,
}

/// A stretch heard as one pitch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Settled {
    pub from: Nanos,
    pub length: NanoSpan,
    pub cents: f64,
}

/// Writes the bend values under a stroke into `steps`: that at its onset, then those of the points before its end.
pub(super) fn steps_of(stroke: &Stroke, later: &[CurvePoint], steps: &mut Vec<Step>) {
    steps.clear();
    let (mut from, mut cents) = (stroke.on, stroke.bent_by);
    for point in later.iter().take_while(|point| point.at < stroke.off) {
        if point.at > from {
            let to = point.at;
            steps.push(Step { from, to, cents });
        }
        (from, cents) = (point.at, point.cents);
    }
    let to = stroke.off;
    steps.push(Step { from, to, cents });
}

/// How long steps last together.
pub(super) fn length(steps: &[Step]) -> NanoSpan {
    match (steps.first(), steps.last()) {
        (Some(first), Some(last)) => last.to - first.from,
        _ => NanoSpan::ZERO,
    }
}

/// The mean of the steps' cents, each weighing as long as it lasts.
pub(super) fn mean(steps: &[Step]) -> f64 {
    let weighted = steps.iter().map(|step| (step.to - step.from).0 as f64 * f64::from(step.cents));
    weighted.sum::<f64>() / (length(steps).0.max(1)) as f64
}

/// How many steps from the first on stay settled together.
pub(super) fn settled_start(steps: &[Step]) -> usize {
    let (mut low, mut high) = (f32::INFINITY, f32::NEG_INFINITY);
    let leaves = steps.iter().position(|step| {
        (low, high) = (low.min(step.cents), high.max(step.cents));
        high - low > SETTLED_WIDTH
    });
    leaves.unwrap_or(steps.len())
}

/// The longest stretch heard as one pitch, vibrato or steady; the earlier of two as long. `None` without steps.
pub(super) fn settle(steps: &[Step]) -> Option<Settled> {
    let steady = &steps[longest_within(steps, SETTLED_WIDTH)?];
    let swinging = &steps[longest_within(steps, VIBRATO_WIDTH)?];
    let vibrato = length(swinging) > length(steady) && swings(swinging) >= VIBRATO_SWINGS;
    let (stretch, cents) = if vibrato { (swinging, vibrato_cents(swinging)) } else { (steady, mean(steady)) };
    Some(Settled { from: stretch.first()?.from, length: length(stretch), cents })
}

/// The pitch of a vibrato: its mean where that is on a semitone; else its lowest point, for a finger on a string
/// only bends upwards (common practice).
fn vibrato_cents(steps: &[Step]) -> f64 {
    let mean = mean(steps);
    let lowest = steps.iter().map(|step| step.cents).fold(f32::INFINITY, f32::min);
    match super::semitones(mean) {
        Some(_) => mean,
        None => (f64::from(lowest) / 100.0).round() * 100.0,
    }
}

/// How often the bend turns and moves on by a swing.
fn swings(steps: &[Step]) -> usize {
    let mut turn = steps.first().map_or(0.0, |step| step.cents);
    let (mut rising, mut count) = (None, 0);
    for step in steps {
        let moved = step.cents - turn;
        match rising {
            Some(true) if moved > 0.0 => turn = step.cents,
            Some(false) if moved < 0.0 => turn = step.cents,
            _ if moved.abs() >= SWING_CENTS => {
                (rising, turn) = (Some(moved > 0.0), step.cents);
                count += 1;
            }
            _ => {}
        }
    }
    count
}

/// The longest run of steps whose values lie at most `width` apart: one pass, with the candidates for the lowest and
/// the highest value kept in order.
fn longest_within(steps: &[Step], width: f32) -> Option<Range<usize>> {
    let (mut lows, mut highs) = (VecDeque::new(), VecDeque::new());
    let mut start = 0;
    let mut best: Option<Range<usize>> = None;
    for (index, step) in steps.iter().enumerate() {
        while lows.back().is_some_and(|&low: &usize| steps[low].cents >= step.cents) {
            lows.pop_back();
        }
        while highs.back().is_some_and(|&high: &usize| steps[high].cents <= step.cents) {
            highs.pop_back();
        }
        lows.push_back(index);
        highs.push_back(index);
        while steps[highs[0]].cents - steps[lows[0]].cents > width {
            start += 1;
            for candidates in [&mut lows, &mut highs] {
                if candidates[0] < start {
                    candidates.pop_front();
                }
            }
        }
        let longer = |best: &Range<usize>| length(&steps[start..=index]) > length(&steps[best.clone()]);
        if best.as_ref().is_none_or(longer) {
            best = Some(start..index + 1);
        }
    }
    best
}
