//! Judging: the rooms in a row, from a take and its chords to the review.
//!
//! Everything that judges goes through here (the commands, a take that has just ended, the batch, the benchmarks), so
//! that the same notes give the same document wherever they come from. Pure; runs on whichever thread asks.

pub mod judged_again;
pub mod assigned;
pub mod chords;
pub mod digested;
pub mod replay;
pub mod indexed;
pub mod kept;
pub mod kept_scales;
pub mod through_keys;
pub mod written;

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::Arc;

use sha2::{Digest, Sha256};

use crate::practice::what_next::what_next;
use crate::report::band::BandRecord;
use crate::report::review::{ChartId, Detail, Found, Review, SettingsUsed, Source, WarningRecord};
use crate::take::midi_file::{MidiFileError, NoTrack};
use crate::take::{CleanSettings, Imprint, MidiFile, Note};
use crate::tally::verdict::{Bands, Verdict, verdict};
use crate::tally::{Laid, Settings, Stage, Tally, tally};
use crate::theory::chord::BareSymbols;
use crate::theory::{Pitch, Written};
use crate::time::Ticks;

pub use chords::{ChordSource, NoBars, NoChords};
pub use digested::{Dated, digest};
pub use indexed::{Indexed, indexed};
pub use kept_scales::{KeptScale, KeptScales};
pub use through_keys::NotThrough;

/// Every choice that a review is made with.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Choices {
    /// How notes are counted.
    pub tally: Settings,
    /// How a take is cleaned.
    pub cleaning: CleanSettings,
    /// What disputed symbols stand for.
    pub bare: BareSymbols,
    /// What the player keeps for chords of charts.
    pub kept: Arc<KeptScales>,
    /// Notes that were set aside as misread and that the player has brought back, by their index: they count.
    pub brought_back: Vec<usize>,
    /// Whose reading the review is in: concert pitch, but for what is shown to the player of a transposing instrument.
    pub written: Written,
    /// All but what is kept and brought back by name, as the review carries them.
    pub named: BTreeMap<String, serde_json::Value>,
}

/// What is asked about a take.
#[derive(Clone, Copy, Debug)]
pub struct Question<'a> {
    /// The choices.
    pub choices: &'a Choices,
    /// The chart it was played over; else the chords in the file are read.
    pub chart: Option<&'a ChordSource>,
    /// The track to judge; else the one named Solo, else the only one with notes.
    pub track: Option<&'a str>,
    /// How much is wanted.
    pub detail: Detail,
    /// The bands to judge by, if any.
    pub bands: Option<&'a Bands>,
}

/// The answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// The review.
    pub review: Review,
    /// The verdict, if bands were asked for.
    pub verdict: Option<Verdict>,
    /// The tally behind both.
    pub tally: Tally,
}

/// Says why a take cannot be judged.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NotJudged {
    /// It is no MIDI file.
    #[error(transparent)]
    File(#[from] MidiFileError),
    /// No track to judge.
    #[error(transparent)]
    Track(#[from] NoTrack),
    /// No chords to judge it by.
    #[error(transparent)]
    Chords(#[from] NoChords),
}

/// Judges a take from the bytes of its file; `file` is the name the review carries.
pub fn judge(bytes: &[u8], file: Option<String>, question: Question<'_>) -> Result<Answer, NotJudged> {
    heard(bytes, question, |heard| {
        let Heard { midi, stage, chords, tally, .. } = heard;
        let track = midi.tracks[heard.track].name.clone();
        let source = Source { take: None, file, track, sha256: Some(fingerprint(bytes)) };
        let warnings = midi.warnings.iter().chain(heard.warnings).map(warning).chain(chords.warnings.clone());
        let start = stage.laid().start;
        let other_meter = question.chart.and_then(|chart| chart.meter_warning(midi, start));
        let stopped = kept::stopped_warning(midi, stage);
        let one_key = heard.imprint.and_then(|imprint| kept::one_key_warning(imprint, chords));
        let kept = kept_scales::kept_warning(&chords.form);
        let gaps = heard.imprint.iter().flat_map(|_| kept::gap_warnings(midi, stage));
        let verdict = question.bands.map(|bands| verdict(tally, bands));
        let next = what_next(tally, stage, verdict.as_ref().map(|verdict| verdict.finding));
        let open_strings = &heard.open_strings;
        let mut review = Review::new(
            source,
            chart_id(chords, midi, stage.laid().choruses),
            settings_used(question.choices),
            Found { tally, stage, next: &next, open_strings },
            question.detail,
            warnings.chain(other_meter).chain(kept).chain(one_key).chain(stopped).chain(gaps).collect(),
        );
        review.band = heard.imprint.and_then(BandRecord::of);
        Answer { review, verdict, tally: (*tally).clone() }
    })
}

/// A take that was judged, with all that it was judged by.
struct Heard<'a> {
    midi: &'a MidiFile,
    /// Index of the judged track.
    track: usize,
    imprint: Option<&'a Imprint>,
    /// What was odd about the notes.
    warnings: &'a [crate::take::Warning],
    chords: &'a ChordSource,
    stage: &'a Stage<'a>,
    tally: &'a Tally,
    /// The open strings, moved with the notes.
    open_strings: Vec<Pitch>,
}

/// Judges a take and hands what was found to `then`.
fn heard<T>(
    bytes: &[u8],
    question: Question<'_>,
    then: impl FnOnce(&Heard<'_>) -> T,
) -> Result<T, NotJudged> {
    let midi = MidiFile::parse(bytes)?;
    let track = midi.solo_track(question.track)?;
    let mut cleaned = midi.notes(track, &question.choices.cleaning);
    bring_back(&mut cleaned.notes, &question.choices.brought_back);
    let imprint = Imprint::of(&midi);
    let found = match question.chart {
        Some(chart) => Cow::Borrowed(chart),
        None => Cow::Owned(own_chords(&midi, imprint.as_ref(), question.choices)?),
    };
    let written = question.choices.written;
    let found = written::chords(found, written);
    let chords = found.as_ref();
    let open_strings = written::move_notes(&mut cleaned.notes, &question.choices.cleaning.tuning, written);
    let start = imprint.as_ref().map_or(Ticks::ZERO, Imprint::start);
    let laid = Laid {
        form: &chords.form,
        reading: &chords.reading,
        keys: &chords.keys,
        until: imprint.as_ref().and_then(|imprint| imprint.stopped).map(Ticks),
        turns: imprint.as_ref().map(kept::turns).unwrap_or_default(),
        tempo: &midi.tempo,
        start,
        choruses: imprint
            .as_ref()
            .map_or_else(|| chords.choruses_until(midi.last_strike(track), start), |i| i.choruses.max(1)),
    };
    let stage = Stage::new(laid, &question.choices.tally).ok_or(NoChords::Silent)?;
    let tally = tally(&cleaned.notes, &stage, question.choices.tally);
    let (imprint, warnings) = (imprint.as_ref(), &cleaned.warnings);
    Ok(then(&Heard {
        midi: &midi,
        track,
        imprint,
        warnings,
        chords,
        stage: &stage,
        tally: &tally,
        open_strings,
    }))
}

/// Lets notes count again that were set aside by how they sounded.
fn bring_back(notes: &mut [Note], brought_back: &[usize]) {
    for note in notes.iter_mut().filter(|note| brought_back.contains(&(note.index as usize))) {
        note.left_out = note.left_out.filter(|reason| !reason.is_of_the_note());
    }
}

/// The chords that a file brings itself: the chart in its imprint, else its chord text.
fn own_chords(
    midi: &MidiFile,
    imprint: Option<&Imprint>,
    choices: &Choices,
) -> Result<ChordSource, NoChords> {
    match imprint.and_then(|imprint| ChordSource::of_imprint(imprint, choices.bare, &choices.kept)) {
        Some(chords) => Ok(chords),
        None => ChordSource::of_file(midi, choices.bare),
    }
}

fn warning(warning: &crate::take::Warning) -> WarningRecord {
    WarningRecord { code: warning.code().to_owned(), message: warning.to_string(), bar: None }
}

fn settings_used(choices: &Choices) -> SettingsUsed {
    let others = choices.named.iter().filter(|(name, _)| *name != "counting");
    SettingsUsed {
        counting: choices.tally.counting.word(),
        others: others.map(|(name, value)| (name.clone(), value.clone())).collect(),
    }
}

fn chart_id(chords: &ChordSource, midi: &MidiFile, choruses: u32) -> ChartId {
    let quarter = midi.tempo.quarter(Ticks::ZERO);
    let mut id = ChartId { tempo: bpm(quarter.0), ..chords.id.clone() };
    // Of a take that was stopped early the keys that it came to.
    id.keys.iter_mut().for_each(|keys| keys.truncate(choruses as usize));
    id
}

/// Quarter notes a minute, to a thousandth.
fn bpm(quarter_nanos: i64) -> f64 {
    (60e12 / quarter_nanos as f64).round() / 1e3
}

/// SHA-256 in hexadecimal.
pub fn fingerprint(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().flat_map(|byte| [byte >> 4, byte & 15]).filter_map(hex_digit).collect()
}

fn hex_digit(value: u8) -> Option<char> {
    char::from_digit(value.into(), 16)
}
