//! The synthesizers that play a SoundFont, one a part: made away from the audio thread, used on it.
//!
//! The real-time law holds for all but [`Players::new`]: neither starting a note nor rendering allocates (read in the
//! library's source, proved by `tests/real_time_law.rs`). No reverb, no chorus: the band stands as dry as it does
//! without a SoundFont, and a part that is muted is silent.

use std::sync::Arc;

use rustysynth::{Synthesizer, SynthesizerSettings};

use super::Program;
use crate::band::Part;
use crate::band::voices::envelope::fall;
use crate::band::voices::{CHUNK, Strike};
use crate::time::FrameRate;

/// Frames in which the synthesizers work: a note begins on the first frame of the next such block, at most seven frames
/// late, which is 0.15 ms at 48,000 frames a second. The library's smallest.
pub const BLOCK: usize = 8;
/// Sounds of a part at once; a note may take several.
const SOUNDS: usize = 32;
/// Notes of a part that wait to be let go.
const HELD: usize = 16;
/// What the middle of the panorama is multiplied by on each side is undone by this: the two sides are added up.
const SIDES: f32 = std::f32::consts::FRAC_1_SQRT_2;
/// A part that is let go as a whole falls to 1/e in this time.
const RELEASE_SECONDS: f32 = 0.04;

/// Commands on the wire (MIDI 1.0).
const PROGRAM_CHANGE: i32 = 0xc0;
const CONTROL_CHANGE: i32 = 0xb0;
const VOLUME: i32 = 7;
const FULL: i32 = 127;

/// A player for each part that a SoundFont has.
#[derive(Debug)]
pub struct Players {
    players: [Option<Player>; Part::ALL.len()],
}

/// A synthesizer that plays one part.
#[derive(Debug)]
struct Player {
    synthesizer: Synthesizer,
    channel: i32,
    held: [Option<Held>; HELD],
    has_played: bool,
    /// What is left since the part was let go as a whole, and how fast that falls.
    left: f32,
    fall: f32,
    release_fall: f32,
}

/// A note that sounds.
#[derive(Clone, Copy, Debug)]
struct Held {
    key: i32,
    frames_left: i64,
}

impl Players {
    /// Players of the parts that `has` names; `None` at a rate the library does not play at.
    pub(super) fn new(
        font: &Arc<rustysynth::SoundFont>,
        has: [bool; Part::ALL.len()],
        rate: FrameRate,
    ) -> Option<Self> {
        let mut players = [const { None }; Part::ALL.len()];
        for part in Part::ALL.into_iter().filter(|&part| has[part as usize]) {
            players[part as usize] = Some(Player::new(font, Program::of(part), rate)?);
        }
        Some(Self { players })
    }

    /// Starts a note; says no where the part is not here.
    pub fn strike(&mut self, strike: Strike) -> bool {
        let player = self.players[strike.part as usize].as_mut();
        player.map(|player| player.strike(strike)).is_some()
    }

    /// Whether a part has played anything here.
    pub fn has_played(&self, part: Part) -> bool {
        self.players[part as usize].as_ref().is_some_and(|player| player.has_played)
    }

    /// Lets every note go.
    pub fn release(&mut self) {
        for player in self.players.iter_mut().flatten() {
            player.release();
        }
    }

    /// Adds a part's next frames, at most [`CHUNK`], to `out`.
    pub(in crate::band::voices) fn add_to(&mut self, part: Part, out: &mut [f32], gain: f32) {
        let player = self.players[part as usize].as_mut().filter(|player| player.has_played);
        if let Some(player) = player {
            player.add_to(out, gain);
        }
    }
}

impl Player {
    fn new(font: &Arc<rustysynth::SoundFont>, program: Program, rate: FrameRate) -> Option<Self> {
        let mut settings = SynthesizerSettings::new(i32::try_from(rate.hertz()).ok()?);
        settings.block_size = BLOCK;
        settings.maximum_polyphony = SOUNDS;
        settings.enable_reverb_and_chorus = false;
        let mut synthesizer = Synthesizer::new(font, &settings).ok()?;
        synthesizer.set_master_volume(1.0);
        let channel = program.channel;
        synthesizer.process_midi_message(channel, PROGRAM_CHANGE, program.number, 0);
        synthesizer.process_midi_message(channel, CONTROL_CHANGE, VOLUME, FULL);
        let release_fall = fall(RELEASE_SECONDS, rate.hertz() as f32);
        Some(Self {
            synthesizer,
            channel,
            held: [None; HELD],
            has_played: false,
            left: 1.0,
            fall: 1.0,
            release_fall,
        })
    }

    fn strike(&mut self, strike: Strike) {
        if self.fall < 1.0 {
            self.synthesizer.note_off_all(true);
            (self.left, self.fall) = (1.0, 1.0);
        }
        self.has_played = true;
        let key = i32::from(strike.key.min(127));
        let slot = self.slot(key);
        if let Some(before) = self.held[slot].take() {
            self.synthesizer.note_off(self.channel, before.key);
        }
        self.synthesizer.note_on(self.channel, key, i32::from(strike.velocity.clamp(1, 127)));
        self.held[slot] = Some(Held { key, frames_left: strike.length.0.max(1) });
    }

    /// Where a note is kept: where the same key is, else a free place, else that of the note that ends soonest.
    fn slot(&self, key: i32) -> usize {
        let urgency = |held: &Option<Held>| match held {
            Some(held) if held.key == key => -2,
            None => -1,
            Some(held) => held.frames_left,
        };
        let slots = self.held.iter().enumerate();
        slots.min_by_key(|(_, held)| urgency(held)).map_or(0, |(slot, _)| slot)
    }

    fn release(&mut self) {
        self.synthesizer.note_off_all(false);
        self.held = [None; HELD];
        self.fall = self.release_fall;
    }

    fn add_to(&mut self, out: &mut [f32], gain: f32) {
        let mut rest = out;
        while !rest.is_empty() {
            let until = self.held.iter().flatten().map(|held| held.frames_left).min().unwrap_or(i64::MAX);
            let frames = rest.len().min(CHUNK).min(usize::try_from(until).unwrap_or(CHUNK).max(1));
            let (block, after) = rest.split_at_mut(frames);
            self.add_block(block, gain);
            self.let_go(frames as i64);
            rest = after;
        }
    }

    fn add_block(&mut self, out: &mut [f32], gain: f32) {
        let (mut left, mut right) = ([0.0; CHUNK], [0.0; CHUNK]);
        let (left, right) = (&mut left[..out.len()], &mut right[..out.len()]);
        self.synthesizer.render(left, right);
        for (sample, (left, right)) in out.iter_mut().zip(left.iter().zip(right)) {
            let both = (left + *right) * SIDES * gain * self.left;
            // What a damaged sound may make of itself is not passed on to the others.
            *sample += if both.is_finite() { both } else { 0.0 };
            self.left *= self.fall;
            if self.left < 1e-6 {
                self.left = 0.0;
            }
        }
    }

    /// Lets go the notes that end within these frames.
    fn let_go(&mut self, frames: i64) {
        for slot in &mut self.held {
            if let Some(held) = slot {
                held.frames_left -= frames;
                if held.frames_left <= 0 {
                    self.synthesizer.note_off(self.channel, held.key);
                    *slot = None;
                }
            }
        }
    }
}
