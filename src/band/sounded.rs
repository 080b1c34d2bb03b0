//! An arrangement as sound, away from any device: the same voices, as fast as they can be computed.

use super::voices::sound_font::SoundFont;
use super::voices::{Hearing, Strike, Voices};
use super::{Arrangement, Levels, Part};
use crate::time::{FrameRate, FrameSpan, Frames, NanoSpan, Nanos, TempoMap, Ticks};

/// Frames that are computed at a time.
const BLOCK: usize = 512;
/// How long the last notes get to die away.
const TAIL: NanoSpan = NanoSpan::millis(3_000);

/// How the band is to sound.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sounding {
    /// Parts that play on silently.
    pub mutes: Vec<Part>,
    /// How loud each part is against the usual mix.
    pub levels: Levels,
    /// What plays the parts that it has; voices of our own play the others, and all of them at a rate it cannot play at.
    pub sound_font: Option<SoundFont>,
}

impl Sounding {
    /// Voices that sound so, for a device of this rate.
    pub fn voices(&self, rate: FrameRate) -> Voices {
        let mut voices = Voices::new(rate);
        for &part in &self.mutes {
            voices.hear(part, Hearing::Muted);
        }
        voices.set_levels(&self.levels);
        if let Some(players) = self.sound_font.as_ref().and_then(|font| font.players(rate)) {
            drop(voices.play_by(players));
        }
        voices
    }
}

/// Computes the sound of an arrangement and hands it over block by block.
///
/// Each note of a voice of our own begins on its own frame, as in a take; of a SoundFont within
/// [`BLOCK`](super::voices::sound_font::BLOCK) frames. An error of `take` ends it.
pub fn sounded<E>(
    arrangement: &Arrangement,
    tempo: &TempoMap,
    rate: FrameRate,
    sounding: &Sounding,
    mut take: impl FnMut(&[f32]) -> Result<(), E>,
) -> Result<(), E> {
    let mut voices = sounding.voices(rate);
    let frame = |at: Ticks| Frames::ZERO + rate.frames(tempo.nanos(at) - Nanos::ZERO);
    let strikes = arrangement.notes.iter().map(|note| {
        let at = frame(note.at);
        let length = frame(note.at + note.length) - at;
        (at, Strike { part: note.part, key: note.key.key(), velocity: note.velocity, length })
    });
    let end = frame(arrangement.end + arrangement.closing) + rate.frames(TAIL);
    let mut now = Frames::ZERO;
    let mut block = [0.0; BLOCK];
    let mut render = |voices: &mut Voices, until: Frames| {
        while now < until {
            let frames = usize::try_from((until - now).0).map_or(BLOCK, |left| left.min(BLOCK));
            voices.render(&mut block[..frames]);
            take(&block[..frames])?;
            now += FrameSpan(frames as i64);
        }
        Ok(())
    };
    for (at, strike) in strikes {
        render(&mut voices, at)?;
        voices.strike(strike);
    }
    render(&mut voices, end)
}

/// How long the sound of an arrangement is.
pub fn lasts(arrangement: &Arrangement, tempo: &TempoMap) -> NanoSpan {
    (tempo.nanos(arrangement.end + arrangement.closing) - Nanos::ZERO) + TAIL
}
