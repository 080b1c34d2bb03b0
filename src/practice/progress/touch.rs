//! How a line lies: its register, how dense it is, how much it rests.

use super::Digest;

/// Facts about the takes compared; none of them is judged.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Touch {
    /// The lowest MIDI key played.
    pub lowest: u8,
    /// The middle half of the notes: the middle take's quartiles, as MIDI keys.
    pub middle: (u8, u8),
    /// The highest MIDI key played.
    pub highest: u8,
    /// Notes a bar.
    pub notes_a_bar: f64,
    /// Beats of rest, as a part of all.
    pub rests: f64,
    /// The longest stretch without a rest, in beats.
    pub longest_run: f64,
}

impl Touch {
    pub(super) fn of(takes: &[&Digest]) -> Option<Self> {
        let registers: Vec<[u8; 5]> = takes.iter().filter_map(|digest| digest.register).collect();
        let middle = |quarter: usize| {
            let mut keys: Vec<u8> = registers.iter().map(|register| register[quarter]).collect();
            keys.sort_unstable();
            keys[keys.len() / 2]
        };
        let bars: usize = takes.iter().map(|digest| digest.bars_played).sum();
        let beats: f64 = takes.iter().map(|digest| digest.rests.of).sum();
        Some(Self {
            lowest: registers.iter().map(|register| register[0]).min()?,
            middle: (middle(1), middle(3)),
            highest: registers.iter().map(|register| register[4]).max()?,
            notes_a_bar: takes.iter().map(|digest| digest.counted).sum::<f64>() / bars.max(1) as f64,
            rests: takes.iter().map(|digest| digest.rests.beats).sum::<f64>() / beats.max(1.0),
            longest_run: takes.iter().map(|digest| digest.rests.longest_run).fold(0.0, f64::max),
        })
    }
}
