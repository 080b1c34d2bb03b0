//! Where the counted notes were played, as the document has it: by string and fret, by string, by key.

use schemars::JsonSchema;
use serde::Serialize;

use crate::report::why;
use crate::tally::places::PlaceCounts;
use crate::tally::{Class, Places};
use crate::theory::Pitch;

/// Where the counted notes were played. Each note struck counts once.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct PlacesRecord {
    /// By string and fret, as far as strings are known.
    pub on_strings: Vec<PlaceRecord>,
    /// By string, the highest first; every open string of the instrument.
    pub strings: Vec<StringRecord>,
    /// By key, the lowest first: all notes.
    pub keys: Vec<KeyRecord>,
}

/// Notes at one place or on one string.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct LayerCounts {
    /// All of them.
    pub notes: usize,
    /// Chord tones.
    pub chord: usize,
    /// Scale tones.
    pub scale: usize,
    /// Notes of another scale.
    pub other: usize,
    /// Outside notes.
    pub outside: usize,
}

/// One place on the neck.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct PlaceRecord {
    /// String, 1 the highest.
    pub string: u8,
    /// Fret.
    pub fret: u8,
    /// The notes.
    #[serde(flatten)]
    pub counts: LayerCounts,
}

/// One string.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct StringRecord {
    /// String, 1 the highest.
    pub string: u8,
    /// Its open note.
    pub open: String,
    /// The notes.
    #[serde(flatten)]
    pub counts: LayerCounts,
    /// The lowest fret played.
    pub lowest_fret: Option<u8>,
    /// The highest fret played.
    pub highest_fret: Option<u8>,
}

/// One key.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct KeyRecord {
    /// MIDI key.
    pub key: u8,
    /// Its name, written with flats.
    pub name: String,
    /// The notes.
    #[serde(flatten)]
    pub counts: LayerCounts,
}

impl PlacesRecord {
    /// The record of places on an instrument with these open strings, lowest first.
    pub fn of(places: &Places, open_strings: &[Pitch]) -> Self {
        let on_strings = places.on_strings.iter().map(|(spot, counts)| PlaceRecord {
            string: spot.string,
            fret: spot.fret,
            counts: LayerCounts::of(counts),
        });
        let strings = (1..).zip(open_strings.iter().rev()).map(|(string, open)| {
            let frets = places.frets(string);
            StringRecord {
                string,
                open: why::name(*open, None),
                counts: LayerCounts::of(&places.of_string(string)),
                lowest_fret: frets.map(|frets| frets.0),
                highest_fret: frets.map(|frets| frets.1),
            }
        });
        let keys = places.by_pitch.iter().map(|(pitch, counts)| KeyRecord {
            key: pitch.key(),
            name: why::name(*pitch, None),
            counts: LayerCounts::of(counts),
        });
        Self { on_strings: on_strings.collect(), strings: strings.collect(), keys: keys.collect() }
    }
}

impl LayerCounts {
    fn of(counts: &PlaceCounts) -> Self {
        Self {
            notes: counts.all(),
            chord: counts.of(Class::Chord),
            scale: counts.of(Class::Scale),
            other: counts.of(Class::Other),
            outside: counts.of(Class::Outside),
        }
    }
}
