//! A SoundFont of the player's own in the place of our voices: which parts it has, and what of it can be played safely.
//!
//! A file comes from a stranger, and the synthesizer that plays it trusts what it reads. So the file is looked through
//! before it is read (`layout`), and what the band plays of it is looked at before it is played (`programs`); this
//! happens away from the audio thread, and so does the making of the [`Players`].

mod layout;
mod players;
mod programs;

use std::fmt;
use std::io::{BufReader, Read, Seek, SeekFrom};
use std::sync::Arc;

use rustysynth::SoundFontError;

use crate::band::Part;
use crate::time::FrameRate;

pub use layout::Fault;
pub use players::{BLOCK, Players};
pub use programs::Program;

/// Says why a file cannot be played.
#[derive(Debug, thiserror::Error)]
pub enum NoSoundFont {
    /// It cannot be read.
    #[error(transparent)]
    Unreadable(std::io::Error),
    /// It is something else.
    #[error("is no SoundFont: choose a file whose name ends in .sf2")]
    Other,
    /// Its sounds are compressed.
    #[error(
        "is a SoundFont 3, whose sounds are compressed, and that is not played: choose a SoundFont 2 (.sf2)"
    )]
    Compressed,
    /// A part of it contradicts another.
    #[error("is damaged: {0}. Copy or download it again, or choose another")]
    Damaged(Fault),
    /// It holds together and is refused all the same.
    #[error("cannot be played ({0}): choose another")]
    Refused(SoundFontError),
    /// It has nothing that the band plays.
    #[error("has none of the sounds the band needs ({needed}): choose a General MIDI SoundFont", needed = programs::listed())]
    NothingToPlay,
}

/// A SoundFont that can be played.
#[derive(Clone)]
pub struct SoundFont {
    font: Arc<rustysynth::SoundFont>,
    has: [bool; Part::ALL.len()],
}

impl SoundFont {
    /// Reads a file, looked through first. Takes about as much memory as the file is long.
    pub fn read(file: &mut (impl Read + Seek)) -> Result<Self, NoSoundFont> {
        layout::check(file)?;
        file.seek(SeekFrom::Start(0)).map_err(NoSoundFont::Unreadable)?;
        let font = rustysynth::SoundFont::new(&mut BufReader::new(file)).map_err(|error| match error {
            SoundFontError::IoError(error) => NoSoundFont::Unreadable(error),
            SoundFontError::UnsupportedSampleFormat => NoSoundFont::Compressed,
            error => NoSoundFont::Refused(error),
        })?;
        let mut has = [false; Part::ALL.len()];
        for part in Part::ALL {
            has[part as usize] = programs::check(&font, Program::of(part))?;
        }
        if has.contains(&true) {
            Ok(Self { font: Arc::new(font), has })
        } else {
            Err(NoSoundFont::NothingToPlay)
        }
    }

    /// Whether it has the sounds of a part.
    pub const fn has(&self, part: Part) -> bool {
        self.has[part as usize]
    }

    /// Players of the parts it has, for a device of this rate; `None` where the rate is none that can be played at
    /// (16,000 to 192,000 frames a second).
    pub fn players(&self, rate: FrameRate) -> Option<Box<Players>> {
        Players::new(&self.font, self.has, rate).map(Box::new)
    }
}

/// Two are the same when they were read from a file at the same time.
impl PartialEq for SoundFont {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.font, &other.font)
    }
}

/// Prints which parts it has: its sounds are millions of numbers.
impl fmt::Debug for SoundFont {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let has: Vec<_> = Part::ALL.into_iter().filter(|&part| self.has(part)).collect();
        f.debug_struct("SoundFont").field("has", &has).finish_non_exhaustive()
    }
}
