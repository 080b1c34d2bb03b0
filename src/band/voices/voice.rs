//! One voice: an oscillator or noise, an envelope and a filter.

use super::Strike;
use crate::band::Part;

/// Below this a voice has died away: -80 dB.
const INAUDIBLE: f32 = 1e-4;
/// How long a note swells in, so that nothing clicks that is no click.
const ATTACK_SECONDS: f32 = 0.003;
/// How fast a note falls once it is let go: to a third in this time.
const RELEASE_SECONDS: f32 = 0.04;

/// How a part sounds.
#[derive(Clone, Copy, Debug)]
struct Timbre {
    source: Source,
    /// The note falls to a third in this time.
    decay_seconds: f32,
    /// The low-pass opens to this many times the pitch when struck and closes with the note.
    brightness: f32,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Source {
    /// A band-limited saw: bass and comping.
    Saw,
    /// A sine: click and kick.
    Sine,
    /// High noise: cymbals.
    Noise,
}

/// The side stick of the General MIDI percussion map: a knock, among the strokes of the ride.
const SIDE_STICK: u8 = 37;

const fn timbre(part: Part, key: u8) -> Timbre {
    let (source, decay_seconds, brightness) = match part {
        Part::Ride if key == SIDE_STICK => (Source::Sine, 0.015, 0.0),
        Part::Bass => (Source::Saw, 0.9, 10.0),
        Part::Comp => (Source::Saw, 0.5, 5.0),
        Part::Line => (Source::Saw, 0.7, 7.0),
        Part::Ride => (Source::Noise, 0.25, 0.0),
        Part::Hat => (Source::Noise, 0.04, 0.0),
        Part::Kick => (Source::Sine, 0.07, 0.0),
        Part::Click => (Source::Sine, 0.012, 0.0),
    };
    Timbre { source, decay_seconds, brightness }
}

/// The pitch a part sounds at for a key: drums and click have pitches of their own.
fn hertz(part: Part, key: u8) -> f32 {
    match part {
        // The higher of the two keys of the click comes first in the percussion map.
        Part::Click if key == 76 => 1600.0,
        Part::Click => 1100.0,
        Part::Kick => 55.0,
        Part::Ride if key == SIDE_STICK => 820.0,
        _ => 440.0 * ((f32::from(key) - 69.0) / 12.0).exp2(),
    }
}

#[derive(Clone, Debug)]
pub(super) struct Voice {
    part: Part,
    source: Source,
    /// In periods, 0 to 1.
    phase: f32,
    /// Periods a frame.
    step: f32,
    level: f32,
    swell: f32,
    swell_step: f32,
    fall: f32,
    release_fall: f32,
    /// Frames until the note is let go.
    frames_left: i64,
    /// The low-pass: how far it follows a frame when the level is full, and where it is.
    follow: f32,
    filtered: f32,
    noise: u32,
}

/// The factor a frame that brings a level to a third (1/e) in `seconds`.
fn fall(seconds: f32, rate: f32) -> f32 {
    (-1.0 / (seconds * rate)).exp()
}

impl Voice {
    /// A voice that does not sound.
    pub const SILENT: Self = Self {
        part: Part::Click,
        source: Source::Sine,
        phase: 0.0,
        step: 0.0,
        level: 0.0,
        swell: 0.0,
        swell_step: 1.0,
        fall: 0.0,
        release_fall: 0.0,
        frames_left: 0,
        follow: 1.0,
        filtered: 0.0,
        noise: 0,
    };

    /// A voice at the start of a note.
    pub fn struck(strike: Strike, rate: f32) -> Self {
        let timbre = timbre(strike.part, strike.key);
        let hertz = hertz(strike.part, strike.key).min(rate * 0.45);
        let attack = if timbre.source == Source::Saw { ATTACK_SECONDS } else { ATTACK_SECONDS / 6.0 };
        let cutoff = (hertz * timbre.brightness).min(rate * 0.45);
        Self {
            part: strike.part,
            source: timbre.source,
            phase: 0.0,
            step: hertz / rate,
            level: (f32::from(strike.velocity.min(127)) / 127.0).powi(2).max(INAUDIBLE * 2.0),
            swell: 0.0,
            swell_step: 1.0 / (attack * rate).max(1.0),
            fall: fall(timbre.decay_seconds, rate),
            release_fall: fall(RELEASE_SECONDS.min(timbre.decay_seconds), rate),
            frames_left: strike.length.0,
            follow: 1.0 - (-std::f32::consts::TAU * cutoff / rate).exp(),
            filtered: 0.0,
            noise: 0x9e37_79b9 ^ u32::from(strike.key),
        }
    }

    pub const fn part(&self) -> Part {
        self.part
    }

    /// How loud the note is: 0 when it has died away.
    pub const fn level(&self) -> f32 {
        self.level
    }

    pub fn release(&mut self) {
        self.frames_left = 0;
    }

    /// Adds the next frames to `out`.
    pub fn add_to(&mut self, out: &mut [f32], gain: f32) {
        for sample in out {
            if self.level == 0.0 {
                return;
            }
            *sample += self.next() * gain;
        }
    }

    fn next(&mut self) -> f32 {
        let raw = match self.source {
            Source::Saw => self.low_passed(saw(self.phase, self.step)),
            Source::Sine => (std::f32::consts::TAU * self.phase).sin(),
            Source::Noise => self.high_noise(),
        };
        let sample = raw * self.level * self.swell;
        self.phase = (self.phase + self.step).fract();
        self.swell = (self.swell + self.swell_step).min(1.0);
        self.level *= if self.frames_left > 0 { self.fall } else { self.release_fall };
        self.frames_left -= i64::from(self.frames_left > 0);
        if self.level < INAUDIBLE {
            self.level = 0.0;
        }
        sample
    }

    /// One pole, closing as the note fades: the pluck.
    fn low_passed(&mut self, raw: f32) -> f32 {
        let follow = self.follow * (0.25 + 0.75 * self.level);
        self.filtered += follow * (raw - self.filtered);
        self.filtered
    }

    /// Noise less what is low in it. The generator is a xorshift (Marsaglia, *Xorshift RNGs*, 2003).
    fn high_noise(&mut self) -> f32 {
        self.noise ^= self.noise << 13;
        self.noise ^= self.noise >> 17;
        self.noise ^= self.noise << 5;
        let white = self.noise as i32 as f32 / i32::MAX as f32;
        self.filtered += 0.5 * (white - self.filtered);
        white - self.filtered
    }
}

/// A saw with its corner rounded by a polynomial over one frame either side, so that it hardly aliases (Välimäki &
/// Huovilainen, *Antialiasing Oscillators in Subtractive Synthesis*, 2007).
fn saw(phase: f32, step: f32) -> f32 {
    let corner = if phase < step {
        let t = phase / step;
        t + t - t * t - 1.0
    } else if phase > 1.0 - step {
        let t = (phase - 1.0) / step;
        t * t + t + t + 1.0
    } else {
        0.0
    };
    2.0 * phase - 1.0 - corner
}
