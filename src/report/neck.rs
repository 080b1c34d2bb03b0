//! The neck document, `barwise.neck`: what each place on the neck is to a chord and its scale.

pub mod keyboard;
pub mod picture;
pub mod words;

use schemars::JsonSchema;
use serde::Serialize;

use super::review::TOOL;
use crate::neck::{Fret, FretRange, Layers, Place, PlacedNote, Position, Tuning};
use crate::theory::{ChordSymbol, NoteName, PitchClass, Scale};

/// A chord in its scale on a neck: what the document and the picture are made from.
#[derive(Clone, Debug, PartialEq)]
pub struct ChordOnNeck {
    /// The chord of the moment.
    pub chord: ChordSymbol,
    /// The scale in force.
    pub scale: Scale,
    /// The chord that comes, where it is to be flagged.
    pub next: Option<ChordSymbol>,
    /// The open strings.
    pub tuning: Tuning,
    /// The frets to show.
    pub frets: FretRange,
    /// The only position to show; the whole neck without one.
    pub position: Option<Position>,
}

impl ChordOnNeck {
    /// What each pitch is to chord, scale and next chord.
    pub fn layers(&self) -> Layers {
        let layers = Layers::of(self.chord, &self.scale);
        self.next.map_or(layers, |next| layers.before(next))
    }

    /// How a pitch class is written: as the scale spells it, else as the chord does.
    pub fn name(&self, pitch_class: PitchClass) -> NoteName {
        let names = self.scale.names();
        let in_scale = names.into_iter().find(|name| name.pitch_class() == pitch_class);
        in_scale.unwrap_or_else(|| self.chord.spell(pitch_class))
    }

    /// Every place that is shown, the lowest string first and each string from the nut up.
    pub fn places(&self) -> Vec<PlacedNote> {
        if let Some(position) = &self.position {
            return position.notes().to_vec();
        }
        let on_string = |(string, _)| self.frets.iter().map(move |fret| Place { string, fret });
        let places = self.tuning.from_lowest().flat_map(on_string);
        let note = |place| {
            let pitch = self.tuning.pitch_at(place)?;
            Some(PlacedNote { place, pitch, name: self.name(pitch.pitch_class()) })
        };
        places.filter_map(note).collect()
    }
}

/// The places of a chord and its scale on a neck.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "barwise.neck")]
pub struct NeckDocument {
    /// `barwise.neck`
    pub schema: &'static str,
    /// Version of the document.
    pub version: u32,
    /// The program and its version.
    pub tool: &'static str,
    /// The open strings as MIDI keys, lowest string first.
    pub tuning: Vec<u8>,
    /// The chord as it is written.
    pub chord: String,
    /// The scale in force.
    pub scale: String,
    /// The note that the position starts on; none where the whole neck is shown.
    pub position: Option<String>,
    /// The places: the lowest string first, each from the nut up.
    pub places: Vec<PlaceRecord>,
}

/// One place on the neck.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PlaceRecord {
    /// The string, 1 the highest.
    pub string: u8,
    /// The fret, 0 the open string.
    pub fret: u8,
    /// The MIDI key that sounds.
    pub key: u8,
    /// The note's name, as the scale spells it.
    pub name: String,
    /// What it is to the chord: `b3`, `#11`.
    pub degree: String,
    /// `chord`, `scale` or `chromatic`.
    pub layer: &'static str,
}

impl NeckDocument {
    /// The document of what is shown.
    pub fn of(shown: &ChordOnNeck) -> Self {
        let layers = shown.layers();
        let record = |note: &PlacedNote| {
            let pitch_class = note.pitch.pitch_class();
            PlaceRecord {
                string: note.place.string.number(),
                fret: note.place.fret.0,
                key: note.pitch.key(),
                name: note.name.to_string(),
                degree: shown.chord.degree_of(pitch_class).to_string(),
                layer: layers.layer(pitch_class).word(),
            }
        };
        Self {
            schema: "barwise.neck",
            version: 1,
            tool: TOOL,
            tuning: shown.tuning.strings().iter().map(|open| open.key()).collect(),
            chord: shown.chord.to_string(),
            scale: shown.scale.to_string(),
            position: shown.position.as_ref().map(|position| position.start().to_string()),
            places: shown.places().iter().map(record).collect(),
        }
    }
}

/// The frets of a whole neck that are shown where nothing else is asked for and `width` columns are there.
pub fn frets_that_fit(width: usize) -> FretRange {
    let fitting = (width.saturating_sub(picture::MARGIN) / picture::CELL).saturating_sub(1);
    let highest = u8::try_from(fitting).unwrap_or(Fret::HIGHEST.0).clamp(FEWEST_FRETS, MOST_FRETS);
    FretRange::from_nut(Fret(highest))
}

/// Half an octave, below which a neck says little.
const FEWEST_FRETS: u8 = 5;
/// Where another octave adds nothing new.
const MOST_FRETS: u8 = 18;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::theory::Mode;

    fn shown(position: Option<&str>) -> ChordOnNeck {
        let chord: ChordSymbol = "Gm7".parse().expect("a symbol");
        let scale = Mode::Dorian.on(chord.root);
        let tuning = Tuning::standard();
        let start = |text: &str| text.parse().expect("a name");
        let position = position.map(|text| Position::of(&scale, start(text), &tuning).expect("a position"));
        let frets = FretRange::new(Fret(0), Fret(12)).expect("a range");
        ChordOnNeck { chord, scale, next: None, tuning, frets, position }
    }

    #[test]
    fn the_whole_neck_has_every_place_and_a_position_its_own() {
        let document = NeckDocument::of(&shown(None));
        assert_eq!(document.places.len(), 6 * 13);
        assert_eq!(document.position, None);
        let document = NeckDocument::of(&shown(Some("Bb")));
        assert_eq!(document.places.len(), 18);
        let first = &document.places[0];
        assert_eq!((first.string, first.fret, first.key), (6, 6, 46));
        assert_eq!((first.name.as_str(), first.degree.as_str(), first.layer), ("Bb", "b3", "chord"));
    }

    #[test]
    fn a_wide_terminal_shows_more_frets() {
        let highest = |width| frets_that_fit(width).last().0;
        assert_eq!([highest(20), highest(80), highest(120), highest(400)], [5, 12, 18, 18]);
    }
}
