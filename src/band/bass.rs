//! The bass: walking quarters, two in a bar for ballads, and the bossa pattern.
//!
//! The rules are those of common practice: roots on beat 1, chord tones between, and on the last pulse of a chord an
//! approach to the next root from the side the line lies on.

use super::chance::Chance;
use super::stretch::Stretch;
use super::{BandNote, Part};
use crate::chart::Feel;
use crate::theory::{ChordSymbol, Pitch, PitchClass, PitchClassSet};
use crate::time::{TickSpan, Ticks};

/// E1 to G3: the range of the instrument that the line uses.
pub(super) const RANGE: std::ops::RangeInclusive<i32> = 28..=55;
/// Where landings stay (roots, and the fifth or third of a chord that goes on).
const LANDINGS: std::ops::RangeInclusive<i32> = 31..=50;
/// The middle of the home octave (C2 to C3), where the line starts.
const HOME: i32 = 42;
/// The widest leap to a note that is no landing.
const WIDEST_LEAP: i32 = 7;
const VELOCITY: u8 = 80;
const VELOCITY_SPREAD: u8 = 4;
/// How often a note between is a scale step instead of a chord tone, in percent.
const STEP_PERCENT: u32 = 25;

/// The bass line of the take. `tonic` is where it goes after the last bar.
pub(super) fn line(
    feel: Feel,
    stretches: &[Stretch],
    tonic: Option<PitchClass>,
    chance: &mut Chance,
) -> Vec<BandNote> {
    let mut line = Line { last: HOME, up: Direction::Up, notes: Vec::new(), chance };
    let landings = landings(stretches, line.chance);
    for (i, stretch) in stretches.iter().enumerate() {
        let Some((chord, landing)) = stretch.chord.zip(landings[i]) else {
            continue;
        };
        let next = match stretches.get(i + 1) {
            Some(next) => landings[i + 1].map(|landing| Next { landing, scale: next.scale }),
            None => tonic.map(|landing| Next { landing, scale: stretch.scale }),
        };
        if i == 0 || !stretch.goes_on(&stretches[i - 1]) {
            line.up = line.direction();
        } else {
            line.up = line.up.other();
        }
        match feel {
            Feel::Swing | Feel::Straight => line.walk(stretch, chord, landing, next),
            Feel::Ballad => line.two_feel(stretch, chord, landing),
            Feel::Bossa => line.bossa(stretch, chord, landing),
        }
    }
    line.notes
}

/// The pitch of `pitch_class` in the home octave.
pub(super) fn near_home(pitch_class: PitchClass) -> Option<Pitch> {
    pitch(land(pitch_class, HOME))
}

/// What each stretch begins on: the root (the bass of a slash chord); in every second bar of a chord that goes on, its
/// fifth or third.
fn landings(stretches: &[Stretch], chance: &mut Chance) -> Vec<Option<PitchClass>> {
    let mut bars_of_chord = 0;
    let landing = |(i, stretch): (usize, &Stretch)| {
        let goes_on = i > 0 && stretch.goes_on(&stretches[i - 1]);
        bars_of_chord = if goes_on { bars_of_chord + 1 } else { 0 };
        let chord = stretch.chord?;
        let root = chord.heard().bass_or_root().pitch_class();
        let inner = if chance.percent(60) { fifth(chord) } else { third(chord) };
        Some(if bars_of_chord % 2 == 1 { inner.unwrap_or(root) } else { root })
    };
    stretches.iter().enumerate().map(landing).collect()
}

/// The fifth as the chord has it: perfect, diminished or augmented.
fn fifth(chord: ChordSymbol) -> Option<PitchClass> {
    let (heard, tones) = (chord.heard(), chord.tone_set());
    [7, 6, 8].map(|s| heard.root.pitch_class().up(s)).into_iter().find(|&p| tones.has(p))
}

/// The third, or what stands for it.
fn third(chord: ChordSymbol) -> Option<PitchClass> {
    chord.guide_tones().first().copied().or_else(|| fifth(chord))
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Direction {
    Up,
    Down,
}

impl Direction {
    const fn sign(self) -> i32 {
        match self {
            Self::Up => 1,
            Self::Down => -1,
        }
    }

    const fn other(self) -> Self {
        match self {
            Self::Up => Self::Down,
            Self::Down => Self::Up,
        }
    }
}

/// Where the line is going.
#[derive(Clone, Copy, Debug)]
struct Next {
    landing: PitchClass,
    scale: PitchClassSet,
}

/// The line so far.
struct Line<'c> {
    /// Key of the last note.
    last: i32,
    up: Direction,
    notes: Vec<BandNote>,
    chance: &'c mut Chance,
}

impl Line<'_> {
    /// Where the line turns: away from the edge it is near, else by chance.
    fn direction(&mut self) -> Direction {
        match self.last {
            ..=36 => Direction::Up,
            46.. => Direction::Down,
            _ if self.chance.percent(50) => Direction::Up,
            _ => Direction::Down,
        }
    }

    fn walk(&mut self, stretch: &Stretch, chord: ChordSymbol, landing: PitchClass, next: Option<Next>) {
        let places = stretch.pulses();
        let short = stretch.length.0 < 2 * stretch.pulse.0;
        self.play(stretch.at, if short { stretch.end() } else { places[1] }, land(landing, self.last));
        if short {
            return;
        }
        for (i, &at) in places.iter().enumerate().skip(1) {
            let until = places.get(i + 1).copied();
            let key = match (until, next) {
                (None, Some(next)) => self.approach(next),
                _ => self.between(stretch, chord),
            };
            self.play(at, until.unwrap_or(stretch.end()), key);
        }
    }

    fn two_feel(&mut self, stretch: &Stretch, chord: ChordSymbol, landing: PitchClass) {
        self.play_pattern(stretch, &[0, 2], &[Some(landing), fifth(chord)]);
    }

    /// Root on 1, fifth on 3, each with an eighth before the next: 1, 2&, 3, 4&. Other lengths get the two-feel.
    fn bossa(&mut self, stretch: &Stretch, chord: ChordSymbol, landing: PitchClass) {
        let places = stretch.pulses();
        if places.len() != 4 || stretch.length.0 != 4 * stretch.pulse.0 {
            return self.two_feel(stretch, chord, landing);
        }
        let half = TickSpan(stretch.pulse.0 / 2);
        let root = land(landing, self.last);
        let fifth = fifth(chord).map_or(root, |fifth| land(fifth, root));
        let struck =
            [(places[0], root), (places[1] + half, fifth), (places[2], fifth), (places[3] + half, root)];
        for (i, &(at, key)) in struck.iter().enumerate() {
            let until = struck.get(i + 1).map_or(stretch.end(), |&(next, _)| next);
            self.play(at, until, key);
        }
    }

    /// One note at each of these pulses of the stretch, as far as it goes.
    fn play_pattern(&mut self, stretch: &Stretch, pulses: &[usize], notes: &[Option<PitchClass>]) {
        let places = stretch.pulses();
        let struck: Vec<_> = pulses.iter().filter_map(|&p| places.get(p).copied()).zip(notes).collect();
        for (i, &(at, note)) in struck.iter().enumerate() {
            let until = struck.get(i + 1).map_or(stretch.end(), |&(next, _)| next);
            if let Some(note) = *note {
                self.play(at, until, land(note, self.last));
            }
        }
    }

    /// The next chord tone in the line's direction, or a scale step; turns round at the edge of the landings.
    fn between(&mut self, stretch: &Stretch, chord: ChordSymbol) -> i32 {
        let by_step = self.chance.percent(STEP_PERCENT) && !stretch.scale.is_empty();
        let notes = if by_step { stretch.scale } else { chord.tone_set() };
        self.neighbour(notes, self.up).unwrap_or_else(|| {
            self.up = self.up.other();
            self.neighbour(notes, self.up).unwrap_or(self.last)
        })
    }

    /// The nearest note of `notes` on one side of the last note, within the landings and one leap.
    fn neighbour(&self, notes: PitchClassSet, to: Direction) -> Option<i32> {
        (1..=WIDEST_LEAP)
            .map(|distance| self.last + distance * to.sign())
            .find(|&key| LANDINGS.contains(&key) && notes.has(PitchClass::from_semitones(key)))
    }

    /// A note that leads to the next landing, from the side the line lies on: a semitone (60 in a hundred), a step of
    /// the next chord's scale (25) or the landing's own fifth (15). Never the landing, never the note just played.
    fn approach(&mut self, next: Next) -> i32 {
        let target = land(next.landing, self.last);
        let from = match target - self.last {
            0 => self.up,
            up if up > 0 => Direction::Down,
            _ => Direction::Up,
        };
        let semitone = target + from.sign();
        let whole = target + 2 * from.sign();
        let step = if next.scale.has(PitchClass::from_semitones(whole)) { whole } else { semitone };
        let fifth = if from == Direction::Up { target + 7 } else { target - 5 };
        let first = match self.chance.below(100) {
            0..60 => semitone,
            60..85 => step,
            _ => fifth,
        };
        let other_side = target - from.sign();
        [first, semitone, whole, fifth, other_side]
            .into_iter()
            .find(|&key| self.may_follow(key))
            .unwrap_or(other_side)
    }

    fn may_follow(&self, key: i32) -> bool {
        RANGE.contains(&key) && key != self.last && (key - self.last).abs() <= WIDEST_LEAP
    }

    fn play(&mut self, at: Ticks, until: Ticks, key: i32) {
        let velocity = self.chance.velocity(VELOCITY, VELOCITY_SPREAD);
        // A tenth of silence before the next note, as a finger leaves one string for the next.
        let length = TickSpan((until - at).0 * 9 / 10);
        self.notes.extend(pitch(key).map(|key| BandNote { part: Part::Bass, at, length, key, velocity }));
        self.last = key;
    }
}

/// The key of `pitch_class` nearest to `last` among the landings; the lower one on a tie.
fn land(pitch_class: PitchClass, last: i32) -> i32 {
    LANDINGS
        .filter(|&key| PitchClass::from_semitones(key) == pitch_class)
        .min_by_key(|key| (key - last).abs())
        .unwrap_or(HOME)
}

fn pitch(key: i32) -> Option<Pitch> {
    u8::try_from(key).ok().and_then(Pitch::new)
}
