//! With what the band sounds, and how loud each part: the same flags for every command that lets it sound.

use clap::Args;

use super::exit_status::Failure;
use super::output::Output;
use crate::band::Part;
use crate::band::voices::sound_font::SoundFont;
use crate::store::settings::{Flag, Settings};
use crate::store::sound_font_file;

/// Flags about the band's sound.
#[derive(Clone, Debug, PartialEq, Eq, Default, Args)]
pub struct VoiceArgs {
    /// How loud parts are against the usual mix, -40 to +6 decibels, instead of the setting: bass=-6,ride=+3
    #[arg(long, value_name = "LIST")]
    pub level: Option<String>,
    /// Let this SoundFont of yours play the backing, instead of the setting; none: barwise's own voices
    #[arg(long, value_name = "F.sf2")]
    pub soundfont: Option<String>,
}

impl VoiceArgs {
    /// The settings these flags give.
    pub fn settings(&self) -> impl Iterator<Item = Flag> {
        let flag = |flag, key, text: &Option<String>| {
            text.as_ref().map(|text| Flag { flag, key, text: text.clone() })
        };
        let level = flag("--level", "levels", &self.level);
        level.into_iter().chain(flag("--soundfont", "soundfont", &self.soundfont))
    }

    /// Refuses the flags where nothing will sound.
    pub fn need_sound(&self) -> Result<(), Failure> {
        match self.settings().next() {
            None => Ok(()),
            Some(Flag { flag, .. }) => Err(Failure::bad_input(format!(
                "{flag}: a MIDI file has no sound of its own; write a name that ends in .wav, or leave {flag} out"
            ))),
        }
    }
}

/// Reads the SoundFont that the settings name, and says which parts it leaves to barwise's own voices.
pub(super) fn sound_font(settings: &Settings, out: &mut Output) -> Result<Option<SoundFont>, Failure> {
    let Some(path) = &settings.soundfont else { return Ok(None) };
    let font = sound_font_file::read(path)?;
    let left: Vec<_> = Part::BAND.into_iter().filter(|&part| !font.has(part)).map(Part::word).collect();
    if !left.is_empty() {
        out.remark(&format!("{path} has no sound for {}: barwise's own voices play.", left.join(", ")));
    }
    Ok(Some(font))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::values::tests::parsed;

    #[test]
    fn the_flags_are_settings() {
        let args = parsed::<VoiceArgs>(&["--level", "bass=-6,ride=+3", "--soundfont", "a.sf2"]);
        let given: Vec<_> = args.settings().map(|flag| (flag.key, flag.text)).collect();
        assert_eq!(given, [("levels", "bass=-6,ride=+3".to_owned()), ("soundfont", "a.sf2".to_owned())]);
        assert_eq!(VoiceArgs::default().settings().count(), 0);
    }

    #[test]
    fn they_are_refused_where_nothing_sounds() {
        let told = |flags: &[&str]| {
            parsed::<VoiceArgs>(flags).need_sound().map_err(|failure| failure.message().to_owned())
        };
        assert_eq!(told(&[]), Ok(()));
        assert!(told(&["--level", "bass=-6"]).is_err_and(|told| told.starts_with("--level: a MIDI file")));
    }
}
