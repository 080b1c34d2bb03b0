//! From a tally to the review document: every figure is looked up, none is worked out here.

use std::collections::HashMap;

use crate::practice::what_next::Suggestion;
use crate::statistics::{Level, wilson};
use crate::take::LeftOut;
use crate::tally::mix::BarCounts;
use crate::tally::stage::Layers;
use crate::tally::{
    Class, Device, Judged, Kind, Landing, Leaning, Places, RECORDED_SOLOISTS, RULES, Rests, Share, Stage,
    Tag, Tally,
};
use crate::theory::{Pitch, PitchClass, PitchClassSet};

use super::super::number::{Count, thousandths};
use super::super::why;
use super::{
    BarRecord, ChartId, ChordRecord, ChorusRecord, Detail, DurationRecord, FitRecord, LandingRecord,
    LandingsRecord, LeftOutRecord, NextRecord, NoteRecord, PlacesRecord, RestsRecord, Review, SettingsUsed,
    ShareRecord, Source, TOOL, Totals, WarningRecord,
};

/// What was found about a take, from which its document is made.
#[derive(Clone, Copy, Debug)]
pub struct Found<'a> {
    /// The tally.
    pub tally: &'a Tally,
    /// The form that was judged by, laid on time.
    pub stage: &'a Stage<'a>,
    /// What to practise next.
    pub next: &'a [Suggestion],
    /// The open strings of the instrument, lowest first.
    pub open_strings: &'a [Pitch],
}

impl Review {
    /// The document of a tally.
    pub fn new(
        source: Source,
        chart: ChartId,
        settings: SettingsUsed,
        found: Found<'_>,
        detail: Detail,
        warnings: Vec<WarningRecord>,
    ) -> Self {
        let whole = detail == Detail::Notes;
        let Found { tally, stage, next, open_strings } = found;
        Self {
            schema: "barwise.review",
            version: 1,
            tool: TOOL,
            rules: RULES,
            source,
            chart,
            entered: None,
            band: None,
            settings,
            notes: whole.then(|| note_records(tally, stage)),
            chords: whole.then(|| chord_records(tally, stage)),
            bars: whole.then(|| bar_records(tally, stage)),
            choruses: whole.then(|| ChorusRecord::of_each(tally, stage)),
            places: whole.then(|| PlacesRecord::of(&Places::of(&tally.notes), open_strings)),
            totals: Totals::of(tally, stage),
            next: next.iter().map(NextRecord::of).collect(),
            warnings,
        }
    }
}

fn note_records(tally: &Tally, stage: &Stage<'_>) -> Vec<NoteRecord> {
    (0..tally.notes.len()).map(|index| NoteRecord::of(index, tally, stage)).collect()
}

impl NoteRecord {
    fn of(index: usize, tally: &Tally, stage: &Stage<'_>) -> Self {
        let judged: &Judged = &tally.notes[index];
        let note = judged.note;
        let visit = judged.visit.map(|visit| stage.visits()[visit]);
        let seen = judged.visit.map(|visit| stage.chord(visit));
        let (chord, read) = (seen.map(|seen| seen.chord), seen.and_then(|seen| seen.read));
        let symbol = chord.and_then(|chord| chord.symbol.as_ref());
        Self {
            index: note.index as usize,
            onset_ms: note.on.in_millis(),
            duration_ms: note.length().in_millis(),
            beats: thousandths(note.length().0 as f64 / judged.timing.beat.0.max(1) as f64),
            chorus: judged.place.chorus,
            bar: judged.place.bar,
            beat: thousandths(judged.place.beat),
            key: note.pitch.key(),
            name: why::name(note.pitch, symbol),
            string: note.string,
            fret: note.fret,
            velocity: note.velocity,
            chord: chord.map_or_else(String::new, |chord| chord.text.clone()),
            chord_index: visit.map(|visit| visit.chord + 1),
            chord_chorus: visit.map(|visit| visit.chorus),
            chord_bar: chord.map(|chord| stage.laid().form.bars[chord.bar].number),
            scale: read.map(|read| read.scale.to_string()),
            degree: symbol.map(|symbol| symbol.degree_of(note.pitch.pitch_class()).to_string()),
            class: judged.class.map_or("none", Class::word),
            tag: judged.tag.map(Tag::word),
            rule: judged.tag.and_then(Tag::device).map(Device::word),
            early: judged.early,
            counted: judged.is_counted(),
            left_out: judged.left_out().map(LeftOut::word),
            why: why::one_line(index, tally, stage),
        }
    }
}

fn chord_records(tally: &Tally, stage: &Stage<'_>) -> Vec<ChordRecord> {
    let form = stage.laid().form;
    let visits = stage.visits().iter().enumerate().zip(&tally.mix.by_visit).zip(&tally.landings.by_visit);
    let records = visits.map(|(((index, visit), counts), landing)| {
        let seen = stage.chord(index);
        let chord = seen.chord;
        let (beat, beats) = form.beat_and_beats(chord);
        let tones = |of: fn(&Layers) -> PitchClassSet| {
            stage
                .layers(index)
                .map(|layers| of(layers).iter().map(PitchClass::semitones).collect())
                .unwrap_or_default()
        };
        ChordRecord {
            chord_index: visit.chord + 1,
            chorus: visit.chorus,
            bar: form.bars[chord.bar].number,
            beat: Count(thousandths(beat)),
            beats: Count(thousandths(beats)),
            symbol: chord.text.clone(),
            scale: seen.read.map(|read| read.scale.to_string()),
            chord_tones: tones(|layers| layers.chord),
            guide_tones: tones(|layers| layers.guide),
            chord: Count(counts.of(Kind::Chord)),
            scale_notes: Count(counts.of(Kind::Scale)),
            other: Count(counts.of(Kind::Other)),
            outside: Count(counts.of(Kind::Outside)),
            open: Count(counts.of(Kind::Open)),
            landing: landing_record(*landing, index, tally, stage),
            kept_out: stage.kept_out(index).map(LeftOut::word),
        }
    });
    records.collect()
}

fn landing_record(landing: Landing, visit: usize, tally: &Tally, stage: &Stage<'_>) -> Option<LandingRecord> {
    match landing {
        Landing::NoChange => None,
        Landing::NoNote => Some(LandingRecord { degree: None, hit: None, note: None, seven_to_three: None }),
        Landing::Note { index, hit, seven_to_three } => {
            let pitch_class = tally.notes[index].note.pitch.pitch_class();
            let symbol = stage.chord(visit).chord.symbol.as_ref();
            Some(LandingRecord {
                degree: symbol.map(|symbol| symbol.degree_of(pitch_class).to_string()),
                hit: Some(hit),
                note: Some(index),
                seven_to_three: Some(seven_to_three),
            })
        }
    }
}

fn bar_records(tally: &Tally, stage: &Stage<'_>) -> Vec<BarRecord> {
    let bars = stage.laid().form.bars.iter();
    let beats: HashMap<usize, u8> = bars.map(|bar| (bar.number, bar.meter.beats())).collect();
    let record = |&BarCounts { chorus, bar, counts }: &BarCounts| BarRecord {
        chorus,
        bar,
        beats: Count(beats.get(&bar).copied().unwrap_or_default().into()),
        counted: Count(counts.counted().notes()),
        chord: Count(counts.of(Kind::Chord)),
        scale: Count(counts.of(Kind::Scale)),
        other: Count(counts.of(Kind::Other)),
        outside: Count(counts.of(Kind::Outside)),
        resolved: Count(counts.of(Kind::Resolved)),
        open: Count(counts.of(Kind::Open)),
    };
    tally.mix.by_bar.iter().map(record).collect()
}

impl Totals {
    fn of(tally: &Tally, stage: &Stage<'_>) -> Self {
        let share = |kind| ShareRecord::of(tally.mix.share(kind));
        let chord = share(Kind::Chord);
        let by_duration = |class| tally.by_duration.share(class);
        Self {
            counted: Count(tally.mix.total.counted().notes()),
            design_effect: chord.design_effect,
            chord,
            scale: share(Kind::Scale),
            other: share(Kind::Other),
            outside: share(Kind::Outside),
            resolved: share(Kind::Resolved),
            open: share(Kind::Open),
            by_duration: DurationRecord {
                chord: by_duration(Class::Chord),
                scale: by_duration(Class::Scale),
                other: by_duration(Class::Other),
                outside: by_duration(Class::Outside),
            },
            running_the_scale: tally.running_the_scale,
            recorded_soloists: [RECORDED_SOLOISTS.0, RECORDED_SOLOISTS.1],
            landings: LandingsRecord::of(tally),
            fits: tally.leanings.iter().filter_map(|leaning| FitRecord::of(leaning, stage)).collect(),
            rests: RestsRecord::of(tally.rests),
            left_out: LeftOutRecord::of(tally),
        }
    }
}

impl ShareRecord {
    /// The record of a share, with its 95 % interval.
    pub fn of(share: Share) -> Self {
        let interval = share.interval(Level::ONE);
        Self {
            n: Count(share.n),
            share: share.share(),
            low: interval.map(|i| i.low),
            high: interval.map(|i| i.high),
            design_effect: share.design_effect,
        }
    }
}

impl LandingsRecord {
    fn of(tally: &Tally) -> Self {
        Self::of_rate(tally.landings.rate(), tally.landings.baseline)
    }

    /// The record of so many changes landed on of so many met.
    pub(super) fn of_rate((n, of): (usize, usize), baseline: Option<f64>) -> Self {
        let interval = wilson(n as f64, of as f64, Level::ONE);
        Self {
            n,
            of,
            share: (of > 0).then(|| n as f64 / of as f64),
            low: interval.map(|i| i.low),
            high: interval.map(|i| i.high),
            baseline,
        }
    }
}

impl RestsRecord {
    /// The record of silences.
    pub(super) fn of(rests: Rests) -> Self {
        Self {
            beats: thousandths(rests.beats),
            of: Count(rests.of),
            longest_run_beats: thousandths(rests.longest_run),
        }
    }
}

impl FitRecord {
    fn of(leaning: &Leaning, stage: &Stage<'_>) -> Option<Self> {
        let seen = &stage.seen()[leaning.seen];
        Some(Self {
            symbol: seen.chord.text.clone(),
            function: seen.read?.function.clone(),
            scale: leaning.scale.to_string(),
            notes_more: Count(leaning.notes_more),
        })
    }
}

impl LeftOutRecord {
    fn of(tally: &Tally) -> Self {
        let count = |reason| tally.left_out(reason);
        Self {
            ghost: count(LeftOut::Ghost),
            ornament: count(LeftOut::Ornament),
            retrigger: count(LeftOut::Retrigger),
            between: count(LeftOut::Between),
            no_chord: count(LeftOut::NoChord),
            count_in: count(LeftOut::CountIn),
            head: count(LeftOut::Head),
            not_yours: count(LeftOut::NotYours),
        }
    }
}
