//! Where sound goes: the same flags for every command that plays.

use clap::Args;

use crate::live::SoundChoice;

/// Flags about the sound output.
#[derive(Clone, Debug, PartialEq, Eq, Default, Args)]
pub struct SoundArgs {
    /// Play without a sound device
    #[arg(long, conflicts_with = "audio_host")]
    pub no_audio: bool,
    /// Send sound by this host of the system
    #[arg(long, value_name = "HOST")]
    pub audio_host: Option<String>,
}

impl SoundArgs {
    /// The choice that they make.
    pub fn choice(&self) -> SoundChoice {
        match &self.audio_host {
            _ if self.no_audio => SoundChoice::Silent,
            Some(host) => SoundChoice::Host(host.clone()),
            None => SoundChoice::Default,
        }
    }
}
