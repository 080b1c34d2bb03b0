//! Makes a digest of a take that was judged. Every figure is looked up or added up; none is judged here.

use std::fmt::Write;

use jiff::civil::Date;

use crate::chart::{Feel, Form};
use crate::harmony::Centre;
use crate::take::LeftOut;
use crate::tally::{Class, Judged, Kind, Landing, RULES, Share, Stage, Tally};
use crate::theory::chord::Arpeggio;
use crate::theory::{ChordSymbol, Key, KeyMode, NoteName, Pitch, PitchClass};

use super::{Digest, Group, Landed, Part, Placed, Rests, VERSION};
use crate::neck::{Fret, Place, Position, StringNumber, Tuning};
use crate::practice::position_heard;

/// Settings that say how notes come from the instrument, not how they are counted; by the names that reviews carry.
pub const CAPTURE_SETTINGS: [&str; 6] =
    ["tuning", "first_string_channel", "string_order", "bend_range", "offset_ms", "offset_periods"];

/// A judged take with what its tally does not say.
#[derive(Clone, Debug)]
pub struct JudgedTake<'a> {
    /// Number of the take.
    pub take: u32,
    /// SHA-256 of its file, in hexadecimal.
    pub sha256: String,
    /// The day it was kept.
    pub day: Date,
    /// Title of the chart.
    pub title: String,
    /// SHA-256 of the chart's text, in hexadecimal.
    pub chart_sha256: String,
    /// SHA-256 of [`form_text`] of the whole form, in hexadecimal.
    pub form_sha256: String,
    /// Key signature.
    pub key: Option<String>,
    /// Quarter notes a minute.
    pub tempo: f64,
    /// The feel, where it is known.
    pub feel: Option<Feel>,
    /// The bars played, if not all.
    pub bars: Option<(usize, usize)>,
    /// SHA-256 of the settings that decide how notes are counted, in hexadecimal.
    pub settings_sha256: String,
    /// The open strings, lowest first.
    pub tuning: &'a [Pitch],
    /// What was found.
    pub tally: &'a Tally,
    /// The stage it was found on.
    pub stage: &'a Stage<'a>,
}

impl From<JudgedTake<'_>> for Digest {
    fn from(judged: JudgedTake<'_>) -> Self {
        let JudgedTake { tally, stage, .. } = judged;
        let mix = &tally.mix;
        let part = |kind| Part::from(mix.share(kind));
        let (n, of) = tally.landings.rate();
        let (from, until) = stage.bounds();
        let counted = mix.total.counted().notes();
        Self {
            version: VERSION,
            rules: RULES,
            take: judged.take,
            sha256: judged.sha256,
            day: judged.day,
            seconds: (until - from).in_millis() / 1e3,
            title: judged.title,
            chart_sha256: judged.chart_sha256,
            form_sha256: judged.form_sha256,
            key: judged.key,
            tempo: judged.tempo,
            feel: judged.feel.map(|feel| feel.to_string()),
            bars: judged.bars,
            choruses: stage.visits().last().map_or(0, |visit| visit.chorus),
            bars_played: stage.beats_of_bars().filter(|&(_, beats)| beats > 0.0).count(),
            counting: tally.settings.counting,
            share_by: tally.settings.share_by,
            settings_sha256: judged.settings_sha256,
            struck: tally.notes.len(),
            misread: tally.left_out(LeftOut::Ghost) + tally.left_out(LeftOut::Retrigger),
            counted,
            chord: part(Kind::Chord),
            scale: part(Kind::Scale),
            other: part(Kind::Other),
            scale_and_other: mix.share_of(&[Kind::Scale, Kind::Other]).into(),
            outside: part(Kind::Outside),
            resolved: part(Kind::Resolved),
            open: part(Kind::Open),
            by_duration: Class::ALL.map(|class| tally.by_duration.share(class)),
            guide_tones: tally.landings.baseline.unwrap_or_default() * counted,
            landings: Landed { n, of },
            running_the_scale: tally.running_the_scale,
            kinds: groups(tally, stage, kind_name),
            regions: groups(tally, stage, region_name),
            register: register(tally),
            rests: Rests {
                beats: tally.rests.beats,
                of: tally.rests.of,
                longest_run: tally.rests.longest_run,
            },
            places: places(tally, stage, judged.tuning),
        }
    }
}

impl From<Share> for Part {
    fn from(share: Share) -> Self {
        Self { n: share.n, effect: share.design_effect }
    }
}

/// The changes of a form as they lie above its tonic (without one, above its first root), with meters and places: the
/// same text for the same changes in any key.
pub fn form_text(form: &Form, home: Option<Key>) -> String {
    let first_root = || form.chords.iter().find_map(|chord| chord.symbol).map(|symbol| symbol.root);
    let tonic = home.map(|key| key.tonic).or_else(first_root).map(NoteName::pitch_class);
    let above = |note: NoteName| tonic.map_or(0, |tonic| note.pitch_class().above(tonic));
    let mut text = String::new();
    for bar in &form.bars {
        write_part(&mut text, format_args!("| {} ", bar.meter));
    }
    for chord in &form.chords {
        write_part(&mut text, format_args!("\n{} {}", chord.start.0, chord.length.0));
        if let Some(symbol) = chord.symbol {
            let (root, bass) = (above(symbol.root), above(symbol.bass_or_root()));
            write_part(&mut text, format_args!(" {root}{} {bass}", symbol.quality));
        }
    }
    text
}

fn write_part(text: &mut String, part: std::fmt::Arguments<'_>) {
    // A string takes any text.
    let _ = text.write_fmt(part);
}

/// The chord that a visit sounds, and the key it is heard in.
struct Heard {
    symbol: ChordSymbol,
    centre: Centre,
}

fn heard(stage: &Stage<'_>, visit: usize) -> Option<Heard> {
    let seen = stage.chord(visit);
    Some(Heard { symbol: seen.chord.symbol?, centre: seen.read?.centre })
}

/// The kind of a chord by its arpeggio, as it is heard: `F/G` is a `7sus4`.
fn kind_name(heard: &Heard) -> String {
    match heard.symbol.heard().quality.arpeggio {
        Arpeggio::Major => "major".to_owned(),
        Arpeggio::Minor => "minor".to_owned(),
        other => other.text().to_owned(),
    }
}

fn region_name(heard: &Heard) -> String {
    heard.centre.to_string()
}

/// Counts visits by a name of theirs. Those that nothing is counted over are left out.
fn groups(tally: &Tally, stage: &Stage<'_>, name: impl Fn(&Heard) -> String) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    let names: Vec<Option<String>> =
        (0..stage.visits().len()).map(|visit| heard(stage, visit).map(|heard| name(&heard))).collect();
    let guides = guide_tones(tally, stage);
    for (visit, name) in names.into_iter().enumerate() {
        let Some(name) = name.filter(|_| stage.kept_out(visit).is_none()) else { continue };
        let index = groups.iter().position(|group| group.name == name).unwrap_or_else(|| {
            groups.push(Group::named(name));
            groups.len() - 1
        });
        let counts = &tally.mix.by_visit[visit];
        let group = &mut groups[index];
        group.counted += counts.counted().notes();
        group.chord += counts.of(Kind::Chord);
        group.outside += counts.of(Kind::Outside);
        group.open += counts.of(Kind::Open);
        group.guide_tones += guides[visit];
        if let Landing::Note { hit, .. } = tally.landings.by_visit[visit] {
            group.landings.n += usize::from(hit);
            group.landings.of += 1;
        }
    }
    groups.retain(|group| group.counted > 0.0);
    groups
}

impl Group {
    fn named(name: String) -> Self {
        let landings = Landed::default();
        Self { name, counted: 0.0, chord: 0.0, outside: 0.0, open: 0.0, guide_tones: 0.0, landings }
    }
}

/// Thirds and sevenths counted over each visit.
fn guide_tones(tally: &Tally, stage: &Stage<'_>) -> Vec<f64> {
    let mut guides = vec![0.0; stage.visits().len()];
    for (note, visit) in counted(tally) {
        let pitch_class = note.note.pitch.pitch_class();
        if stage.layers(visit).is_some_and(|layers| layers.guide.has(pitch_class)) {
            guides[visit] += note.weight.notes();
        }
    }
    guides
}

/// The counted notes, each with its visit.
fn counted(tally: &Tally) -> impl Iterator<Item = (&Judged, usize)> {
    let counted = tally.notes.iter().filter(|note| note.is_counted());
    counted.filter_map(|note| Some((note, note.visit?)))
}

/// Lowest, quartiles and highest key; a quartile is the note below which so many lie, never between two.
fn register(tally: &Tally) -> Option<[u8; 5]> {
    let mut keys: Vec<u8> = counted(tally).map(|(note, _)| note.note.pitch.key()).collect();
    keys.sort_unstable();
    let last = keys.len().checked_sub(1)?;
    Some([0, 1, 2, 3, 4].map(|quarter| keys[last * quarter / 4]))
}

/// Where the line lay, bar by bar.
fn places(tally: &Tally, stage: &Stage<'_>, tuning: &[Pitch]) -> Vec<Placed> {
    let Some(tuning) = Tuning::of_strings(tuning.to_vec()) else { return Vec::new() };
    let mut neck = Neck { tuning, keys: Vec::new(), before: None, placed: Vec::new() };
    let mut bar: Vec<(Place, Pitch)> = Vec::new();
    let mut at: Option<(u32, usize, PitchClass)> = None;
    for (note, visit) in counted(tally) {
        let string = note.note.string.and_then(StringNumber::new);
        let Some((string, fret)) = string.zip(note.note.fret) else { continue };
        let Some(Centre::Key(key)) = heard(stage, visit).map(|heard| heard.centre) else { continue };
        let here = stage.visits()[visit];
        let here = (here.chorus, stage.laid().form.chords[here.chord].bar, key.relative_major());
        if at != Some(here) {
            neck.take_in(at, &bar);
            bar.clear();
            at = Some(here);
        }
        bar.push((Place { string, fret: Fret(fret) }, note.note.pitch));
    }
    neck.take_in(at, &bar);
    neck.placed
}

/// The positions met so far.
struct Neck {
    tuning: Tuning,
    keys: Vec<(NoteName, Vec<Position>)>,
    before: Option<NoteName>,
    placed: Vec<Placed>,
}

impl Neck {
    /// Takes in the notes of one bar in one key.
    fn take_in(&mut self, at: Option<(u32, usize, PitchClass)>, bar: &[(Place, Pitch)]) {
        let Some((_, _, tonic)) = at else { return };
        let tonic = Key::new(tonic, KeyMode::Major).tonic;
        if !self.keys.iter().any(|(known, _)| *known == tonic) {
            self.keys.push((tonic, position_heard::positions(&self.tuning, tonic)));
        }
        let Some((_, positions)) = self.keys.iter().find(|(known, _)| *known == tonic) else { return };
        let found = position_heard::found(positions, bar, tonic, self.before);
        self.before = found.or(self.before);
        let Some(start) = found else { return };
        let (key, start) = (tonic.to_string(), start.to_string());
        match self.placed.iter_mut().find(|placed| placed.key == key && placed.start == start) {
            Some(placed) => placed.notes += bar.len(),
            None => self.placed.push(Placed { key, start, notes: bar.len() }),
        }
    }
}
