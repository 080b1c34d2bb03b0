//! The reading document, `barwise.reading`: regions, functions, scales, reasons and alternatives of a chart.

pub mod other_scale;
pub mod text;

use schemars::JsonSchema;
use serde::Serialize;

use super::number::Count;
use super::review::{ChartId, TOOL};
use crate::chart::{Form, FormChord};
use crate::harmony::{ChordReading, Reading};
use crate::theory::{ChordSymbol, PitchClass, Scale};

/// A whole reading.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "barwise.reading")]
pub struct ReadingDocument {
    /// `barwise.reading`
    pub schema: &'static str,
    /// Version of the document.
    pub version: u32,
    /// The program and its version.
    pub tool: &'static str,
    /// The chart that was read; its `key` is the one its header gives.
    pub chart: ChartId,
    /// The key of the whole; none where no key is assumed.
    pub home: Option<String>,
    /// Stretches in one key.
    pub regions: Vec<RegionRecord>,
    /// Every chord in the order of the form.
    pub chords: Vec<ReadChord>,
    /// The written bars in the order they are played.
    pub played_bars: Vec<usize>,
    /// Whether the last chord leads back to the first; the chord text of a MIDI file is one long form.
    pub loops: bool,
}

/// A stretch in one key.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RegionRecord {
    /// The key, or `modal`.
    pub key: String,
    /// First bar of the form, from 1.
    pub first_bar: usize,
    /// Last bar of the form.
    pub last_bar: usize,
    /// The cadence that names the key, or that there is none.
    pub why: String,
}

/// What one chord was read as.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ReadChord {
    /// Number of the chord in the form, from 1.
    pub chord_index: usize,
    /// Bar of the form, from 1.
    pub form_bar: usize,
    /// Bar on the page, from 1.
    pub bar: usize,
    /// Beat it begins on.
    pub beat: Count,
    /// Beats it lasts.
    pub beats: Count,
    /// The symbol as written.
    pub symbol: String,
    /// Pitch class of the root, from C; none for N.C.
    pub root: Option<u8>,
    /// Pitch class of the lowest note.
    pub bass: Option<u8>,
    /// The basic arpeggio from the root up, a foreign bass last.
    pub chord_tones: Vec<u8>,
    /// The 9, 11 and 13 named in the symbol, altered or not.
    pub named_colours: Vec<u8>,
    /// Third and seventh, or what stands for them.
    pub guide_tones: Vec<u8>,
    /// The key it is heard in, or `modal`; none for N.C.
    pub key: Option<String>,
    /// Its function in full.
    pub function: Option<String>,
    /// The scale in force.
    pub scale: Option<ScaleRecord>,
    /// Other scales in use.
    pub alternatives: Vec<ScaleRecord>,
    /// The reason.
    pub why: Option<String>,
    /// Whether the player set the scale or the key.
    pub overridden: bool,
}

/// A scale on its root.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ScaleRecord {
    /// The name without the root.
    pub name: String,
    /// Pitch class of the root.
    pub root: u8,
    /// Its notes from the root up.
    pub pitch_classes: Vec<u8>,
    /// Their names.
    pub names: Vec<String>,
}

impl ReadingDocument {
    /// The document of a reading.
    pub fn new(chart: ChartId, form: &Form, reading: &Reading) -> Self {
        let chords = form.chords.iter().zip(&reading.chords).enumerate();
        Self {
            schema: "barwise.reading",
            version: 1,
            tool: TOOL,
            chart,
            home: reading.home.map(|key| key.to_string()),
            regions: regions(form, reading),
            chords: chords
                .map(|(index, (chord, read))| ReadChord::of(index, chord, read.as_deref(), form))
                .collect(),
            played_bars: form.bars.iter().map(|bar| bar.written).collect(),
            loops: form.loops,
        }
    }
}

fn regions(form: &Form, reading: &Reading) -> Vec<RegionRecord> {
    let record = |region: &crate::harmony::Region| RegionRecord {
        key: region.centre.to_string(),
        first_bar: form.bars[form.chords[region.first].bar].number,
        last_bar: form.bars[form.chords[region.last].bar].number,
        why: region.why.clone(),
    };
    reading.regions.iter().map(record).collect()
}

impl ReadChord {
    fn of(index: usize, chord: &FormChord, read: Option<&ChordReading>, form: &Form) -> Self {
        let (beat, beats) = form.beat_and_beats(chord);
        let heard = chord.symbol.map(ChordSymbol::heard);
        let numbers = |notes: fn(ChordSymbol) -> Vec<PitchClass>| {
            chord
                .symbol
                .as_ref()
                .map_or_else(Vec::new, |&symbol| notes(symbol).iter().map(|p| p.semitones()).collect())
        };
        Self {
            chord_index: index + 1,
            form_bar: form.bars[chord.bar].number,
            bar: form.bars[chord.bar].written,
            beat: Count(beat),
            beats: Count(beats),
            symbol: chord.text.clone(),
            root: heard.map(|symbol| symbol.root.pitch_class().semitones()),
            bass: heard.map(|symbol| symbol.bass_or_root().pitch_class().semitones()),
            chord_tones: numbers(ChordSymbol::tones),
            named_colours: numbers(colours_from_root),
            guide_tones: numbers(ChordSymbol::guide_tones),
            key: read.map(|read| read.centre.to_string()),
            function: read.map(|read| read.function.clone()),
            scale: read.map(|read| ScaleRecord::of(&read.scale)),
            alternatives: read
                .map_or_else(Vec::new, |read| read.alternatives.iter().map(ScaleRecord::of).collect()),
            why: read.map(|read| read.why.clone()),
            overridden: read.is_some_and(|read| read.overridden),
        }
    }
}

fn colours_from_root(symbol: ChordSymbol) -> Vec<PitchClass> {
    symbol.named_colours().iter_from(symbol.heard().root.pitch_class()).collect()
}

impl ScaleRecord {
    /// The scale in words, its root before it: `F dorian`. A name that carries its own note stands alone.
    pub fn in_words(&self) -> String {
        match self.names.first() {
            Some(root) if !self.name.starts_with("harmonic minor of") => format!("{root} {}", self.name),
            _ => self.name.clone(),
        }
    }

    /// The record of a scale.
    pub fn of(scale: &Scale) -> Self {
        let root = scale.root().pitch_class();
        Self {
            name: scale.name(),
            root: root.semitones(),
            pitch_classes: scale.pitch_classes().iter_from(root).map(PitchClass::semitones).collect(),
            names: scale.names().iter().map(ToString::to_string).collect(),
        }
    }
}
