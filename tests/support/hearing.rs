//! What is heard in frames of sound, by means that know nothing of how they were made: loudness, onsets, pitch.

use std::collections::VecDeque;

use rustfft::FftPlanner;
use rustfft::num_complex::Complex;

/// Decibels of a ratio of amplitudes.
pub fn decibels(ratio: f64) -> f64 {
    20.0 * ratio.max(1e-12).log10()
}

/// Root mean square, in decibels below full scale.
pub fn rms_decibels(frames: &[f32]) -> f64 {
    let mean = frames.iter().map(|&sample| f64::from(sample).powi(2)).sum::<f64>() / frames.len() as f64;
    decibels(mean.sqrt())
}

/// The largest sample, as a share of full scale.
pub fn peak(frames: &[f32]) -> f32 {
    frames.iter().fold(0.0, |peak, sample| peak.max(sample.abs()))
}

/// The largest difference between a sample and the next.
pub fn largest_jump(frames: &[f32]) -> f32 {
    frames.windows(2).fold(0.0, |largest, pair| largest.max((pair[1] - pair[0]).abs()))
}

/// The spectrum of frames under a Hann window, filled up with silence to `size`: heights from 0 Hz to half the rate.
fn spectrum(frames: &[f32], size: usize) -> Vec<f64> {
    let window = |i: usize| {
        let turn = std::f64::consts::TAU * (i as f64 + 0.5) / frames.len() as f64;
        0.5 - 0.5 * turn.cos()
    };
    let windowed = frames.iter().enumerate().map(|(i, &sample)| f64::from(sample) * window(i));
    let mut buffer: Vec<Complex<f64>> = windowed.map(|sample| Complex::new(sample, 0.0)).collect();
    buffer.resize(size, Complex::default());
    FftPlanner::new().plan_fft_forward(size).process(&mut buffer);
    buffer[..size / 2].iter().map(|bin| bin.norm()).collect()
}

/// Loudness as the ear weighs it: root mean square after A-weighting (IEC 61672-1, annex E), in decibels.
pub fn weighted_decibels(frames: &[f32], rate: u32) -> f64 {
    let size = frames.len().next_power_of_two();
    let mut buffer: Vec<Complex<f64>> =
        frames.iter().map(|&sample| Complex::new(f64::from(sample), 0.0)).collect();
    buffer.resize(size, Complex::default());
    FftPlanner::new().plan_fft_forward(size).process(&mut buffer);
    let power = |bin: usize| {
        let hertz = bin as f64 * f64::from(rate) / size as f64;
        buffer[bin].norm_sqr() * weight(hertz).powi(2)
    };
    let sum: f64 = (1..size / 2).map(power).sum();
    // By Parseval; the other half of the spectrum has as much again.
    decibels((2.0 * sum / size as f64 / frames.len() as f64).sqrt())
}

fn weight(hertz: f64) -> f64 {
    let square = hertz * hertz;
    let low = (square + 20.598_997_f64.powi(2)).recip();
    let middle = ((square + 107.652_65_f64.powi(2)) * (square + 737.862_23_f64.powi(2))).sqrt().recip();
    let high = (square + 12_194.217_f64.powi(2)).recip();
    12_194.217_f64.powi(2) * square * square * low * middle * high * 10.0_f64.powf(2.0 / 20.0)
}

/// How an attack is told from what rings on.
#[derive(Clone, Copy, Debug)]
pub struct Attack {
    /// How many times the greatest energy of the 25 ms before it has, the last 2 ms left out.
    pub rise: f64,
    /// What share of the greatest energy of all it has.
    pub floor: f64,
}

/// Where notes begin, in frames: where the energy of what is high in the sound, taken over a millisecond, comes to that
/// of an attack. No two begin within 40 ms. What is high is what a filter of two poles lets pass above 2 kHz.
///
/// The stretch before is as long as a period of the lowest note, so that what comes back in each period is no attack.
pub fn onsets(frames: &[f32], rate: u32, attack: Attack) -> Vec<usize> {
    let millis = |count: usize| count * rate as usize / 1_000;
    let energies = high_energies(frames, rate, millis(1));
    let greatest = energies.iter().copied().fold(0.0, f64::max);
    let mut found: Vec<usize> = Vec::new();
    // Frames before `at`, the energies of which fall: the first is the greatest of its stretch.
    let mut before: VecDeque<usize> = VecDeque::new();
    for (at, &here) in energies.iter().enumerate() {
        if let Some(new) = at.checked_sub(millis(2)) {
            while before.back().is_some_and(|&last| energies[last] <= energies[new]) {
                before.pop_back();
            }
            before.push_back(new);
        }
        while before.front().is_some_and(|&first| first + millis(25) < at) {
            before.pop_front();
        }
        let was = before.front().map_or(0.0, |&first| energies[first]);
        let far = found.last().is_none_or(|&last| at >= last + millis(40));
        if far && here > attack.floor * greatest && here > attack.rise * was {
            found.push(at);
        }
    }
    // The energy rose within the millisecond from there: half of it is the middle.
    found.into_iter().map(|at| at + millis(1) / 2).collect()
}

/// The energy above 2 kHz in the `width` frames from each frame on.
fn high_energies(frames: &[f32], rate: u32, width: usize) -> Vec<f64> {
    let follow = 1.0 - (-std::f64::consts::TAU * 2_000.0 / f64::from(rate)).exp();
    let (mut first, mut second, mut sum) = (0.0, 0.0, 0.0);
    // Sums up to each frame, so that the energy of a stretch is one difference.
    let mut sums = vec![0.0];
    for &sample in frames {
        first += follow * (f64::from(sample) - first);
        let once = f64::from(sample) - first;
        second += follow * (once - second);
        sum += (once - second).powi(2);
        sums.push(sum);
    }
    sums.windows(width + 1).map(|sums| sums[width] - sums[0]).collect()
}

/// The pitch of frames, in hertz, between `low` and `high`: where the first five partials together are strongest, then
/// the top of the first one's peak, by a parabola through its three bins.
pub fn pitch(frames: &[f32], rate: u32, low: f64, high: f64) -> f64 {
    let size = (8 * frames.len()).next_power_of_two().max(1 << 15);
    let heights = spectrum(frames, size);
    let hertz = |bin: f64| bin * f64::from(rate) / size as f64;
    let bins = |hertz: f64| (hertz * size as f64 / f64::from(rate)) as usize;
    let together = |bin: usize| -> f64 {
        (1..=5).map(|n| heights.get(bin * n).copied().unwrap_or_default() / (n as f64).sqrt()).sum()
    };
    let best =
        (bins(low)..=bins(high)).max_by(|&a, &b| together(a).total_cmp(&together(b))).unwrap_or_default();
    let around = best.saturating_sub(best / 30).max(1)..=best + best / 30;
    let top = around.max_by(|&a, &b| heights[a].total_cmp(&heights[b])).unwrap_or(best);
    let [a, b, c] = [heights[top - 1], heights[top], heights[top + 1]].map(|height| height.max(1e-12).ln());
    hertz(top as f64 + (a - c) / (2.0 * (a - 2.0 * b + c)))
}

/// How far a pitch lies above a MIDI key, in cents (A4, key 69, is 440 Hz).
pub fn cents_above(key: u8, hertz: f64) -> f64 {
    1_200.0 * (hertz / 440.0).log2() - 100.0 * (f64::from(key) - 69.0)
}
