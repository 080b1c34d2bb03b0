//! One voice: an instrument that sounds a note, within its envelope.

use super::Strike;
use super::bass::{self, Bass};
use super::electric_piano::{self, ElectricPiano};
use super::envelope::{Envelope, Times, fall};
use super::hat::{self, Hat, Played};
use super::kick::{self, Kick};
use super::line::{self, Guitar};
use super::ride::{self, Ride};
use super::wood::{self, Wood};
use crate::band::Part;

/// Below this a voice has died away: -80 dB.
const INAUDIBLE: f32 = 1e-4;
/// A voice that is let go by [`Voice::release`] falls to 1/e in this time.
const RELEASE_SECONDS: f32 = 0.04;
/// One that makes room for another falls to 1/e in this time: too fast to be missed, too slow to click.
const GIVE_WAY_SECONDS: f32 = 0.004;

/// The side stick and the hi-hat closed by a stick, of the General MIDI percussion map: the one is among the strokes of
/// the ride, the other among those of the hat.
const SIDE_STICK_KEY: u8 = 37;
const CLOSED_HAT_KEY: u8 = 42;

/// What sounds.
#[derive(Clone, Debug)]
enum Instrument {
    Bass(Bass),
    ElectricPiano(ElectricPiano),
    Ride(Ride),
    Hat(Hat),
    Kick(Kick),
    Wood(Wood),
    Guitar(Guitar),
}

impl Instrument {
    fn next(&mut self) -> f32 {
        match self {
            Self::Bass(bass) => bass.next(),
            Self::ElectricPiano(piano) => piano.next(),
            Self::Ride(ride) => ride.next(),
            Self::Hat(hat) => hat.next(),
            Self::Kick(kick) => kick.next(),
            Self::Wood(wood) => wood.next(),
            Self::Guitar(guitar) => guitar.next(),
        }
    }
}

/// An instrument at the start of a note: its outer shape and how long it rings.
struct Struck {
    instrument: Instrument,
    times: Times,
    /// The longest of it falls to 1/e in this time.
    tau_seconds: f32,
}

/// What a part sounds with.
fn instrument(strike: Strike, velocity: f32, stroke: u32, rate: f32) -> Struck {
    let hertz = 440.0 * ((f32::from(strike.key) - 69.0) / 12.0).exp2();
    let struck = |instrument, times, tau_seconds| Struck { instrument, times, tau_seconds };
    match (strike.part, strike.key) {
        (Part::Bass, _) => {
            let bass = Bass::struck(hertz, velocity, stroke, rate);
            struck(Instrument::Bass(bass), bass::TIMES, Bass::tau_seconds(hertz))
        }
        (Part::Comp, _) => {
            let piano = ElectricPiano::struck(hertz, velocity, rate);
            struck(Instrument::ElectricPiano(piano), electric_piano::TIMES, electric_piano::TAU_SECONDS)
        }
        (Part::Ride, SIDE_STICK_KEY) => {
            let wood = Wood::side_stick(stroke, rate);
            struck(Instrument::Wood(wood), wood::TIMES, wood::SIDE_STICK_TAU_SECONDS)
        }
        (Part::Ride, _) => {
            let ride = Ride::struck(velocity, stroke, rate);
            struck(Instrument::Ride(ride), ride::TIMES, ride::TAU_SECONDS)
        }
        (Part::Hat, CLOSED_HAT_KEY) => {
            let hat = Hat::struck(Played::Stick, stroke, rate);
            struck(Instrument::Hat(hat), hat::TIMES, hat::STICK_TAU_SECONDS)
        }
        (Part::Hat, _) => {
            let hat = Hat::struck(Played::Foot, stroke, rate);
            struck(Instrument::Hat(hat), hat::TIMES, hat::FOOT_TAU_SECONDS)
        }
        (Part::Kick, _) => {
            struck(Instrument::Kick(Kick::struck(stroke, rate)), kick::TIMES, kick::TAU_SECONDS)
        }
        (Part::Click, key) => {
            let wood = Wood::block(key, stroke, rate);
            struck(Instrument::Wood(wood), wood::TIMES, wood::CLICK_TAU_SECONDS)
        }
        (Part::Line, _) => {
            let guitar = Guitar::struck(hertz, velocity, stroke, rate);
            struck(Instrument::Guitar(guitar), line::TIMES, Guitar::tau_seconds(hertz))
        }
    }
}

#[derive(Clone, Debug)]
pub(super) struct Voice {
    part: Part,
    instrument: Instrument,
    envelope: Envelope,
    /// How hard it was struck, as a factor.
    loudness: f32,
    /// How far the instrument itself has died away: its slowest part, from 1 down.
    ringing: f32,
    ringing_fall: f32,
    gives_way: bool,
    rate: f32,
}

impl Voice {
    /// A voice at the start of a note; `stroke` counts the strokes, so that no two are the same noise.
    pub fn struck(strike: Strike, stroke: u32, rate: f32) -> Self {
        let velocity = f32::from(strike.velocity.min(127)) / 127.0;
        let Struck { instrument, times, tau_seconds } = instrument(strike, velocity, stroke, rate);
        Self {
            part: strike.part,
            instrument,
            envelope: Envelope::new(times, strike.length.0.max(1), rate),
            loudness: velocity.powi(2).max(INAUDIBLE * 2.0),
            ringing: 1.0,
            ringing_fall: fall(tau_seconds, rate),
            gives_way: false,
            rate,
        }
    }

    /// A voice that does not sound.
    pub fn silent(rate: f32) -> Self {
        let strike = Strike { part: Part::Click, key: 76, velocity: 1, length: crate::time::FrameSpan::ZERO };
        Self { ringing: 0.0, ..Self::struck(strike, 0, rate) }
    }

    pub const fn part(&self) -> Part {
        self.part
    }

    /// How loud the note is: 0 when it has died away.
    pub fn level(&self) -> f32 {
        self.loudness * self.ringing * self.envelope.left()
    }

    /// Whether it makes room for another already.
    pub const fn gives_way(&self) -> bool {
        self.gives_way
    }

    /// Lets it go, whatever it is.
    pub fn release(&mut self) {
        self.envelope.damp(RELEASE_SECONDS, self.rate);
    }

    /// Makes room for another.
    pub fn give_way(&mut self) {
        self.gives_way = true;
        self.envelope.damp(GIVE_WAY_SECONDS, self.rate);
    }

    /// Adds the next frames to `out`.
    pub fn add_to(&mut self, out: &mut [f32], gain: f32) {
        let gain = gain * self.loudness;
        for sample in out {
            if self.ringing == 0.0 {
                return;
            }
            *sample += self.instrument.next() * self.envelope.next() * gain;
            self.ringing *= self.ringing_fall;
            if self.level() < INAUDIBLE {
                self.ringing = 0.0;
            }
        }
    }
}
