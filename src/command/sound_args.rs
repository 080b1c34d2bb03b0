//! Where sound goes: the same flags for every command that plays.

use clap::Args;

use super::exit_status::Failure;
use crate::live::{self, SoundChoice, SoundNames};

/// Flags about the sound output.
#[derive(Clone, Debug, PartialEq, Eq, Default, Args)]
pub struct SoundArgs {
    /// Play without a sound device
    #[arg(long, conflicts_with_all = ["audio_host", "audio_device"])]
    pub no_audio: bool,
    /// Send sound by this host of the system
    #[arg(long, value_name = "HOST")]
    pub audio_host: Option<String>,
    /// Send sound to the device with this name, or a part of it
    #[arg(long, value_name = "NAME")]
    pub audio_device: Option<String>,
}

impl SoundArgs {
    /// The names they give.
    pub fn names(&self) -> SoundNames {
        SoundNames { host: self.audio_host.clone(), device: self.audio_device.clone() }
    }

    /// The choice that they make. A host or a device that is asked for by name must be there.
    pub fn choice(&self) -> Result<SoundChoice, Failure> {
        if self.no_audio {
            return Ok(SoundChoice::Silent);
        }
        let names = self.names();
        if names.any() {
            live::sound_is_there(&names).map_err(Failure::device)?;
        }
        Ok(SoundChoice::Device(names))
    }
}
