//! Sound out by cpal: the only file that knows it.
//!
//! It opens the device, converts the band's one channel of floats to what the device wants, and tells lost devices from
//! hiccups. The callback's work is in [`super::callback`].

use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, OnceLock};

use cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use cpal::{
    BufferSize, ErrorKind, FromSample, SampleFormat, SizedSample, StreamConfig, StreamInstant,
    SupportedBufferSize,
};

use super::callback::Callback;
use super::clock::HostClock;
use super::devices::{SoundOut, SoundState};
use super::wires::{AudioEnd, FromAudio, ToAudio, ToAudioEnd};
use crate::time::{FrameRate, FrameSpan, Nanos};

/// Frames that are rendered at a time, whatever the device asks for.
const SCRATCH: usize = 512;
/// The name of the JACK host.
pub const JACK: &str = "jack";
/// Frames asked of the device for each callback, where it can: a power of two, as some sound servers crackle at others.
const BUFFER: u32 = 512;

/// Says why no sound device could be opened.
#[derive(Debug, thiserror::Error)]
pub enum AudioError {
    /// No host of that name is built in, or it does not answer.
    #[error("no sound host \"{name}\" here: {error}")]
    Host {
        /// What was asked for.
        name: String,
        /// What the library says.
        error: cpal::Error,
    },
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

fn refused(operation: &'static str) -> impl FnOnce(cpal::Error) -> AudioError {
    move |error| AudioError::Refused { operation, error }
}

/// A running cpal stream.
pub struct CpalSound {
    stream: cpal::Stream,
    wires: ToAudioEnd,
    rate: FrameRate,
    clock: HostClock,
    trouble: Arc<Trouble>,
}

impl CpalSound {
    /// Opens the default output of `host` (the system's own without a name) and starts it.
    pub fn open(
        host: Option<&str>,
        (session, audio): (ToAudioEnd, AudioEnd),
        clock: HostClock,
    ) -> Result<Self, AudioError> {
        let none = if host == Some(JACK) { AudioError::NoServer } else { AudioError::NoDevice };
        let device = find_host(host)?.default_output_device().ok_or(none)?;
        let supported = device.default_output_config().map_err(refused("read the device's format"))?;
        let format = supported.sample_format();
        let size = buffer_size(supported.buffer_size());
        let mut config: StreamConfig = supported.into();
        // In a JACK server its own period rules.
        if host != Some(JACK) {
            config.buffer_size = size;
        }
        let unsupported = || AudioError::Unsupported(format!("{} frames a second", config.sample_rate));
        let rate = FrameRate::new(config.sample_rate).ok_or_else(unsupported)?;
        let trouble = Arc::new(Trouble::default());
        let callback = Callback::new(audio, rate);
        let stream = build(&device, config, format, callback, Arc::clone(&trouble))?;
        stream.play().map_err(refused("start the device"))?;
        Ok(Self { stream, wires: session, rate, clock, trouble })
    }
}

fn find_host(name: Option<&str>) -> Result<cpal::Host, AudioError> {
    let Some(name) = name else {
        return Ok(cpal::default_host());
    };
    let host = name.parse::<cpal::HostId>().and_then(cpal::host_from_id);
    host.map_err(|error| AudioError::Host { name: name.to_owned(), error })
}

/// The size nearest to ours that the device can do.
fn buffer_size(supported: &SupportedBufferSize) -> BufferSize {
    match supported {
        SupportedBufferSize::Range { min, max } => BufferSize::Fixed(BUFFER.min(*max).max(*min)),
        SupportedBufferSize::Unknown => BufferSize::Default,
    }
}

/// What the error callback leaves for the session. It may be called hundreds of thousands of times a second, so it
/// keeps the first loss only.
#[derive(Debug, Default)]
struct Trouble {
    lost: OnceLock<ErrorKind>,
    underruns: AtomicU64,
}

impl Trouble {
    fn note(&self, kind: ErrorKind) {
        match kind {
            ErrorKind::Xrun => {
                self.underruns.fetch_add(1, Ordering::Relaxed);
            }
            // The stream plays on, elsewhere or with less priority.
            ErrorKind::RealtimeDenied | ErrorKind::DeviceChanged => {}
            lost => {
                // Only the first counts: a second is refused.
                let _ = self.lost.set(lost);
            }
        }
    }
}

fn build(
    device: &cpal::Device,
    config: StreamConfig,
    format: SampleFormat,
    callback: Callback,
    trouble: Arc<Trouble>,
) -> Result<cpal::Stream, AudioError> {
    match format {
        SampleFormat::I8 => build_as::<i8>(device, config, callback, trouble),
        SampleFormat::I16 => build_as::<i16>(device, config, callback, trouble),
        SampleFormat::I24 => build_as::<cpal::I24>(device, config, callback, trouble),
        SampleFormat::I32 => build_as::<i32>(device, config, callback, trouble),
        SampleFormat::I64 => build_as::<i64>(device, config, callback, trouble),
        SampleFormat::U8 => build_as::<u8>(device, config, callback, trouble),
        SampleFormat::U16 => build_as::<u16>(device, config, callback, trouble),
        SampleFormat::U32 => build_as::<u32>(device, config, callback, trouble),
        SampleFormat::F32 => build_as::<f32>(device, config, callback, trouble),
        SampleFormat::F64 => build_as::<f64>(device, config, callback, trouble),
        other => Err(AudioError::Unsupported(other.to_string())),
    }
}

fn build_as<T: SizedSample + FromSample<f32>>(
    device: &cpal::Device,
    config: StreamConfig,
    mut callback: Callback,
    trouble: Arc<Trouble>,
) -> Result<cpal::Stream, AudioError> {
    let channels = usize::from(config.channels).max(1);
    let mut scratch = [0.0; SCRATCH];
    let fill = move |out: &mut [T], info: &cpal::OutputCallbackInfo| {
        let frames = FrameSpan((out.len() / channels) as i64);
        callback.tell(frames, on_stream(info.timestamp().playback));
        fill_device(&mut callback, &mut scratch, out, channels);
    };
    device
        .build_output_stream(config, fill, move |error| trouble.note(error.kind()), None)
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

    fn news(&mut self, _: Nanos) -> Option<FromAudio> {
        let news = self.wires.news.pop().ok()?;
        // Hosts start their instants at zeros of their own and may drift: pair the two clocks again for each news.
        let distance = self.clock.now() - on_stream(self.stream.now());
        Some(FromAudio { heard_at: news.heard_at + distance, ..news })
    }

    fn state(&mut self) -> SoundState {
        self.trouble.lost.get().map_or(SoundState::Runs, |kind| SoundState::Lost(kind.to_string()))
    }

    fn underruns(&self) -> Option<u64> {
        Some(self.trouble.underruns.load(Ordering::Relaxed))
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

    #[test]
    fn the_first_loss_is_kept_and_hiccups_are_none() {
        let trouble = Trouble::default();
        trouble.note(ErrorKind::Xrun);
        assert_eq!((trouble.lost.get(), trouble.underruns.load(Ordering::Relaxed)), (None, 1));
        trouble.note(ErrorKind::DeviceNotAvailable);
        trouble.note(ErrorKind::BackendError);
        assert_eq!(trouble.lost.get(), Some(&ErrorKind::DeviceNotAvailable));
    }
}
