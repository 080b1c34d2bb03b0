//! Voices: the band's notes as sound, one channel of frames.
//!
//! Runs on the audio thread, so everything is allocated when [`Voices`] is made: a fixed pool of voices, no lock, no
//! system call, and work bounded by the pool. It knows frames only: when a note starts is for its caller to say. Each
//! instrument has a file of its own; a player's [`sound_font`] takes the place of those that it has.

mod bass;
mod electric_piano;
mod envelope;
mod filter;
mod hat;
mod kick;
mod limiter;
mod line;
mod mix;
mod noise;
mod partials;
mod ride;
pub mod sound_font;
mod string;
mod voice;
mod wood;

use super::Part;
use super::level::Levels;
use crate::time::{FrameRate, FrameSpan};

use mix::Mix;
use sound_font::Players;
use voice::Voice;

/// Voices that can sound at once, those included that make room for others.
const POOL: usize = 48;
/// Frames of a part that are computed before they are mixed.
const CHUNK: usize = 64;

/// How many notes of a part ring at once; then the faintest of them makes room.
const fn most(part: Part) -> usize {
    match part {
        Part::Bass | Part::Hat | Part::Kick | Part::Click => 3,
        Part::Comp => 8,
        Part::Ride => 10,
        Part::Line => 6,
    }
}

/// A note about to sound.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Strike {
    /// Who plays it.
    pub part: Part,
    /// MIDI key, 0 to 127.
    pub key: u8,
    /// How hard, 1 to 127.
    pub velocity: u8,
    /// How long until it is let go.
    pub length: FrameSpan,
}

/// Whether a part is heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Hearing {
    /// It sounds.
    #[default]
    Heard,
    /// It plays on silently.
    Muted,
}

/// The sounding band.
#[derive(Debug)]
pub struct Voices {
    rate: f32,
    pool: [Voice; POOL],
    mix: Mix,
    /// Strokes so far.
    strokes: u32,
    players: Option<Box<Players>>,
}

impl Voices {
    /// Silent voices for a device of this rate.
    pub fn new(rate: FrameRate) -> Self {
        let hertz = rate.hertz() as f32;
        Self {
            rate: hertz,
            pool: std::array::from_fn(|_| Voice::silent(hertz)),
            mix: Mix::new(rate),
            strokes: 0,
            players: None,
        }
    }

    /// Lets a SoundFont play the parts it has, from the next note on. Gives back the one that played them before, which
    /// is not to be dropped on the audio thread.
    #[must_use]
    pub fn play_by(&mut self, players: Box<Players>) -> Option<Box<Players>> {
        self.players.replace(players)
    }

    /// Starts a note; when as many sound as can, the faintest makes room.
    pub fn strike(&mut self, strike: Strike) {
        self.strokes = self.strokes.wrapping_add(1);
        if self.players.as_mut().is_some_and(|players| players.strike(strike)) {
            return;
        }
        self.make_room(strike.part);
        let free = self.pool.iter_mut().min_by(|a, b| a.level().total_cmp(&b.level()));
        if let Some(voice) = free {
            *voice = Voice::struck(strike, self.strokes, self.rate);
        }
    }

    /// Lets the faintest note of a part give way where the part has as many as it may.
    fn make_room(&mut self, part: Part) {
        let sounds = |voice: &&mut Voice| voice.part() == part && voice.level() > 0.0 && !voice.gives_way();
        let sounding = self.pool.iter_mut().filter(sounds);
        if sounding.count() >= most(part) {
            let sounding = self.pool.iter_mut().filter(sounds);
            if let Some(faintest) = sounding.min_by(|a, b| a.level().total_cmp(&b.level())) {
                faintest.give_way();
            }
        }
    }

    /// Mutes a part or lets it sound; notes that sound already fade or come up within a hundredth of a second.
    pub fn hear(&mut self, part: Part, hearing: Hearing) {
        self.mix.hear(part, hearing);
        if !self.sounds(part) {
            self.mix.arrive(part);
        }
    }

    /// Sets how loud each part is against the usual mix.
    pub fn set_levels(&mut self, levels: &Levels) {
        self.mix.set(levels);
        for part in Part::ALL {
            if !self.sounds(part) {
                self.mix.arrive(part);
            }
        }
    }

    /// Whether a part may be heard now.
    fn sounds(&self, part: Part) -> bool {
        let by_player = self.players.as_ref().is_some_and(|players| players.has_played(part));
        by_player || self.pool.iter().any(|voice| voice.part() == part && voice.level() > 0.0)
    }

    /// Lets every note go.
    pub fn release(&mut self) {
        for voice in &mut self.pool {
            voice.release();
        }
        if let Some(players) = &mut self.players {
            players.release();
        }
    }

    /// Whether no voice of our own sounds any more.
    pub fn is_silent(&self) -> bool {
        self.pool.iter().all(|voice| voice.level() == 0.0)
    }

    /// Writes the next frames over `out`; no sample is beyond -1 dBFS.
    pub fn render(&mut self, out: &mut [f32]) {
        for chunk in out.chunks_mut(CHUNK) {
            chunk.fill(0.0);
            for part in Part::ALL {
                self.add_part(part, chunk);
            }
            for sample in chunk {
                *sample = limiter::limit(*sample);
            }
        }
    }

    /// Adds what a part sounds, at its place in the mix.
    fn add_part(&mut self, part: Part, out: &mut [f32]) {
        let mut frames = [0.0; CHUNK];
        let frames = &mut frames[..out.len()];
        for voice in self.pool.iter_mut().filter(|voice| voice.part() == part && voice.level() > 0.0) {
            voice.add_to(frames, self.mix.own(part));
        }
        if let Some(players) = &mut self.players {
            players.add_to(part, frames, self.mix.sound_font(part));
        }
        for (sample, frame) in out.iter_mut().zip(frames) {
            *sample += *frame * self.mix.next(part);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const RATE: u32 = 48_000;
    /// -1 dBFS as a share of full scale: 10^(-1/20).
    const PEAK: f32 = 0.891_251;

    fn voices() -> Voices {
        Voices::new(FrameRate::new(RATE).expect("a rate"))
    }

    fn strike(part: Part, key: u8, velocity: u8) -> Strike {
        Strike { part, key, velocity, length: FrameSpan(i64::from(RATE) / 2) }
    }

    fn peak(frames: &[f32]) -> f32 {
        frames.iter().fold(0.0, |peak, sample| peak.max(sample.abs()))
    }

    #[test]
    fn every_part_sounds_and_dies_away() {
        for part in Part::ALL {
            let mut voices = voices();
            voices.strike(strike(part, 45, 80));
            let mut out = vec![0.0; RATE as usize / 10];
            voices.render(&mut out);
            assert!(peak(&out) > 0.01, "{part:?}: {}", peak(&out));
            (0..100).for_each(|_| voices.render(&mut out));
            assert!(voices.is_silent(), "{part:?} still sounds after ten seconds");
            assert!(peak(&out) <= 0.0);
        }
    }

    #[test]
    fn a_muted_part_is_silent() {
        let mut voices = voices();
        voices.hear(Part::Bass, Hearing::Muted);
        voices.strike(strike(Part::Bass, 40, 127));
        let mut out = [1.0; 512];
        voices.render(&mut out);
        assert!(peak(&out) <= 0.0);
        voices.hear(Part::Bass, Hearing::Heard);
        voices.render(&mut out);
        assert!(peak(&out) > 0.0);
    }

    #[test]
    fn the_bass_is_in_tune() {
        // A1 is 55 Hz (A4 = 440 Hz, equal temperament): upward zero crossings of its fundamental count the periods.
        let mut voices = voices();
        voices.strike(Strike { length: FrameSpan(i64::from(RATE) * 2), ..strike(Part::Bass, 33, 100) });
        let mut out = vec![0.0; RATE as usize];
        voices.render(&mut out);
        let power_at = |hertz: f32| {
            let angle = |i: usize| std::f32::consts::TAU * hertz * i as f32 / RATE as f32;
            let (re, im) = out.iter().enumerate().fold((0.0, 0.0), |(re, im), (i, sample)| {
                (re + sample * angle(i).cos(), im + sample * angle(i).sin())
            });
            re * re + im * im
        };
        let in_tune = power_at(55.0);
        assert!(in_tune > 50.0 * power_at(58.27).max(power_at(51.91)), "its neighbours are fainter");
    }

    /// The largest difference between a sample and the next.
    fn largest_jump(frames: &[f32]) -> f32 {
        frames.windows(2).fold(0.0, |largest, pair| largest.max((pair[1] - pair[0]).abs()))
    }

    #[test]
    fn muting_stopping_and_making_room_click_no_more_than_a_note_begins() {
        for part in [Part::Bass, Part::Comp, Part::Line, Part::Kick] {
            let held = || {
                let mut voices = voices();
                let mut out = vec![0.0; RATE as usize / 10];
                for key in [40, 45] {
                    let length = FrameSpan(i64::MAX);
                    voices.strike(Strike { length, ..strike(part, key, 100) });
                }
                voices.render(&mut out);
                (voices, out)
            };
            let (_, begun) = held();
            let check = |what: &str, change: &dyn Fn(&mut Voices)| {
                let (mut voices, mut out) = held();
                let last = *out.last().expect("frames");
                change(&mut voices);
                voices.render(&mut out);
                out.insert(0, last);
                let (jump, attack) = (largest_jump(&out), largest_jump(&begun));
                assert!(jump <= attack, "{part:?}, {what}: {jump} for {attack}");
            };
            check("muted", &|voices| voices.hear(part, Hearing::Muted));
            check("stopped", &Voices::release);
            check("set", &|voices| voices.set_levels(&"bass=-40,comp=-40,kick=-40".parse().expect("levels")));
            // As many notes as fill the part, too soft to be heard themselves: the loud ones never give way to them.
            check("filled", &|voices| {
                (0..most(part) as u8).for_each(|key| voices.strike(strike(part, 50 + key, 1)));
            });
        }
    }

    #[test]
    fn more_strikes_than_there_are_voices_break_nothing() {
        let mut voices = voices();
        let mut out = [0.0; 64];
        for i in 0..300_u32 {
            voices.strike(strike(Part::ALL[i as usize % 7], 30 + (i % 50) as u8, 127));
        }
        voices.render(&mut out);
        assert!(out.iter().all(|sample| sample.abs() <= PEAK));
    }

    #[test]
    fn levels_are_heard_as_they_are_set() {
        let loudness = |levels: &str| {
            let mut voices = voices();
            voices.set_levels(&levels.parse().expect("levels"));
            voices.strike(strike(Part::Comp, 55, 70));
            let mut out = vec![0.0; 4_800];
            voices.render(&mut out);
            peak(&out)
        };
        assert!((loudness("comp=-6") / loudness("usual") - 0.501).abs() < 0.001);
        assert!((loudness("bass=-6") / loudness("usual") - 1.0).abs() < f32::EPSILON);
    }

    #[test]
    fn releasing_ends_every_note_within_half_a_second() {
        let mut voices = voices();
        for part in Part::ALL {
            voices.strike(Strike { length: FrameSpan(i64::MAX), ..strike(part, 50, 100) });
        }
        voices.release();
        let mut out = vec![0.0; RATE as usize / 2];
        voices.render(&mut out);
        assert!(voices.is_silent());
    }

    proptest! {
        #[test]
        fn no_sample_is_beyond_minus_one_decibel_or_no_number(
            strikes in prop::collection::vec((0usize..7, 0u8..128, 1u8..128), 1..60),
            rate in prop::sample::select(vec![8_000u32, 44_100, 48_000, 192_000]),
        ) {
            let mut voices = Voices::new(FrameRate::new(rate).expect("a rate"));
            let mut out = [0.0; 331];
            for (part, key, velocity) in strikes {
                voices.strike(strike(Part::ALL[part], key, velocity));
                voices.render(&mut out);
                prop_assert!(out.iter().all(|sample| sample.is_finite()));
                prop_assert!(peak(&out) <= PEAK);
            }
        }

        #[test]
        fn block_sizes_make_no_difference(cuts in prop::collection::vec(1usize..700, 1..12)) {
            let (mut whole, mut cut) = (voices(), voices());
            for part in Part::ALL {
                whole.strike(strike(part, 43, 90));
                cut.strike(strike(part, 43, 90));
            }
            let mut at_once = vec![0.0; cuts.iter().sum()];
            let mut in_blocks = at_once.clone();
            whole.render(&mut at_once);
            let mut rest = &mut in_blocks[..];
            for frames in cuts {
                let (block, after) = rest.split_at_mut(frames);
                cut.render(block);
                rest = after;
            }
            prop_assert_eq!(at_once, in_blocks);
        }
    }
}
