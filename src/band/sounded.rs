//! An arrangement as sound, away from any device: the same voices, as fast as they can be computed.

use super::voices::{Hearing, Strike, Voices};
use super::{Arrangement, Part};
use crate::time::{FrameRate, FrameSpan, Frames, NanoSpan, Nanos, TempoMap, Ticks};

/// Frames that are computed at a time.
const BLOCK: usize = 512;
/// How long the last notes get to die away.
const TAIL: NanoSpan = NanoSpan::millis(3_000);

/// Computes the sound of an arrangement, without the parts in `left_out`, and hands it over block by block.
///
/// Each note begins on its own frame, as in a take. An error of `take` ends it.
pub fn sounded<E>(
    arrangement: &Arrangement,
    tempo: &TempoMap,
    rate: FrameRate,
    left_out: &[Part],
    mut take: impl FnMut(&[f32]) -> Result<(), E>,
) -> Result<(), E> {
    let mut voices = Voices::new(rate);
    for &part in left_out {
        voices.hear(part, Hearing::Muted);
    }
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
