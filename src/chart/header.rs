//! What stands above the bars: title, key, meter, tempo, feel, the order of the sections.

use std::fmt;
use std::str::FromStr;

use crate::theory::{Key, nearest};
use crate::time::{Bpm, Meter};

use super::form::Sevenths;

/// The header of a chart; what is not written has its default.
#[derive(Clone, Debug, PartialEq)]
pub struct Header {
    /// The title, if one is written.
    pub title: Option<String>,
    /// Who made it.
    pub by: Option<String>,
    /// The key signature. It sets spelling only: which key a stretch is heard in is found from the chords.
    pub key: Option<Key>,
    /// The meter of the first bar; 4/4 by default.
    pub meter: Meter,
    /// The tempo; 120 quarters a minute by default.
    pub tempo: Bpm,
    /// The feel; swing by default.
    pub feel: Feel,
    /// The sections in the order they are played; empty: as written.
    pub form: Vec<String>,
    /// How many choruses to play, 1 to [`MOST_CHORUSES`], where the chart says.
    pub choruses: Option<u32>,
    /// Whether triads are heard as the seventh chords a player makes of them.
    pub sevenths: Sevenths,
}

/// Most choruses that a chart may ask for.
pub const MOST_CHORUSES: u32 = 999;

impl Default for Header {
    fn default() -> Self {
        Self {
            title: None,
            by: None,
            key: None,
            meter: Meter::FOUR_FOUR,
            tempo: Bpm::DEFAULT,
            feel: Feel::default(),
            form: Vec::new(),
            choruses: None,
            sevenths: Sevenths::default(),
        }
    }
}

/// The names of the headers, in the order in which they are written.
pub(super) const NAMES: [&str; 9] =
    ["title", "by", "key", "meter", "tempo", "feel", "form", "choruses", "sevenths"];

/// How time is divided and accompanied.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub enum Feel {
    /// Off-beats late, walking bass, ride cymbal.
    #[default]
    Swing,
    /// Even eighths.
    Straight,
    /// Even eighths over the bossa pattern.
    Bossa,
    /// Slow, in two.
    Ballad,
}

impl Feel {
    /// Every feel.
    pub const ALL: [Self; 4] = [Self::Swing, Self::Straight, Self::Bossa, Self::Ballad];

    /// The name, as a chart writes it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Swing => "swing",
            Self::Straight => "straight",
            Self::Bossa => "bossa",
            Self::Ballad => "ballad",
        }
    }
}

impl fmt::Display for Feel {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// Says why a text is no feel.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("no feel \"{text}\": feels are swing, straight, bossa, ballad. Did you mean {nearest}?")]
pub struct NoFeel {
    text: String,
    nearest: String,
}

impl FromStr for Feel {
    type Err = NoFeel;

    fn from_str(text: &str) -> Result<Self, NoFeel> {
        let named = Self::ALL.into_iter().find(|feel| feel.name().eq_ignore_ascii_case(text));
        named.ok_or_else(|| {
            let names = Self::ALL.map(|feel| feel.name().to_owned());
            NoFeel { text: text.to_owned(), nearest: nearest(text, names).unwrap_or_default() }
        })
    }
}

/// The key as a header writes it: `Eb`, `F#m`, `F blues`.
pub fn key_text(key: Key) -> String {
    use crate::theory::KeyMode;
    match key.mode {
        KeyMode::Major => key.tonic.to_string(),
        KeyMode::Minor => format!("{}m", key.tonic),
        KeyMode::Blues => format!("{} blues", key.tonic),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn feels_read_and_print() {
        for feel in Feel::ALL {
            assert_eq!(feel.to_string().parse(), Ok(feel));
        }
        let slip = "bosa".parse::<Feel>().expect_err("no such feel");
        assert!(slip.to_string().ends_with("Did you mean bossa?"), "{slip}");
    }

    #[test]
    fn keys_are_written_as_they_are_read() {
        for text in ["Eb", "F#m", "F blues"] {
            assert_eq!(key_text(text.parse().expect("a key")), text);
        }
    }
}
