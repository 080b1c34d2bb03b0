//! Comping: shell chords of two guide tones, led by the smallest motion.
//!
//! Shells only, so that the band states none of the scales a soloist may choose: not even a ninth on top of a chord
//! that stands still. They lie above the bass, always. Where in a bar they are struck the rhythm cells say.

pub(super) mod cells;

use super::bars::Bar;
use super::chance::Chance;
use super::stretch::Stretch;
use super::{BandNote, Part};
use crate::theory::{ChordSymbol, Pitch, PitchClass};
use crate::time::{TickSpan, Ticks};

use cells::{Cell, Place, Sounds, cells};

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
    /// as little as it can, both above the key of the `bass` where it sounds. `None` for a chord of fewer than two such
    /// notes, and where the bass leaves them no room.
    pub fn to(self, chord: ChordSymbol, bass: Option<i32>) -> Option<Self> {
        let (first, second) = shell_tones(chord)?;
        let voicings = |a: PitchClass, b: PitchClass| {
            keys(a).flat_map(move |low| keys(b).map(move |high| Self { low, high }))
        };
        voicings(first, second)
            .chain(voicings(second, first))
            .filter(|shell| shell.high - shell.low >= CLOSEST && bass.is_none_or(|bass| bass < shell.low))
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

/// The shells of the take over the line of the bass, as if they were played in every bar.
pub(super) fn chords(
    bars: &[Bar],
    stretches: &[Stretch],
    bass: &[BandNote],
    chance: &mut Chance,
) -> Vec<BandNote> {
    let cells = cells(bars, chance);
    let mut comping = Comping { shell: HOME, pushed_at: None, stretches, bass, notes: Vec::new(), chance };
    for (bar, cell) in bars.iter().zip(cells) {
        comping.bar(bar, cell);
    }
    comping.notes
}

struct Comping<'c> {
    /// The last shell that was struck.
    shell: Shell,
    /// When a cell last pushed a chord: it is as if tied, not struck again on the beat.
    pushed_at: Option<Ticks>,
    stretches: &'c [Stretch],
    bass: &'c [BandNote],
    notes: Vec<BandNote>,
    chance: &'c mut Chance,
}

impl Comping<'_> {
    /// Strikes what the cell has, and each chord that the chart itself pushes; around these the cell keeps silent.
    fn bar(&mut self, bar: &Bar, cell: Cell) {
        let pushed = self.pushed(bar.at - bar.pulse, bar.end());
        let pushes: Vec<Ticks> = pushed.iter().map(|&(at, _)| at).chain(self.pushed_at).collect();
        let near_pushed = |at: Ticks| pushes.iter().any(|&push| (at - push).0.abs() < bar.pulse.0);
        let of_cell = cell.iter().filter_map(|&(pulse, place, sounds)| {
            let (at, sounding) = match place {
                Place::OnBeat => (bar.on_pulse(pulse), bar.on_pulse(pulse)),
                Place::OffBeat => (bar.off_pulse(pulse), bar.off_pulse(pulse)),
                Place::Push => (bar.off_pulse(bar.pulses() - 1), bar.end()),
            };
            let length = match sounds {
                Sounds::Pulse => bar.pulse,
                Sounds::Bar => bar.meter.bar(),
            };
            let breaks_off = self.stretches[self.sounding(at)?].chord.is_none();
            Some((at, length, self.sounding(sounding)?)).filter(|_| !breaks_off && !near_pushed(at))
        });
        let of_chart = pushed.iter().filter(|(at, _)| (bar.at..bar.end()).contains(at));
        let of_chart = of_chart.map(|&(at, stretch)| (at, bar.pulse, stretch));
        let mut strikes: Vec<(Ticks, TickSpan, usize)> = of_cell.chain(of_chart).collect();
        strikes.sort_by_key(|&(at, ..)| at);
        for (at, length, stretch) in strikes {
            let struck = self.strike(at, length, stretch);
            self.pushed_at = struck.filter(|&at| self.stretches[stretch].at > at).or(self.pushed_at);
        }
    }

    /// Index of the stretch that sounds at `at`; `None` after the last.
    fn sounding(&self, at: Ticks) -> Option<usize> {
        let begun = self.stretches.partition_point(|stretch| stretch.at <= at);
        begun.checked_sub(1).filter(|&i| at < self.stretches[i].end())
    }

    /// When chords are pushed by the chart behind `from` and before `until`, and which stretches they are.
    fn pushed(&self, from: Ticks, until: Ticks) -> Vec<(Ticks, usize)> {
        let first = self.stretches.partition_point(|stretch| stretch.at <= from);
        let there =
            self.stretches.iter().enumerate().skip(first).take_while(|(_, stretch)| stretch.at < until);
        there.filter(|(_, stretch)| stretch.is_pushed()).map(|(i, stretch)| (stretch.at, i)).collect()
    }

    /// Strikes the chord of a stretch, at most as long as that lasts and the bass stays below. Gives back when; `None` if
    /// there is nothing to strike.
    fn strike(&mut self, at: Ticks, length: TickSpan, stretch: usize) -> Option<Ticks> {
        let stretch = &self.stretches[stretch];
        let until = (at + length).min(stretch.end());
        let bass = self.bass_at(at);
        let shell = self.shell.to(stretch.chord?, bass)?;
        let until = self.bass_reaches(shell.low, at, until);
        let velocity = self.chance.velocity(VELOCITY, VELOCITY_SPREAD);
        let keys = [shell.low, shell.high].into_iter().filter_map(|key| Pitch::new(key as u8));
        let length = until - at;
        self.notes.extend(keys.map(|key| BandNote { part: Part::Comp, at, length, key, velocity }));
        self.shell = shell;
        Some(at)
    }

    /// The key of the bass that sounds at `at`.
    fn bass_at(&self, at: Ticks) -> Option<i32> {
        let begun = self.bass.partition_point(|note| note.at <= at);
        let last = begun.checked_sub(1).map(|i| &self.bass[i])?;
        (at < last.at + last.length).then(|| i32::from(last.key.key()))
    }

    /// When the bass, behind `from` and before `until`, reaches a key; `until` if it does not.
    fn bass_reaches(&self, key: i32, from: Ticks, until: Ticks) -> Ticks {
        let begun = self.bass.partition_point(|note| note.at <= from);
        let meanwhile = self.bass[begun..].iter().take_while(|note| note.at < until);
        meanwhile.into_iter().find(|note| i32::from(note.key.key()) >= key).map_or(until, |note| note.at)
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
                shell = shell.to(symbol, None).expect("a shell");
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
            let shell = HOME.to(text.parse().expect("a chord"), None).expect("a shell");
            [shell.low % 12, shell.high % 12]
        };
        assert!(classes("C6").contains(&9));
        assert!(classes("G7sus4").contains(&0));
        assert!(classes("C").contains(&4));
        assert!(HOME.to("C5".parse().expect("a chord"), None).is_some());
    }
}
