//! The mix: how loud each part is beside the others, and how it changes while it sounds.

use super::Hearing;
use crate::band::Part;
use crate::band::level::{Decibels, Levels};
use crate::time::FrameRate;

/// The whole band: it starts quiet, for people wear headphones.
const BAND: Decibels = Decibels(-11.0);

/// How loud a part is, and why.
struct Row {
    part: Part,
    /// The part with a voice of our own, against a voice that fills the scale at the hardest stroke.
    own: Decibels,
    /// The part with a SoundFont, whose sounds are made for a mix already: what our band wants otherwise.
    sound_font: Decibels,
}

/// The mix. What each part comes to in a chorus is held by `tests/rendered_sound.rs`.
///
/// The bass is the loudest, for it carries time and harmony. The ride is next in weight, but most of it is high, where
/// ears are keen, so its figure is small. Chords lie under both: they must not cover the player, who is in their octave.
/// The hat is an accent on 2 and 4. The kick is struck at a fifth of full velocity, which is a twenty-fifth of its
/// height: its own figure has to be large for it to be felt at all. The click must be found through the band, the line
/// (of a demo, of a take) stands where the player would.
const MIX: [Row; Part::ALL.len()] = [
    row(Part::Bass, 7.0, 0.0),
    row(Part::Comp, 0.0, -5.0),
    row(Part::Ride, 3.5, -5.0),
    row(Part::Hat, 6.0, -5.0),
    row(Part::Kick, 13.0, 2.0),
    row(Part::Click, -1.0, 0.0),
    row(Part::Line, 3.0, 0.0),
];

const fn row(part: Part, own: f32, sound_font: f32) -> Row {
    Row { part, own: Decibels(own), sound_font: Decibels(sound_font) }
}

/// How fast a part that sounds comes to another level: full scale in this many seconds, which neither clicks nor waits.
const GLIDE_SECONDS: f32 = 0.01;

/// The factors of the parts, each on its way to where it was set.
#[derive(Clone, Debug)]
pub(super) struct Mix {
    own: [f32; Part::ALL.len()],
    sound_font: [f32; Part::ALL.len()],
    hearing: [Hearing; Part::ALL.len()],
    level: [f32; Part::ALL.len()],
    now: [f32; Part::ALL.len()],
    step: f32,
}

impl Mix {
    pub fn new(rate: FrameRate) -> Self {
        let factors = |decibels: fn(&Row) -> Decibels| {
            let mut factors = [0.0; Part::ALL.len()];
            for row in &MIX {
                factors[row.part as usize] = Decibels(BAND.0 + decibels(row).0).factor();
            }
            factors
        };
        let all = [1.0; Part::ALL.len()];
        Self {
            own: factors(|row| row.own),
            sound_font: factors(|row| row.sound_font),
            hearing: [Hearing::Heard; Part::ALL.len()],
            level: all,
            now: all,
            step: 1.0 / (GLIDE_SECONDS * rate.hertz() as f32),
        }
    }

    /// What a part's own voice is multiplied by.
    pub const fn own(&self, part: Part) -> f32 {
        self.own[part as usize]
    }

    /// What a part's SoundFont is multiplied by.
    pub const fn sound_font(&self, part: Part) -> f32 {
        self.sound_font[part as usize]
    }

    /// Mutes a part or lets it sound.
    pub fn hear(&mut self, part: Part, hearing: Hearing) {
        self.hearing[part as usize] = hearing;
    }

    /// Sets the levels of all parts.
    pub fn set(&mut self, levels: &Levels) {
        for part in Part::ALL {
            self.level[part as usize] = levels.of(part).factor();
        }
    }

    /// Where a part is going.
    const fn aim(&self, part: Part) -> f32 {
        match self.hearing[part as usize] {
            Hearing::Heard => self.level[part as usize],
            Hearing::Muted => 0.0,
        }
    }

    /// Brings a part to where it is going at once: nobody hears a part that is silent change.
    pub fn arrive(&mut self, part: Part) {
        self.now[part as usize] = self.aim(part);
    }

    /// A part's factor for the next frame.
    pub fn next(&mut self, part: Part) -> f32 {
        let (now, aim) = (self.now[part as usize], self.aim(part));
        self.now[part as usize] = now + (aim - now).clamp(-self.step, self.step);
        now
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mix() -> Mix {
        Mix::new(FrameRate::new(48_000).expect("a rate"))
    }

    #[test]
    fn every_part_has_its_row_at_its_place() {
        assert!(MIX.iter().zip(Part::ALL).all(|(row, part)| row.part == part));
    }

    #[test]
    fn a_part_that_is_muted_fades_within_its_time() {
        let mut mix = mix();
        mix.hear(Part::Bass, Hearing::Muted);
        let factors: Vec<f32> = (0..481).map(|_| mix.next(Part::Bass)).collect();
        assert!(factors[0] > 0.99 && factors[240] > 0.45 && factors[240] < 0.55, "{}", factors[240]);
        assert!(mix.next(Part::Bass) < 1e-6);
        assert!((mix.next(Part::Comp) - 1.0).abs() < f32::EPSILON, "the others stay");
    }

    #[test]
    fn levels_are_factors_and_mutes_win() {
        let mut mix = mix();
        mix.set(&"ride=-20".parse().expect("levels"));
        mix.arrive(Part::Ride);
        assert!((mix.next(Part::Ride) - 0.1).abs() < 1e-6);
        mix.hear(Part::Ride, Hearing::Muted);
        mix.arrive(Part::Ride);
        assert!(mix.next(Part::Ride) == 0.0);
    }
}
