//! How high frames of sound are, by means that know nothing of how they were made.

use rustfft::FftPlanner;
use rustfft::num_complex::Complex;

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
