//! How loud frames of sound are to the ear.

use rustfft::FftPlanner;
use rustfft::num_complex::Complex;

use crate::loudness::decibels;

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
