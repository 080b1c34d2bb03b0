//! What was learnt about the player's devices, by their names: a small TOML file in the data folder.
//!
//! It is the program's own file, unlike the settings; what a newer program wrote in it is kept. Devices are known by the
//! name that stays over a replug.

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::error_words::in_words;
use super::replace;
use super::takes::{FOLDER_VARIABLE, NotKept, data_folder};

/// The name of the file in the data folder.
pub const FILE: &str = "devices.toml";
/// The largest file that is read, in bytes: hundreds of devices.
const LARGEST: u64 = 64 * 1024;

/// Why what was learnt could not be read or written.
#[derive(Debug, thiserror::Error)]
pub enum FactsError {
    /// No folder is known to keep it in.
    #[error(transparent)]
    NoFolder(#[from] NotKept),
    /// The file is there and cannot be read.
    #[error("{}: cannot be read: {}", path.display(), in_words(source))]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// The file is not as it was written.
    #[error("{}: not understood{}; move it away, and measure again with barwise calibrate", path.display(), at_line(*line))]
    Spoilt {
        /// The file.
        path: PathBuf,
        /// The line, from 1, where it is known.
        line: Option<usize>,
    },
    /// The file or its folder cannot be written.
    #[error("{}: cannot be written: {}; set {FOLDER_VARIABLE} to a folder that may be written", path.display(), in_words(source))]
    Unwritable {
        /// The file or folder.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
}

fn at_line(line: Option<usize>) -> String {
    line.map_or_else(String::new, |line| format!(" at line {line}"))
}

/// What was learnt about all devices.
#[derive(Clone, Debug, PartialEq)]
pub struct DeviceFacts {
    path: PathBuf,
    known: Known,
}

/// The file's own shape.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
struct Known {
    /// The input that the last take was played on.
    #[serde(skip_serializing_if = "Option::is_none")]
    last_input: Option<String>,
    #[serde(default)]
    device: BTreeMap<String, DeviceFact>,
    /// What a newer program wrote.
    #[serde(flatten)]
    more: BTreeMap<String, toml::Value>,
}

/// What was learnt about one device.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct DeviceFact {
    /// How late its notes arrive, in milliseconds: the same for all.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub offset_ms: Option<f64>,
    /// How many periods of the note's own pitch are added to that.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub offset_periods: Option<f64>,
    /// How far the notes that it was measured by lay apart: their median absolute deviation, in milliseconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spread_ms: Option<f64>,
    /// The foot switch that is connected to it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub foot: Option<FootFact>,
    /// The note that, played twice, begins a take: where the player wants one to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub low_note: Option<LowNoteFact>,
    /// Which channel is which string, where each has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub strings: Option<StringsFact>,
    /// What a newer program wrote.
    #[serde(flatten)]
    more: BTreeMap<String, toml::Value>,
}

/// Which channel is which string, in the words of the settings.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StringsFact {
    /// As the setting `first-string-channel`, 1 to 16.
    pub first_channel: u8,
    /// As the setting `string-order`: `high-first` or `low-first`.
    pub order: String,
}

/// What a foot switch sends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct FootFact {
    /// Its channel, 1 to 16.
    pub channel: u8,
    /// Its controller, 0 to 119.
    pub controller: u8,
    /// Whether each press turns it over, so that it cannot be held.
    #[serde(default)]
    pub latching: bool,
}

/// A low note that is a cue while the clock stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LowNoteFact {
    /// Its key, 0 to 127.
    pub key: u8,
}

impl DeviceFacts {
    /// What this user's devices are known by; nothing where the file is not there yet. `folder` is the value of
    /// [`FOLDER_VARIABLE`].
    pub fn of_user(folder: Option<OsString>) -> Result<Self, FactsError> {
        Self::read(data_folder(folder)?.join(FILE))
    }

    fn read(path: PathBuf) -> Result<Self, FactsError> {
        let text = match text_of(&path) {
            Ok(text) => text,
            Err(error) if error.kind() == io::ErrorKind::NotFound => String::new(),
            Err(error) if error.kind() == io::ErrorKind::InvalidData => {
                return Err(FactsError::Spoilt { path, line: None });
            }
            Err(source) => return Err(FactsError::Unreadable { path, source }),
        };
        match toml::from_str(&text) {
            Ok(known) => Ok(Self { path, known }),
            Err(error) => {
                let line = error.span().map(|span| text[..span.start].matches('\n').count() + 1);
                Err(FactsError::Spoilt { path, line })
            }
        }
    }

    /// Where it is kept.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// What is known of the device `name`.
    pub fn of(&self, name: &str) -> Option<&DeviceFact> {
        self.known.device.get(name)
    }

    /// The names of all devices of which something is known.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.known.device.keys().map(String::as_str)
    }

    /// The input that the last take was played on.
    pub fn last_input(&self) -> Option<&str> {
        self.known.last_input.as_deref()
    }

    /// Writes down that a take was played on the input `name`; writes nothing where that is known.
    pub fn was_played(&mut self, name: &str) -> Result<(), FactsError> {
        if self.last_input() == Some(name) {
            return Ok(());
        }
        self.known.last_input = Some(name.to_owned());
        self.write()
    }

    /// Learns about the device `name` and writes it down.
    pub fn learn(&mut self, name: &str, learn: impl FnOnce(&mut DeviceFact)) -> Result<(), FactsError> {
        learn(self.known.device.entry(name.to_owned()).or_default());
        self.write()
    }

    fn write(&self) -> Result<(), FactsError> {
        let unwritable = |path: &Path, source| FactsError::Unwritable { path: path.to_owned(), source };
        if let Some(folder) = self.path.parent() {
            fs::create_dir_all(folder).map_err(|source| unwritable(folder, source))?;
        }
        let text = toml::to_string(&self.known)
            .map_err(|error| unwritable(&self.path, io::Error::other(error.to_string())))?;
        replace::replace(&self.path, &text).map_err(|source| unwritable(&self.path, source))
    }
}

fn text_of(path: &Path) -> io::Result<String> {
    let mut bytes = Vec::new();
    File::open(path)?.take(LARGEST + 1).read_to_end(&mut bytes)?;
    let odd = || io::Error::from(io::ErrorKind::InvalidData);
    if bytes.len() as u64 > LARGEST {
        return Err(odd());
    }
    String::from_utf8(bytes).map_err(|_| odd())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn with_text(text: &str) -> (tempfile::TempDir, Result<DeviceFacts, FactsError>) {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join(FILE);
        fs::write(&path, text).expect("a file");
        (folder, DeviceFacts::read(path))
    }

    #[test]
    fn what_is_learnt_is_read_back_and_what_a_newer_program_wrote_stays() {
        let (_folder, facts) = with_text("moon = 3\n[device.\"Old \\\"one\\\"\"]\nhue = \"red\"\n");
        let mut facts = facts.expect("a good file");
        facts.learn("Guitar: MIDI 1", |fact| fact.offset_ms = Some(31.5)).expect("written");
        let foot = FootFact { channel: 1, controller: 64, latching: true };
        facts.learn("Guitar: MIDI 1", |fact| fact.foot = Some(foot)).expect("written");
        facts.learn("Guitar: MIDI 1", |fact| fact.low_note = Some(LowNoteFact { key: 40 })).expect("written");
        facts.was_played("Guitar: MIDI 1").expect("written");
        facts.learn("Old \"one\"", |fact| fact.offset_periods = Some(2.0)).expect("written");
        let again = DeviceFacts::read(facts.path().to_owned()).expect("our own file");
        assert_eq!(again, facts);
        assert_eq!(again.of("Guitar: MIDI 1").and_then(|fact| fact.offset_ms), Some(31.5));
        assert_eq!(again.of("Guitar: MIDI 1").and_then(|fact| fact.foot), Some(foot));
        assert_eq!(again.last_input(), Some("Guitar: MIDI 1"));
        assert_eq!(again.names().collect::<Vec<_>>(), ["Guitar: MIDI 1", "Old \"one\""]);
        let text = fs::read_to_string(again.path()).expect("text");
        assert!(text.contains("moon = 3") && text.contains("hue = \"red\""), "{text}");
    }

    #[test]
    fn without_a_file_nothing_is_known_and_nothing_is_made() {
        let folder = tempfile::tempdir().expect("a folder");
        let facts = DeviceFacts::of_user(Some(folder.path().join("data").into())).expect("nothing amiss");
        assert_eq!(facts.of("Guitar"), None);
        assert!(!folder.path().join("data").exists());
    }

    #[test]
    fn a_spoilt_file_is_refused_by_its_line_and_stays_as_it_is() {
        let (folder, facts) = with_text("[device.a]\noffset_ms = \"late\"\n");
        let message = facts.expect_err("no number").to_string();
        assert!(message.contains("devices.toml: not understood at line 2"), "{message}");
        assert!(with_text(&"#".repeat(70_000)).1.is_err());
        assert!(folder.path().join(FILE).exists());
    }
}
