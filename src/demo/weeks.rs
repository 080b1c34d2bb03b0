//! Invented weeks: the demo's line played fourteen times from October to November, nearer to the chords each week.
//!
//! Each take is the same line with some notes moved by a step and some left out, by chance that can be repeated; whoever
//! judges them finds out how many.

use jiff::civil::{Date, date};

use crate::band::Part;
use crate::band::chance::{Chance, Seed};
use crate::take::TakeFile;

use super::{DemoNote, line, take_of};

/// The day the invented player looks back.
pub const TODAY: Date = date(2026, 11, 25);

/// Every take: its day, its tempo in quarter notes a minute, and how many notes in a hundred lie a step beside.
const TAKES: [(Date, f64, u32); 14] = [
    (date(2026, 10, 13), 124.0, 38),
    (date(2026, 10, 15), 124.0, 42),
    (date(2026, 10, 22), 124.0, 36),
    (date(2026, 10, 26), 124.0, 34),
    (date(2026, 10, 29), 124.0, 33),
    (date(2026, 10, 30), 128.0, 33),
    (date(2026, 11, 3), 128.0, 30),
    (date(2026, 11, 5), 128.0, 28),
    (date(2026, 11, 10), 128.0, 25),
    (date(2026, 11, 14), 132.0, 22),
    (date(2026, 11, 17), 132.0, 18),
    (date(2026, 11, 20), 132.0, 17),
    (date(2026, 11, 23), 132.0, 13),
    (date(2026, 11, 24), 132.0, 12),
];

/// Notes in a hundred that are left out.
const LEFT_OUT: u32 = 8;

/// The takes in the order in which they were played, with the day of each.
pub fn takes() -> Vec<(Date, TakeFile)> {
    let takes = TAKES.iter().zip(1_u64..);
    takes.map(|(&(day, bpm, beside), seed)| (day, take_of(varied(beside, Seed(seed)), bpm))).collect()
}

/// The line with `beside` notes in a hundred moved by one or two semitones, and some left out.
fn varied(beside: u32, seed: Seed) -> Vec<DemoNote> {
    let mut chance = Chance::new(seed, Part::Line);
    let mut varied = Vec::new();
    for note in line() {
        let (left_out, moved, step) = (chance.percent(LEFT_OUT), chance.percent(beside), chance.below(4));
        let pitch = if moved { note.pitch.up([-2, -1, 1, 2][step as usize]) } else { None };
        if !left_out {
            varied.push(DemoNote { pitch: pitch.unwrap_or(note.pitch), ..note });
        }
    }
    varied
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_weeks_go_forward_and_are_the_same_every_time() {
        assert!(TAKES.windows(2).all(|pair| pair[0].0 <= pair[1].0) && TAKES[13].0 <= TODAY);
        let bytes = || takes().into_iter().map(|(_, take)| take.to_bytes()).collect::<Vec<_>>();
        assert_eq!(bytes(), bytes());
    }
}
