//! Comping: shell chords of two guide tones, led by the smallest motion.
//!
//! Shells only, so that the band states none of the scales a soloist may choose.

use super::chance::Chance;
use super::feel::lasts;
use super::stretch::Stretch;
use super::{BandNote, Call, Part};
use crate::theory::{ChordSymbol, Pitch, PitchClass};
use crate::time::{TickSpan, Ticks};

/// C3 to E4: where both voices stay.
const RANGE: std::ops::RangeInclusive<i32> = 48..=64;
/// The voices keep a minor third apart at least.
const CLOSEST: i32 = 3;
/// Where the first shell lies: F3 and C4.
const HOME: Shell = Shell { low: 53, high: 60 };
const VELOCITY: u8 = 65;
const VELOCITY_SPREAD: u8 = 3;

/// Two keys sounding together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shell {
    /// The lower key.
    pub low: i32,
    /// The higher key.
    pub high: i32,
}

impl Shell {
    /// The shell of `chord` nearest to this one: its two guide tones (of a triad the third and fifth), each voice moving
    /// as little as it can. `None` for a chord of fewer than two such notes.
    pub fn to(self, chord: ChordSymbol) -> Option<Self> {
        let (first, second) = shell_tones(chord)?;
        let voicings = |a: PitchClass, b: PitchClass| {
            keys(a).flat_map(move |low| keys(b).map(move |high| Self { low, high }))
        };
        voicings(first, second)
            .chain(voicings(second, first))
            .filter(|shell| shell.high - shell.low >= CLOSEST)
            .min_by_key(|shell| (self.motion(*shell), (shell.high - shell.low)))
    }

    /// Semitones both voices move to get to `other`.
    pub fn motion(self, other: Self) -> i32 {
        (self.low - other.low).abs() + (self.high - other.high).abs()
    }
}

fn keys(pitch_class: PitchClass) -> impl Iterator<Item = i32> {
    RANGE.filter(move |&key| PitchClass::from_semitones(key) == pitch_class)
}

fn shell_tones(chord: ChordSymbol) -> Option<(PitchClass, PitchClass)> {
    let guides = chord.guide_tones();
    let tones = chord.tones();
    let first = guides.first().or(tones.first())?;
    let second = guides.get(1).or_else(|| tones.iter().rev().find(|&tone| tone != first))?;
    Some((*first, *second))
}

/// Where a cell strikes: a pulse from 0, on it or on its off-beat, and how many pulses it sounds.
type Strike = (usize, Place, i64);

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Place {
    OnBeat,
    OffBeat,
    /// The off-beat before the next bar, sounding the chord that comes.
    Push,
}

/// The rhythm cells of a bar with their weights (common practice).
const CELLS: [(u32, &[Strike]); 6] = [
    (4, &[(0, Place::OnBeat, 1), (1, Place::OffBeat, 1)]),
    (3, &[(1, Place::OffBeat, 1), (3, Place::OnBeat, 1)]),
    (3, &[(0, Place::OffBeat, 1), (2, Place::OnBeat, 1)]),
    (2, &[(3, Place::Push, 1)]),
    (2, &[(0, Place::OnBeat, 4)]),
    (1, &[]),
];

/// The shells of the take.
pub(super) fn chords(call: &Call, stretches: &[Stretch], chance: &mut Chance) -> Vec<BandNote> {
    let mut comping = Comping { shell: HOME, cells: [None; 2], notes: Vec::new(), call, chance };
    let mut rest = stretches;
    while let Some(first) = rest.first() {
        let (bar, after) = rest.split_at(rest.partition_point(|stretch| stretch.bar <= first.bar));
        comping.bar(bar, after.first());
        rest = after;
    }
    comping.notes
}

struct Comping<'c, 'a> {
    shell: Shell,
    /// The cells of the last two bars.
    cells: [Option<usize>; 2],
    notes: Vec<BandNote>,
    call: &'c Call<'a>,
    chance: &'c mut Chance,
}

impl Comping<'_, '_> {
    fn bar(&mut self, bar: &[Stretch], next: Option<&Stretch>) {
        let Some(first) = bar.first() else { return };
        let end = bar.last().map_or(first.end(), Stretch::end);
        let pulses = (end - first.bar).0 / first.pulse.0;
        let strikes = if pulses == 4 { CELLS[self.cell()].1 } else { &[(0, Place::OnBeat, 1)] };
        let off_beat = self.call.feel.off_beat(
            first.pulse,
            lasts(first.pulse, self.call.quarter),
            self.call.swing_percent,
        );
        for &(pulse, place, sounds) in strikes {
            let on_beat = first.bar + first.pulse * pulse as i64;
            let at = if place == Place::OnBeat { on_beat } else { on_beat + off_beat };
            let sounding =
                if place == Place::Push { next } else { bar.iter().rfind(|stretch| stretch.at <= at) };
            if let Some(stretch) = sounding {
                self.strike(stretch, at, first.pulse * sounds);
            }
        }
    }

    /// A cell by its weight, never the same in three bars running.
    fn cell(&mut self) -> usize {
        let worn = self.cells[0].filter(|_| self.cells[0] == self.cells[1]);
        let allowed = || CELLS.iter().enumerate().filter(move |&(i, _)| Some(i) != worn);
        let mut left = self.chance.below(allowed().map(|(_, (weight, _))| weight).sum());
        let drawn = allowed().find(|(_, (weight, _))| {
            let here = left < *weight;
            left = left.saturating_sub(*weight);
            here
        });
        let cell = drawn.map_or(0, |(i, _)| i);
        self.cells = [Some(cell), self.cells[0]];
        cell
    }

    fn strike(&mut self, stretch: &Stretch, at: Ticks, length: TickSpan) {
        let Some(shell) = stretch.chord.and_then(|chord| self.shell.to(chord)) else {
            return;
        };
        let velocity = self.chance.velocity(VELOCITY, VELOCITY_SPREAD);
        let length = length.min(stretch.end() - at);
        let keys = [shell.low, shell.high].into_iter().filter_map(|key| Pitch::new(key as u8));
        self.notes.extend(keys.map(|key| BandNote { part: Part::Comp, at, length, key, velocity }));
        self.shell = shell;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn led(first: Shell, chords: &[&str]) -> Vec<(i32, i32)> {
        let mut shell = first;
        let symbols = chords.iter().map(|text| text.parse::<ChordSymbol>().expect("a chord"));
        symbols
            .map(|symbol| {
                shell = shell.to(symbol).expect("a shell");
                (shell.low, shell.high)
            })
            .collect()
    }

    #[test]
    fn shells_move_to_the_nearest_guide_tones() {
        // Worked by hand: each voice holds or falls a semitone.
        assert_eq!(led(HOME, &["Dm7", "G7", "Cmaj7"]), [(53, 60), (53, 59), (52, 59)]);
        let minor = Shell { low: 50, high: 57 };
        assert_eq!(led(minor, &["Bm7b5", "E7b9", "Am7"]), [(50, 57), (50, 56), (48, 55)]);
    }

    #[test]
    fn sixths_sus_and_triads_have_shells_too() {
        let classes = |text: &str| {
            let shell = HOME.to(text.parse().expect("a chord")).expect("a shell");
            [shell.low % 12, shell.high % 12]
        };
        assert!(classes("C6").contains(&9));
        assert!(classes("G7sus4").contains(&0));
        assert!(classes("C").contains(&4));
        assert!(HOME.to("C5".parse().expect("a chord")).is_some());
    }
}
