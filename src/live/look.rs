//! A look at the devices without a take: which inputs there are, and what the sound output says of itself.

use super::plan::SoundNames;
use crate::time::{FrameSpan, NanoSpan};

/// What a sound output says of itself once it runs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SoundFacts {
    /// Its host: `alsa`.
    pub host: String,
    /// Its name.
    pub name: String,
    /// Frames a second.
    pub rate_hz: u32,
    /// How many frames it takes at a time.
    pub buffer: FrameSpan,
    /// How long sound takes; `None` where it does not tell, or cannot be believed.
    pub latency: Option<NanoSpan>,
    /// How often it ran dry while it was looked at.
    pub underruns: u64,
}

/// Whether a click is heard while the output is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TestClick {
    /// One, softly.
    Soft,
    /// None.
    None,
}

#[cfg(feature = "live")]
pub use with_devices::{inputs, sound};
#[cfg(not(feature = "live"))]
pub use without_devices::{inputs, sound};

#[cfg(not(feature = "live"))]
mod without_devices {
    use super::{SoundFacts, SoundNames, TestClick};

    /// The MIDI inputs there are: this build has none.
    pub fn inputs(_: Option<&str>) -> Result<Vec<String>, String> {
        Err("this build has no MIDI input".to_owned())
    }

    /// What the sound output says of itself: this build has none.
    pub fn sound(_: &SoundNames, _: TestClick) -> Result<SoundFacts, String> {
        Err("this build has no sound".to_owned())
    }
}

#[cfg(feature = "live")]
mod with_devices {
    use std::sync::Arc;
    use std::time::Duration;

    use super::{NanoSpan, SoundFacts, SoundNames, TestClick};
    use crate::band::Part;
    use crate::band::voices::Strike;
    use crate::live::audio::{self, CpalSound};
    use crate::live::buffer::Buffer;
    use crate::live::clock::HostClock;
    use crate::live::devices::{SoundOut, SoundState};
    use crate::live::wires::{ToAudio, audio_wires};

    /// How long an output is looked at; the click sounds in the middle.
    const LOOK: NanoSpan = NanoSpan::millis(800);
    /// How long to wait between two looks at its news.
    const REST: Duration = Duration::from_millis(5);
    /// A wood block, as soft as it can be and still be heard: key 76 (General MIDI), a fifth of full force.
    const CLICK: (u8, u8) = (76, 25);

    /// The MIDI inputs there are, or why nobody can tell.
    pub fn inputs(host: Option<&str>) -> Result<Vec<String>, String> {
        #[cfg(unix)]
        let _hushed = crate::live::stderr_guard::StderrGuard::lead_to(None);
        match host {
            #[cfg(feature = "jack")]
            Some(audio::JACK) => Ok(crate::live::midi_in_jack::names()),
            _ => crate::live::midi_in::listed().map_err(|error| error.to_string()),
        }
    }

    /// Opens the output of these names for a moment and says what it told, or why it cannot be played on.
    pub fn sound(names: &SoundNames, click: TestClick) -> Result<SoundFacts, String> {
        #[cfg(unix)]
        let _hushed = crate::live::stderr_guard::StderrGuard::lead_to(None);
        let found = audio::find(names).map_err(|error| error.with_what_is_there())?;
        let clock = HostClock::start();
        let opened = CpalSound::open(names, audio_wires(), clock, Arc::new(Buffer::default()));
        let mut sound = opened.map_err(|error| error.with_what_is_there())?;
        let begun = clock.now();
        let mut waits = click == TestClick::Soft;
        let mut buffer = None;
        while clock.now() - begun < LOOK {
            while let Some(news) = sound.news(clock.now()) {
                buffer = Some(news.frames);
                let rate = sound.rate();
                if std::mem::take(&mut waits) {
                    let at = news.frame + news.frames + rate.frames(NanoSpan(LOOK.0 / 2));
                    let (key, velocity) = CLICK;
                    let length = rate.frames(NanoSpan::millis(50));
                    // A ring that is empty so far has room for one order.
                    let strike = Strike { part: Part::Click, key, velocity, length };
                    let _ = sound.send(ToAudio::Strike { at, strike });
                }
            }
            match sound.state() {
                SoundState::Runs | SoundState::Stutters(_) => std::thread::sleep(REST),
                SoundState::Lost(why) => return Err(format!("it opens and is gone at once ({why})")),
                SoundState::Outruns => return Err("it takes sound faster than it could be heard".to_owned()),
            }
        }
        Ok(SoundFacts {
            host: found.host,
            name: found.name,
            rate_hz: sound.rate().hertz(),
            buffer: buffer.ok_or("it opens and takes no sound")?,
            latency: sound.latency(),
            underruns: sound.underruns().unwrap_or(0),
        })
    }
}
