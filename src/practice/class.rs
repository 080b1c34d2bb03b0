//! A class: what the hand-ins of an assignment say together. Who needs attention first, which bar most stumbled over, whether
//! a band is too narrow. No ranking.

use jiff::civil::Date;

use super::standing::Found;
use crate::chart::Form;
use crate::store::journal::entry::Contest;
use crate::tally::verdict::{Bands, Finding, Measure, NoVerdict, Verdict};
use crate::tally::{Landing, Share, Tally};

/// One student, by what was handed in.
#[derive(Clone, Debug)]
pub struct Pupil {
    /// The name: as written in the hand-in, else of its file.
    pub name: String,
    /// The name of the file, made tame.
    pub file: String,
    /// The day it was written.
    pub day: Option<Date>,
    /// The day of the last take in it.
    pub last_played: Option<Date>,
    /// Takes in it.
    pub takes: usize,
    /// What is found.
    pub found: Found,
    /// The numbers of the takes that count together.
    pub used: Vec<u32>,
    /// The same with every contested note granted.
    pub granted: Option<Verdict>,
    /// The contests.
    pub contests: Vec<Contest>,
    /// A line from the student.
    pub note: Option<String>,
    /// What the instrument or its set-up did to takes, each once.
    pub gear: Vec<String>,
    /// Counts of the takes that are looked at: those that count together, or those set aside where none do.
    pub mix: PupilMix,
    /// By bar of the form, in its order.
    pub bars: Vec<PupilBar>,
    /// A fingerprint of the notes.
    pub notes_sha256: String,
}

/// Shares of the takes that are looked at.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct PupilMix {
    /// Notes counted.
    pub counted: f64,
    /// Chord tones.
    pub chord: Option<Share>,
    /// Open notes.
    pub open: Option<Share>,
    /// Changes landed on, and those met.
    pub landings: (usize, usize),
    /// Thirds and sevenths among all counted notes.
    pub all_notes: Option<f64>,
}

/// One bar of a student's takes.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct PupilBar {
    /// Notes counted.
    pub counted: f64,
    /// Open notes.
    pub open: f64,
    /// Changes in it that were met but not landed on.
    pub missed: usize,
    /// Changes in it that were met.
    pub met: usize,
}

/// How much a student needs the teacher, the most first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Attention {
    /// Nothing was handed in.
    NotHeard,
    /// Clearly not met.
    ClearlyOff,
    /// Too little to say anything, or takes set aside.
    NoVerdict,
    /// Nothing can be said yet.
    Undecided,
    /// Met, and some notes are contested or a line was written.
    MetWithWords,
    /// Met.
    Met,
}

impl Pupil {
    /// How much the student needs the teacher.
    pub fn attention(&self) -> Attention {
        match self.found.verdict.finding {
            Finding::ClearlyAbove | Finding::ClearlyBelow => Attention::ClearlyOff,
            Finding::NoVerdict => Attention::NoVerdict,
            Finding::Undecided => Attention::Undecided,
            Finding::Met if !self.contests.is_empty() || self.note.is_some() => Attention::MetWithWords,
            Finding::Met => Attention::Met,
        }
    }

    /// What to talk about, in few words.
    pub fn talk_about(&self) -> String {
        let contests = match self.contests.len() {
            0 => None,
            notes => Some(format!("contests {notes}")),
        };
        let first = match self.attention() {
            Attention::ClearlyOff => bars_words(&self.worst_bars()),
            Attention::NoVerdict => Some(self.no_verdict_words()),
            Attention::Undecided => Some("one more take".to_owned()),
            Attention::NotHeard | Attention::MetWithWords | Attention::Met => None,
        };
        let note = self.note.as_ref().map(|_| "has written".to_owned());
        first.into_iter().chain(contests).chain(note).collect::<Vec<_>>().join(", ")
    }

    fn no_verdict_words(&self) -> String {
        if !self.gear.is_empty() {
            return format!("gear: {}", self.gear.join(", "));
        }
        match self.found.verdict.reason {
            Some(NoVerdict::FewTakes { takes: 1, .. }) => "one more take".to_owned(),
            _ => "more notes".to_owned(),
        }
    }

    /// The bars with the most open notes and missed landings: those with as many as the worst, three at most.
    fn worst_bars(&self) -> Vec<usize> {
        let weight = |bar: &PupilBar| bar.open + bar.missed as f64;
        let worst = self.bars.iter().map(weight).fold(0.0, f64::max);
        let numbered = self.bars.iter().enumerate().filter(|(_, bar)| worst > 0.0 && weight(bar) >= worst);
        numbered.map(|(index, _)| index).take(3).collect()
    }
}

/// `bars 13-14`, `bar 5`, `bars 5, 9`, from indices.
fn bars_words(bars: &[usize]) -> Option<String> {
    let (first, last) = (bars.first()? + 1, bars.last()? + 1);
    Some(match bars.len() {
        1 => format!("bar {first}"),
        count if last - first + 1 == count => format!("bars {first}-{last}"),
        _ => format!("bars {}", bars.iter().map(|bar| (bar + 1).to_string()).collect::<Vec<_>>().join(", ")),
    })
}

/// The shares over several takes.
pub fn mix_of(takes: &[&Tally]) -> PupilMix {
    use crate::tally::verdict::{Band, pooled_verdict};
    let Some(all) = Band::new(0.0, 1.0) else { return PupilMix::default() };
    let bands = Bands { bands: vec![(Measure::Chord, all), (Measure::Open, all)], needs: 0.0 };
    let pooled = pooled_verdict(takes, &bands);
    let [chord, open] = [0, 1].map(|index| pooled.bands.get(index).map(|judged| judged.share));
    let landings = takes.iter().map(|tally| tally.landings.rate());
    let notes = |tally: &&Tally| tally.mix.total.counted().notes();
    let thirds_and_sevenths: f64 =
        takes.iter().filter_map(|tally| Some(tally.landings.baseline? * notes(tally))).sum();
    PupilMix {
        counted: pooled.counted,
        chord: chord.filter(|share| share.of > 0.0),
        open: open.filter(|share| share.of > 0.0),
        landings: landings.fold((0, 0), |(n, of), (more, more_of)| (n + more, of + more_of)),
        all_notes: (pooled.counted > 0.0).then(|| thirds_and_sevenths / pooled.counted),
    }
}

/// What happened in each of `bars` bars, the first of which has the number `first`, over several takes.
pub fn bars_of(takes: &[&Tally], first: usize, bars: usize) -> Vec<PupilBar> {
    let mut found = vec![PupilBar::default(); bars];
    for tally in takes {
        for bar in &tally.mix.by_bar {
            if let Some(found) = bar.bar.checked_sub(first).and_then(|index| found.get_mut(index)) {
                found.counted += bar.counts.counted().notes();
                found.open += bar.counts.of(crate::tally::Kind::Open);
            }
        }
        for (landing, &bar) in tally.landings.by_visit.iter().zip(&tally.mix.bar_of_visit) {
            let number = tally.mix.by_bar[bar].bar;
            let found = number.checked_sub(first).and_then(|index| found.get_mut(index));
            if let (Some(found), &Landing::Note { hit, .. }) = (found, landing) {
                found.met += 1;
                found.missed += usize::from(!hit);
            }
        }
    }
    found
}

/// One bar of the form over the class.
#[derive(Clone, Debug, PartialEq)]
pub struct ClassBar {
    /// Its number.
    pub bar: usize,
    /// The symbols that begin in it, as written.
    pub symbols: Vec<String>,
    /// Students who left an open note in it.
    pub open: usize,
    /// Students who met a change in it and landed on none of its thirds and sevenths.
    pub missed: usize,
    /// Students who played in it.
    pub of: usize,
}

/// The bars of the form, over the students that were heard.
pub fn class_bars(pupils: &[Pupil], form: &Form) -> Vec<ClassBar> {
    let bar = |(index, bar): (usize, &crate::chart::FormBar)| {
        let here = || pupils.iter().filter_map(|pupil| pupil.bars.get(index)).filter(|bar| bar.counted > 0.0);
        let symbols = form.chords.iter().filter(|chord| chord.bar == index).map(|chord| chord.text.clone());
        ClassBar {
            bar: bar.number,
            symbols: symbols.collect(),
            open: here().filter(|bar| bar.open > 0.0).count(),
            missed: here().filter(|bar| bar.met > 0 && bar.missed == bar.met).count(),
            of: here().count(),
        }
    };
    form.bars.iter().enumerate().map(bar).collect()
}

/// The bar in which the most students left an open note: at least two, and a third of those who played in it.
pub fn same_bar(bars: &[ClassBar]) -> Option<&ClassBar> {
    let worst = bars.iter().rev().max_by_key(|bar| bar.open)?;
    (worst.open >= 2 && 3 * worst.open >= worst.of).then_some(worst)
}

/// What a band did to the class.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClassBand {
    /// What it is about.
    pub measure: Measure,
    /// Students with a verdict.
    pub of: usize,
    /// Students who met it.
    pub met: usize,
    /// Students of whom nothing can be said.
    pub undecided: usize,
    /// Whether it may be too narrow: three or more are undecided, and a third of all.
    pub narrow: bool,
}

/// What each band did.
pub fn class_bands(pupils: &[Pupil], bands: &Bands) -> Vec<ClassBand> {
    let judged = |measure: Measure| {
        let of_pupil = move |pupil: &Pupil| {
            let bands = &pupil.found.verdict.bands;
            bands.iter().find(|band| band.measure == measure).map(|band| band.finding)
        };
        pupils.iter().filter_map(of_pupil).filter(|&finding| finding != Finding::NoVerdict)
    };
    let band = |&(measure, _): &(Measure, _)| {
        let of = judged(measure).count();
        let undecided = judged(measure).filter(|&finding| finding == Finding::Undecided).count();
        ClassBand {
            measure,
            of,
            met: judged(measure).filter(|&finding| finding == Finding::Met).count(),
            undecided,
            narrow: undecided >= 3 && 3 * undecided >= of,
        }
    };
    bands.bands.iter().map(band).collect()
}

/// Of hand-ins of one student the one that counts, and the others: the one written last counts, then the one with the
/// latest take, then the one with more takes.
pub fn latest(mut of_one: Vec<Pupil>) -> Option<(Pupil, Vec<Pupil>)> {
    of_one.sort_by_key(|pupil| (pupil.day, pupil.last_played, pupil.used.iter().max().copied(), pupil.takes));
    let last = of_one.pop()?;
    Some((last, of_one))
}
