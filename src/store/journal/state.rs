//! What holds now: the entries of a journal replayed from the first to the last. Pure.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;

use super::entry::{
    AssignmentEntry, AssignmentRole, ChartName, ChordPlace, Contest, DrillAnswer, DroppedTo, Entry, EntryId,
    NoteToSelf, Phrase, ScaleOverride,
};
use super::lines::Record;

/// What holds after a journal, or after those of its entries that were asked for.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct State {
    /// The assignments by their names, each as it was entered last; none that was put away.
    pub assignments: BTreeMap<String, Dated<AssignmentEntry>>,
    /// The scales kept for chords of charts.
    pub scales: BTreeMap<(ChartName, ChordPlace), Dated<ScaleOverride>>,
    /// The contests that stand, by the entry that made them, in the order they were made.
    pub contests: Vec<(EntryId, Dated<Contest>)>,
    /// The answers to each item of the drills, oldest first.
    pub drills: BTreeMap<String, Vec<Dated<DrillAnswer>>>,
    /// The notes to self by take, oldest first.
    pub notes: BTreeMap<u32, Vec<Dated<NoteToSelf>>>,
    /// The phrases kept, oldest first; one that was kept twice stands once.
    pub phrases: Vec<Dated<Phrase>>,
    /// The notes that were brought back, by take: their indices in its review.
    pub brought_back: BTreeMap<u32, BTreeSet<usize>>,
    /// What is known of devices by their names, the latest word on each fact.
    pub devices: BTreeMap<String, serde_json::Map<String, serde_json::Value>>,
    /// When takes were kept, each by the fingerprint of its file.
    pub kept: BTreeMap<u32, (String, Timestamp)>,
    /// The takes that were dropped and not brought back.
    pub dropped: BTreeMap<u32, DroppedTo>,
    /// The greatest number of a take that is spoken of; a new take is to get a greater one.
    pub last_take: Option<u32>,
}

/// Something entered, with when.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dated<T> {
    /// When it was entered.
    pub at: Timestamp,
    /// What was entered.
    pub what: T,
}

impl State {
    /// What holds after `records`, in the order they were entered.
    pub fn replay<'a>(records: impl IntoIterator<Item = &'a Record>) -> Self {
        let mut state = Self::default();
        for record in records {
            state.take_in(record);
        }
        state
    }

    fn take_in(&mut self, record: &Record) {
        let at = record.at;
        self.last_take = self.last_take.max(record.entry.take());
        match &record.entry {
            Entry::Assignment(assignment) => self.assign(at, assignment),
            Entry::Override(scale) => self.keep_scale(at, scale),
            Entry::Contest(contest) => {
                self.contests.push((record.id.clone(), Dated { at, what: contest.clone() }));
            }
            Entry::Withdrawn { contest } => self.contests.retain(|(id, _)| id != contest),
            Entry::Drill(answer) => {
                let answers = self.drills.entry(answer.item.clone()).or_default();
                answers.push(Dated { at, what: answer.clone() });
            }
            Entry::Note(note) => self.note(at, note),
            Entry::Phrase(phrase) => {
                if !self.phrases.iter().any(|kept| kept.what == *phrase) {
                    self.phrases.push(Dated { at, what: phrase.clone() });
                }
            }
            Entry::PhraseOut(phrase) => self.phrases.retain(|kept| kept.what != *phrase),
            Entry::BroughtBack(note) => _ = self.brought_back.entry(note.take).or_default().insert(note.note),
            Entry::SetAside(note) => {
                if let Some(notes) = self.brought_back.get_mut(&note.take) {
                    notes.remove(&note.note);
                }
            }
            Entry::Device(learnt) => {
                self.devices.entry(learnt.device.clone()).or_default().extend(learnt.facts.clone());
            }
            Entry::Kept { take, sha256, kept_at } => {
                self.kept.insert(*take, (sha256.clone(), *kept_at));
            }
            Entry::Dropped { take, to } => _ = self.dropped.insert(*take, *to),
            Entry::Restored { take } => _ = self.dropped.remove(take),
        }
    }

    fn assign(&mut self, at: Timestamp, assignment: &AssignmentEntry) {
        match assignment.role {
            AssignmentRole::PutAway => _ = self.assignments.remove(&assignment.name),
            AssignmentRole::Given | AssignmentRole::Kept => {
                let dated = Dated { at, what: assignment.clone() };
                self.assignments.insert(assignment.name.clone(), dated);
            }
        }
    }

    fn keep_scale(&mut self, at: Timestamp, scale: &ScaleOverride) {
        let key = (scale.chart.clone(), scale.place);
        if scale.scale.is_none() && scale.key.is_none() {
            self.scales.remove(&key);
        } else {
            self.scales.insert(key, Dated { at, what: scale.clone() });
        }
    }

    fn note(&mut self, at: Timestamp, note: &NoteToSelf) {
        if note.text.is_empty() {
            self.notes.remove(&note.take);
        } else {
            self.notes.entry(note.take).or_default().push(Dated { at, what: note.clone() });
        }
    }

    /// What the player said of a take and keeps of it: the notes to self and the phrases, oldest first.
    pub fn of_take(&self, take: u32) -> (Vec<&NoteToSelf>, Vec<&Phrase>) {
        let notes = self.notes.get(&take).into_iter().flatten().map(|note| &note.what).collect();
        let phrases = self.phrases.iter().map(|kept| &kept.what).filter(|kept| kept.take == take).collect();
        (notes, phrases)
    }

    /// The scales kept for the chart of this text.
    pub fn scales_of<'a>(&'a self, sha256: &'a str) -> impl Iterator<Item = &'a ScaleOverride> {
        let of_chart = move |kept: &&Dated<ScaleOverride>| kept.what.chart.sha256 == sha256;
        self.scales.values().filter(of_chart).map(|kept| &kept.what)
    }
}
