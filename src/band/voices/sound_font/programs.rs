//! Which sound of a SoundFont each part takes, by the numbers of General MIDI, and whether it can be played safely.

use rustysynth::{InstrumentRegion, LoopMode, PresetRegion};

use super::{Fault, NoSoundFont};
use crate::band::Part;

/// The bank of drum kits in a SoundFont.
const DRUM_BANK: i32 = 128;
/// The channel of drums, counted from 0: channel 10 (General MIDI Level 1).
const DRUM_CHANNEL: i32 = 9;
/// The lowest rate that a SoundFont is played at, in hertz: there a sample is stepped through in the largest steps.
const LOWEST_RATE: f64 = 16_000.0;
/// No sample is stepped through in larger steps.
const LARGEST_STEP: f64 = 65_536.0;

/// The sound that a part takes. Numbers count from 0, as on the wire (General MIDI Level 1, from memory).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Program {
    /// Where the part plays, from 0.
    pub channel: i32,
    bank: i32,
    /// The number of the sound.
    pub number: i32,
    name: &'static str,
}

impl Program {
    /// The sound of a part: acoustic bass, electric piano, a jazz guitar for a line, the standard drum kit. Each part has
    /// a synthesizer of its own, so that it can have its level; the drums all play on channel 10 of theirs.
    pub const fn of(part: Part) -> Self {
        match part {
            Part::Bass => Self { channel: 0, bank: 0, number: 32, name: "33 acoustic bass" },
            Part::Comp => Self { channel: 0, bank: 0, number: 4, name: "5 electric piano" },
            Part::Line => Self { channel: 0, bank: 0, number: 26, name: "27 jazz guitar" },
            Part::Ride | Part::Hat | Part::Kick | Part::Click => {
                Self { channel: DRUM_CHANNEL, bank: DRUM_BANK, number: 0, name: "drums, bank 128" }
            }
        }
    }
}

/// The sounds the band takes, to print; each once.
pub(super) fn listed() -> String {
    let mut names: Vec<_> = Part::ALL.into_iter().map(|part| Program::of(part).name).collect();
    names.dedup();
    names.join(", ")
}

/// Whether a font has a sound; refuses one that cannot be played safely.
pub(super) fn check(font: &rustysynth::SoundFont, program: Program) -> Result<bool, NoSoundFont> {
    let mut presets = font.get_presets().iter();
    let preset = presets.rfind(|preset| {
        preset.get_bank_number() == program.bank && preset.get_patch_number() == program.number
    });
    let Some(preset) = preset else { return Ok(false) };
    for outer in preset.get_regions() {
        let instrument = &font.get_instruments()[outer.get_instrument_id()];
        let hertz =
            |inner: &InstrumentRegion| font.get_sample_headers()[inner.get_sample_id()].get_sample_rate();
        if !instrument.get_regions().iter().all(|inner| is_safe(outer, inner, hertz(inner))) {
            return Err(Fault::Loop.into());
        }
    }
    Ok(preset
        .get_regions()
        .iter()
        .any(|outer| !font.get_instruments()[outer.get_instrument_id()].get_regions().is_empty()))
}

/// Whether the steps in which a sample is read never leap over the stretch that it repeats: then reading would run away
/// from it and out of all there is.
fn is_safe(outer: &PresetRegion, inner: &InstrumentRegion, hertz: i32) -> bool {
    let step = f64::from(hertz) / LOWEST_RATE * largest_bend(outer, inner);
    let (start, end) = (inner.get_sample_start_loop(), inner.get_sample_end_loop());
    let repeats = inner.get_sample_modes() != LoopMode::NoLoop && start < end;
    let room = if repeats { f64::from(end - start) } else { LARGEST_STEP };
    step < room.min(LARGEST_STEP)
}

/// How many times as fast as it was recorded a sample is read at most: at any key, everything that bends it included.
fn largest_bend(outer: &PresetRegion, inner: &InstrumentRegion) -> f64 {
    let both = |outer: i32, inner: i32| f64::from(outer) + f64::from(inner);
    let bent_cents = both(outer.get_vibrato_lfo_to_pitch(), inner.get_vibrato_lfo_to_pitch()).abs()
        + both(outer.get_modulation_lfo_to_pitch(), inner.get_modulation_lfo_to_pitch()).abs()
        + both(outer.get_modulation_envelope_to_pitch(), inner.get_modulation_envelope_to_pitch()).abs();
    let scale = both(outer.get_scale_tuning(), inner.get_scale_tuning()) / 100.0;
    let root = f64::from(inner.get_root_key());
    let low = outer.get_key_range_start().max(inner.get_key_range_start()).max(0);
    let high = outer.get_key_range_end().min(inner.get_key_range_end()).min(127);
    let bent = bent_cents / 100.0;
    let turned =
        |key: i32| (scale * (f64::from(key) - root + bent)).max(scale * (f64::from(key) - root - bent));
    let tuned = both(outer.get_coarse_tune(), inner.get_coarse_tune())
        + both(outer.get_fine_tune(), inner.get_fine_tune()) / 100.0;
    let semitones = turned(low).max(turned(high)) + tuned;
    (semitones / 12.0).exp2()
}
