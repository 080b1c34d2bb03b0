//! Sound out by cpal: the only file that knows it.
//!
//! It opens the device, converts the band's one channel of floats to what the device wants, and tells lost devices from
//! hiccups. The callback's work is in [`super::callback`].

mod find;
mod reports;

use std::sync::Arc;

use cpal::traits::{DeviceTrait, StreamTrait};
use cpal::{
    BufferSize, FromSample, SampleFormat, SizedSample, StreamConfig, StreamInstant, SupportedBufferSize,
};

use super::buffer::{Buffer, BufferWatch};
use super::callback::Callback;
use super::clock::HostClock;
use super::devices::{SoundOut, SoundState};
use super::plan::SoundNames;
use super::wires::{AudioEnd, FromAudio, ToAudio, ToAudioEnd};
use crate::time::{FrameRate, FrameSpan, NanoSpan, Nanos};

pub use find::{Found, find, host_names};
use reports::{Pace, Reports};

/// Frames that are rendered at a time, whatever the device asks for.
const SCRATCH: usize = 512;
/// The name of the JACK host.
pub const JACK: &str = "jack";

/// Says why no sound device could be opened.
#[derive(Debug, thiserror::Error)]
pub enum AudioError {
    /// No host of that name is built in, or it does not answer.
    #[error("no sound host is called \"{wanted}\"; there are: {there}")]
    Host {
        /// What was asked for.
        wanted: String,
        /// Those that answer.
        there: String,
    },
    /// The host has no output of that name.
    #[error("no sound device is called \"{wanted}\" on {host}; {there}")]
    NotCalled {
        /// What was asked for.
        wanted: String,
        /// The host.
        host: String,
        /// Those that there are, in words.
        there: String,
    },
    /// The device takes sound as fast as it is given.
    #[error("the null device keeps no time and cannot be played along with")]
    Null,
    /// The host has no output.
    #[error("no output device")]
    NoDevice,
    /// There is no JACK server: the library gives no device then, and no reason.
    #[error("no JACK server answers")]
    NoServer,
    /// The device refuses.
    #[error("cannot {operation}: {error}")]
    Refused {
        /// What was tried.
        operation: &'static str,
        /// What the library says.
        error: cpal::Error,
    },
    /// The device names a sample format or rate that no code here fits.
    #[error("the device wants {0}, which is not supported")]
    Unsupported(String),
}

impl AudioError {
    /// The error, and which hosts there are where it does not say what is there.
    pub fn with_what_is_there(&self) -> String {
        match self {
            Self::Host { .. } | Self::NotCalled { .. } => self.to_string(),
            _ => format!("{self}; sound hosts of this build: {}", host_names().join(", ")),
        }
    }
}

fn refused(operation: &'static str) -> impl FnOnce(cpal::Error) -> AudioError {
    move |error| AudioError::Refused { operation, error }
}

/// A running cpal stream.
pub struct CpalSound {
    stream: cpal::Stream,
    wires: ToAudioEnd,
    rate: FrameRate,
    clock: HostClock,
    reports: Arc<Reports>,
    /// How fast sound is taken; a JACK server may run as fast as it can, and is believed.
    pace: Option<Pace>,
    /// Where the size of the buffer can be chosen: whether it has to be larger.
    buffer: Option<BufferWatch>,
}

impl CpalSound {
    /// Opens the output of these names and starts it, with as many frames a buffer as `buffer` says where it can.
    pub fn open(
        names: &SoundNames,
        (session, audio): (ToAudioEnd, AudioEnd),
        clock: HostClock,
        buffer: Arc<Buffer>,
    ) -> Result<Self, AudioError> {
        let found = find(names)?;
        let supported = found.format()?;
        let format = supported.sample_format();
        let size = buffer_size(supported.buffer_size(), buffer.frames());
        let most =
            if let SupportedBufferSize::Range { max, .. } = supported.buffer_size() { *max } else { 0 };
        let mut config: StreamConfig = supported.into();
        // In a JACK server its own period rules.
        if !found.is_jack() {
            config.buffer_size = size;
        }
        let unsupported = || AudioError::Unsupported(format!("{} frames a second", config.sample_rate));
        let rate = FrameRate::new(config.sample_rate).ok_or_else(unsupported)?;
        let reports = Arc::new(Reports::default());
        let ends = Ends { callback: Callback::new(audio, rate), rate, reports: Arc::clone(&reports) };
        let stream = build(&found, config, format, ends)?;
        stream.play().map_err(refused("start the device"))?;
        let pace = (!found.is_jack()).then(Pace::default);
        let buffer = (!found.is_jack()).then(|| BufferWatch::new(buffer, most));
        Ok(Self { stream, wires: session, rate, clock, reports, pace, buffer })
    }

    /// How long sound takes from the callback on; `None` where the device does not tell, or cannot be believed.
    pub fn latency(&self) -> Option<NanoSpan> {
        self.reports.latency()
    }
}

/// The size nearest to ours that the device can do.
fn buffer_size(supported: &SupportedBufferSize, frames: u32) -> BufferSize {
    match supported {
        SupportedBufferSize::Range { min, max } => BufferSize::Fixed(frames.min(*max).max(*min)),
        SupportedBufferSize::Unknown => BufferSize::Default,
    }
}

/// What the library's two callbacks are given.
struct Ends {
    callback: Callback,
    rate: FrameRate,
    reports: Arc<Reports>,
}

fn build(
    found: &Found,
    config: StreamConfig,
    format: SampleFormat,
    ends: Ends,
) -> Result<cpal::Stream, AudioError> {
    match format {
        SampleFormat::I8 => build_as::<i8>(found, config, ends),
        SampleFormat::I16 => build_as::<i16>(found, config, ends),
        SampleFormat::I24 => build_as::<cpal::I24>(found, config, ends),
        SampleFormat::I32 => build_as::<i32>(found, config, ends),
        SampleFormat::I64 => build_as::<i64>(found, config, ends),
        SampleFormat::U8 => build_as::<u8>(found, config, ends),
        SampleFormat::U16 => build_as::<u16>(found, config, ends),
        SampleFormat::U32 => build_as::<u32>(found, config, ends),
        SampleFormat::F32 => build_as::<f32>(found, config, ends),
        SampleFormat::F64 => build_as::<f64>(found, config, ends),
        other => Err(AudioError::Unsupported(other.to_string())),
    }
}

fn build_as<T: SizedSample + FromSample<f32>>(
    found: &Found,
    config: StreamConfig,
    Ends { mut callback, rate, reports }: Ends,
) -> Result<cpal::Stream, AudioError> {
    let channels = usize::from(config.channels).max(1);
    let mut scratch = [0.0; SCRATCH];
    let errors = Arc::clone(&reports);
    // A JACK server may run faster than time; its two instants then say little, but they name the cycle.
    let is_jack = found.is_jack();
    let fill = move |out: &mut [T], info: &cpal::OutputCallbackInfo| {
        let frames = FrameSpan((out.len() / channels) as i64);
        let (called, told) = (on_stream(info.timestamp().callback), on_stream(info.timestamp().playback));
        let heard_at = reports.heard_at(called, told, rate.nanos(frames));
        callback.tell(frames, if is_jack { told } else { heard_at });
        fill_device(&mut callback, &mut scratch, out, channels);
    };
    found
        .device
        .build_output_stream(config, fill, move |error| errors.note(error.kind()), None)
        .map_err(refused("open the device"))
}

/// Renders into every channel of the device's buffer alike, in the device's own samples.
fn fill_device<T: SizedSample + FromSample<f32>>(
    callback: &mut Callback,
    scratch: &mut [f32; SCRATCH],
    out: &mut [T],
    channels: usize,
) {
    for block in out.chunks_mut(SCRATCH * channels) {
        let frames = &mut scratch[..block.len() / channels];
        callback.fill(frames);
        for (frame, sample) in block.chunks_mut(channels).zip(frames) {
            frame.fill(T::from_sample(*sample));
        }
    }
}

fn on_stream(instant: StreamInstant) -> Nanos {
    Nanos(i64::try_from(instant.as_nanos()).unwrap_or(i64::MAX))
}

impl SoundOut for CpalSound {
    fn rate(&self) -> FrameRate {
        self.rate
    }

    fn send(&mut self, order: ToAudio) -> Result<(), ToAudio> {
        self.wires.orders.push(order).map_err(|rtrb::PushError::Full(order)| order)
    }

    fn news(&mut self, now: Nanos) -> Option<FromAudio> {
        self.wires.free_garbage();
        if self.outruns(now) {
            return None;
        }
        let news = self.wires.news.pop().ok()?;
        if let Some(pace) = &mut self.pace {
            pace.took(news.frames, now);
        }
        // Hosts start their instants at zeros of their own and may drift: pair the two clocks again for each news.
        let distance = self.clock.now() - on_stream(self.stream.now());
        Some(FromAudio { heard_at: news.heard_at + distance, ..news })
    }

    fn state(&mut self) -> SoundState {
        let now = self.clock.now();
        if let Some(kind) = self.reports.lost() {
            return SoundState::Lost(kind.to_string());
        }
        if self.outruns(now) {
            return SoundState::Outruns;
        }
        let underruns = self.reports.underruns();
        self.buffer.as_mut().map_or(SoundState::Runs, |buffer| buffer.state(now, underruns))
    }

    fn underruns(&self) -> Option<u64> {
        Some(self.reports.underruns())
    }
}

impl CpalSound {
    fn outruns(&self, now: Nanos) -> bool {
        self.pace.is_some_and(|pace| pace.outruns(now, self.rate))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::Part;
    use crate::band::voices::Strike;
    use crate::live::wires::wires;
    use crate::time::Frames;

    fn filled<T: SizedSample + FromSample<f32>>(channels: usize, frames: usize) -> Vec<T> {
        let (mut session, audio) = wires().audio;
        let strike = Strike { part: Part::Bass, key: 40, velocity: 100, length: FrameSpan(9999) };
        session.orders.push(ToAudio::Strike { at: Frames::ZERO, strike }).expect("room");
        let mut callback = Callback::new(audio, FrameRate::new(48_000).expect("a rate"));
        let mut out = vec![T::EQUILIBRIUM; frames * channels];
        fill_device(&mut callback, &mut [0.0; SCRATCH], &mut out, channels);
        out
    }

    #[test]
    fn every_channel_gets_the_same_in_every_format() {
        let floats = filled::<f32>(1, 1500);
        let stereo = filled::<f32>(2, 1500);
        assert!(stereo.chunks(2).zip(&floats).all(|(frame, sample)| frame == [*sample; 2]));
        let shorts = filled::<i16>(1, 1500);
        let as_short = |sample: f32| (sample * 32_768.0).round() as i32;
        assert!(floats.iter().zip(shorts).all(|(f, s)| (as_short(*f) - i32::from(s)).abs() <= 1));
        let unsigned = filled::<u8>(3, 700);
        assert!(unsigned.iter().any(|sample| *sample != 128), "silence is 128, and this is none");
    }
}
