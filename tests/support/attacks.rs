//! Where notes begin in frames of sound, and how suddenly, by means that know nothing of how they were made.

use std::collections::VecDeque;

/// The largest difference between a sample and the next.
pub fn largest_jump(frames: &[f32]) -> f32 {
    frames.windows(2).fold(0.0, |largest, pair| largest.max((pair[1] - pair[0]).abs()))
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
