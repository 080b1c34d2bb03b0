//! The bass: walking quarters, two in a bar, and the bossa pattern.
//!
//! The rules are those of common practice: roots on beat 1, chord tones between, and on the last pulse of a chord an
//! approach to the next root from the side the line lies on. [`landing`] says what each chord begins on.

mod landing;

use super::accompaniment::Opening;
use super::chance::Chance;
use super::stretch::Stretch;
use super::{BandNote, Call, Part};
use crate::chart::Feel;
use crate::theory::{ChordSymbol, Pitch, PitchClass, PitchClassSet};
use crate::time::{TickSpan, Ticks};

use landing::{Landing, fifth, inner_near, landings, nearest, third};

/// E1 to G3: the range of the instrument that the line uses.
const RANGE: std::ops::RangeInclusive<i32> = 28..=55;
/// Where roots and chord tones stay.
const LANDINGS: std::ops::RangeInclusive<i32> = 31..=50;
/// The middle of the home octave (C2 to C3), where the line starts.
const HOME: i32 = 42;
/// The widest leap to a note that is no root.
const WIDEST_LEAP: i32 = 7;
const VELOCITY: u8 = 80;
const VELOCITY_SPREAD: u8 = 4;
/// How often a note between is a scale step instead of a chord tone, in percent.
const STEP_PERCENT: u32 = 25;
/// How often the second note of a two-feel is the fifth rather than the third, in percent.
const SECOND_IS_FIFTH_PERCENT: u32 = 70;
/// How often a two-feel leads into the next chord with an off-beat behind the last pulse, in percent.
const PICK_UP_PERCENT: u32 = 25;

/// The bass line of the take, as if it played in every bar. `tonic` is where it goes after the last.
pub(super) fn line(
    call: &Call,
    stretches: &[Stretch],
    tonic: Option<PitchClass>,
    chance: &mut Chance,
) -> Vec<BandNote> {
    let mut line = Line { last: HOME, up: Direction::Up, set_out: Direction::Up, notes: Vec::new(), chance };
    let landings = landings(call, stretches, line.chance);
    for (i, stretch) in stretches.iter().enumerate() {
        let Some((chord, landing)) = stretch.chord.zip(landings[i]) else {
            continue;
        };
        let next = match stretches.get(i + 1) {
            Some(next) => landings[i + 1].map(|landing| Next { landing, scale: next.scale }),
            None => tonic.map(|tonic| Next { landing: Landing::Root(tonic), scale: stretch.scale }),
        };
        line.up = if i == 0 || !stretch.goes_on(&stretches[i - 1]) {
            line.direction()
        } else {
            line.set_out.other()
        };
        line.set_out = line.up;
        match pattern(call, stretch) {
            Pattern::Walking => line.walk(stretch, chord, landing, next),
            Pattern::InTwo => line.two_feel(stretch, chord, landing, next),
            Pattern::Bossa => line.bossa(stretch, chord, landing),
        }
    }
    line.notes
}

/// The tonic that the line ends on: of all there are on the instrument the nearest to the note struck last, the lower one
/// on a tie; where none was struck, the one nearest to where a line starts.
pub(super) fn closing(tonic: PitchClass, last: Option<Pitch>) -> Option<Pitch> {
    let last = last.map_or(HOME, |pitch| i32::from(pitch.key()));
    nearest(tonic, RANGE, last).and_then(pitch)
}

/// How the line moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Pattern {
    Walking,
    InTwo,
    Bossa,
}

fn pattern(call: &Call, stretch: &Stretch) -> Pattern {
    match call.feel {
        // The pattern is one of four pulses; in other bars a bossa is played in two.
        Feel::Bossa if stretch.bar.pulses() == 4 => Pattern::Bossa,
        Feel::Bossa | Feel::Ballad => Pattern::InTwo,
        Feel::Swing | Feel::Straight => match call.accompaniment.opening {
            Opening::TwoFeel if stretch.bar.chorus == 1 => Pattern::InTwo,
            Opening::TwoFeel | Opening::AsTheOthers => Pattern::Walking,
        },
    }
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
    landing: Landing,
    scale: PitchClassSet,
}

/// The line so far.
struct Line<'c> {
    /// Key of the last note.
    last: i32,
    up: Direction,
    /// Where it set out to from the landing of this bar: a chord that goes on is walked the other way in its next bar.
    set_out: Direction,
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

    fn walk(&mut self, stretch: &Stretch, chord: ChordSymbol, landing: Landing, next: Option<Next>) {
        if stretch.is_short() {
            return self.play(stretch.at, stretch.end(), landing.key(self.last));
        }
        let places = stretch.pulses();
        for (i, &at) in places.iter().enumerate() {
            let until = places.get(i + 1).copied();
            let key = match (i, until, next) {
                (0, ..) => landing.key(self.last),
                (_, None, Some(next)) => self.approach(next),
                _ => self.between(stretch, chord),
            };
            if i == 1 {
                self.set_out = self.up;
            }
            self.play(at, until.unwrap_or(stretch.end()), key);
        }
    }

    /// The root, half-way (of four pulses on the third) the fifth or third, now and then a pick-up into the next chord.
    fn two_feel(&mut self, stretch: &Stretch, chord: ChordSymbol, landing: Landing, next: Option<Next>) {
        let places = stretch.pulses();
        let last_pulse = places[places.len() - 1];
        let pick_up_at = last_pulse + stretch.bar.off_beat;
        let picks_up = self.chance.percent(PICK_UP_PERCENT);
        let has_room = !stretch.is_short() && pick_up_at < stretch.end();
        let pick_up = next.filter(|_| picks_up && has_room);
        let end = if pick_up.is_some() { pick_up_at } else { stretch.end() };
        let half_way = places.get(places.len().div_ceil(2).max(2)).copied();
        self.play(stretch.at, half_way.unwrap_or(end), landing.key(self.last));
        if let Some(at) = half_way {
            let key = self.second_of_two(chord);
            self.play(at, end, key);
        }
        if let Some(next) = pick_up {
            let key = self.approach(next);
            self.play(pick_up_at, stretch.end(), key);
        }
    }

    /// The fifth or third over the root that was just played, the octave nearest to it.
    fn second_of_two(&mut self, chord: ChordSymbol) -> i32 {
        let mut tones = [fifth(chord), third(chord)];
        if !self.chance.percent(SECOND_IS_FIFTH_PERCENT) {
            tones.reverse();
        }
        let root = chord.heard().root.pitch_class();
        let keys = tones.into_iter().flatten().chain([root]).filter_map(|tone| inner_near(tone, self.last));
        keys.into_iter().find(|&key| key != self.last).unwrap_or(self.last)
    }

    /// Root on 1, fifth on 3, each with an eighth before the next: 1, 2&, 3, 4&.
    fn bossa(&mut self, stretch: &Stretch, chord: ChordSymbol, landing: Landing) {
        let bar = &stretch.bar;
        let of_bar = [bar.on_pulse(0), bar.off_pulse(1), bar.on_pulse(2), bar.off_pulse(3)];
        let first = landing.key(self.last);
        let inner = fifth(chord).and_then(|fifth| inner_near(fifth, first)).unwrap_or(first);
        let later = of_bar.into_iter().filter(|&at| at > stretch.at.max(bar.at) && at < stretch.end());
        let struck: Vec<_> =
            std::iter::once(stretch.at).chain(later).zip([first, inner, inner, first]).collect();
        for (i, &(at, key)) in struck.iter().enumerate() {
            let until = struck.get(i + 1).map_or(stretch.end(), |&(next, _)| next);
            self.play(at, until, key);
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
        let target = next.landing.key(self.last);
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
        let other_side = [target - from.sign(), target - 2 * from.sign()];
        [first, semitone, step, fifth, whole]
            .into_iter()
            .chain(other_side)
            .find(|&key| self.may_follow(key))
            .unwrap_or(other_side[0])
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

fn pitch(key: i32) -> Option<Pitch> {
    u8::try_from(key).ok().and_then(Pitch::new)
}
