//! How loud frames of sound are.

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
