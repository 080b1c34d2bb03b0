//! What can be entered: one enum. In the file each is an object whose `entry` names its kind.
//!
//! Within a version fields are added, never renamed or given another meaning. Texts are the words of the person who
//! entered them; nothing here is checked against takes or charts, which come and go.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

pub use crate::chart::ChordPlace;

/// Something a player or a teacher entered, or that was learnt for them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "entry", rename_all = "kebab-case")]
pub enum Entry {
    /// An assignment that was written for a student, or that a student took up.
    Assignment(AssignmentEntry),
    /// The scale of a chord of a chart, which wins until it is taken out.
    Override(ScaleOverride),
    /// A player hears a note otherwise.
    Contest(Contest),
    /// A contest was taken back.
    Withdrawn {
        /// The entry that contested.
        contest: EntryId,
    },
    /// An answer in a drill.
    Drill(DrillAnswer),
    /// A player's note to self on a take.
    Note(NoteToSelf),
    /// Bars of a take that are kept, to hear and to drill.
    Phrase(Phrase),
    /// A phrase is no longer kept.
    PhraseOut(Phrase),
    /// A note that was set aside as misread counts again.
    BroughtBack(LeftOutNote),
    /// A note that was brought back is set aside again.
    SetAside(LeftOutNote),
    /// What was learnt about a device.
    Device(DeviceLearnt),
    /// A take was kept: when, for the time of a file does not outlive every copy of it.
    Kept {
        /// Its number.
        take: u32,
        /// SHA-256 of its file, in hexadecimal.
        sha256: String,
        /// When its file was written.
        kept_at: Timestamp,
    },
    /// A take was dropped.
    Dropped {
        /// Its number, which no other take gets.
        take: u32,
        /// Where it went.
        to: DroppedTo,
    },
    /// A take was brought back from the bin.
    Restored {
        /// Its number.
        take: u32,
    },
}

impl Entry {
    /// The words for the kinds that this program knows.
    pub const KINDS: [&str; 14] = [
        "assignment",
        "override",
        "contest",
        "withdrawn",
        "drill",
        "note",
        "phrase",
        "phrase-out",
        "brought-back",
        "set-aside",
        "device",
        "kept",
        "dropped",
        "restored",
    ];

    /// The word for its kind.
    pub const fn kind(&self) -> &'static str {
        let [
            assignment,
            scale,
            contest,
            withdrawn,
            drill,
            note,
            phrase,
            out,
            brought_back,
            set_aside,
            device,
            kept,
            dropped,
            restored,
        ] = Self::KINDS;
        match self {
            Self::Assignment(_) => assignment,
            Self::Override(_) => scale,
            Self::Contest(_) => contest,
            Self::Withdrawn { .. } => withdrawn,
            Self::Drill(_) => drill,
            Self::Note(_) => note,
            Self::Phrase(_) => phrase,
            Self::PhraseOut(_) => out,
            Self::BroughtBack(_) => brought_back,
            Self::SetAside(_) => set_aside,
            Self::Device(_) => device,
            Self::Kept { .. } => kept,
            Self::Dropped { .. } => dropped,
            Self::Restored { .. } => restored,
        }
    }

    /// The number of the take it is about, if it is about one.
    pub const fn take(&self) -> Option<u32> {
        match self {
            Self::Contest(Contest { take, .. })
            | Self::Note(NoteToSelf { take, .. })
            | Self::Phrase(Phrase { take, .. })
            | Self::PhraseOut(Phrase { take, .. })
            | Self::BroughtBack(LeftOutNote { take, .. })
            | Self::SetAside(LeftOutNote { take, .. })
            | Self::Kept { take, .. }
            | Self::Dropped { take, .. }
            | Self::Restored { take } => Some(*take),
            Self::Assignment(_)
            | Self::Override(_)
            | Self::Withdrawn { .. }
            | Self::Drill(_)
            | Self::Device(_) => None,
        }
    }

    /// What it is called by within its kind: an assignment's name, a chart's fingerprint, a drill's item, a device.
    pub fn subject(&self) -> Option<&str> {
        match self {
            Self::Assignment(assignment) => Some(&assignment.name),
            Self::Override(scale) => Some(&scale.chart.sha256),
            Self::Withdrawn { contest } => Some(contest.as_str()),
            Self::Drill(answer) => Some(&answer.item),
            Self::Device(learnt) => Some(&learnt.device),
            Self::Contest(_)
            | Self::Note(_)
            | Self::Phrase(_)
            | Self::PhraseOut(_)
            | Self::BroughtBack(_)
            | Self::SetAside(_)
            | Self::Kept { .. }
            | Self::Dropped { .. }
            | Self::Restored { .. } => None,
        }
    }
}

/// What an entry is called: 16 hexadecimal digits, made from its place and its text.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct EntryId(pub(super) String);

impl EntryId {
    /// The digits.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// An assignment with its whole text, so that it outlives the file it came in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct AssignmentEntry {
    /// What it is called: its title, or the name of its file.
    pub name: String,
    /// Whose it is.
    pub role: AssignmentRole,
    /// The text of its file.
    pub text: String,
}

/// Whose an assignment is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum AssignmentRole {
    /// A teacher wrote it and gave it out.
    Given,
    /// A student took it up.
    Kept,
    /// It is put away: no longer asked for.
    PutAway,
}

/// A chart as an entry names it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct ChartName {
    /// Its title.
    pub title: String,
    /// SHA-256 of its text, in hexadecimal, as in a review.
    pub sha256: String,
}

/// The scale that a player keeps for a chord of a chart, or the key it is to be heard in. With neither, what was kept for
/// the chord is taken out again.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ScaleOverride {
    /// The chart.
    pub chart: ChartName,
    /// The chord.
    pub place: ChordPlace,
    /// The symbol that stands there, to know the chord again in a chart that was edited.
    pub symbol: String,
    /// The scale, as `=scale` takes it in a chart.
    pub scale: Option<String>,
    /// The key it is heard in, as a chart's header writes it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub key: Option<String>,
    /// The key that the chart is in, to know the chord again in another one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chart_key: Option<String>,
}

/// A note that a player hears otherwise than it was judged.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Contest {
    /// The take.
    pub take: u32,
    /// The note.
    pub note: NoteName,
    /// How the player hears it.
    pub heard_as: HeardAs,
    /// Why, in the player's words.
    pub reason: String,
}

/// A note of a take.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum NoteName {
    /// Its `index` in the review, from 0.
    Index(usize),
    /// The `note`th note (from 1) of a bar of a chorus, both from 1.
    Place {
        /// Times through, from 1.
        chorus: u32,
        /// Bar of the form, from 1.
        bar: usize,
        /// Which of its notes, from 1.
        note: usize,
    },
}

/// What a player hears a note as.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum HeardAs {
    /// A chord tone.
    Chord,
    /// A scale tone.
    Scale,
    /// An outside note that resolves.
    Resolved,
    /// An outside note left open.
    Open,
    /// No note of the line: misread, or struck by accident.
    NotPlayed,
    /// A note over another chord, by its symbol.
    Over(String),
    /// A note of another scale, by its name.
    In(String),
}

/// An answer in a drill.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct DrillAnswer {
    /// What was asked, in the words of the drill; the same each time it is asked.
    pub item: String,
    /// How it was answered.
    pub answer: Answer,
    /// How long the answer took, in milliseconds.
    pub ms: u32,
}

/// How an item of a drill was answered.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Answer {
    /// Right.
    Right,
    /// With a slip, told by name.
    Slip(String),
    /// The player asked to see it.
    Seen,
    /// Not today, the player said.
    NotToday,
}

/// A player's note to self.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct NoteToSelf {
    /// The take.
    pub take: u32,
    /// The player's words; empty takes the note out again.
    pub text: String,
}

/// Bars of a take that are kept.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Phrase {
    /// The take.
    pub take: u32,
    /// Times through, from 1.
    pub chorus: u32,
    /// The first bar of the form, from 1.
    pub first_bar: usize,
    /// The last bar, itself included.
    pub last_bar: usize,
}

/// A note of a take that was set aside as misread: a ghost, a grace note, a key struck again at once.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LeftOutNote {
    /// The take.
    pub take: u32,
    /// Its `index` in the review, from 0.
    pub note: usize,
}

/// What was learnt about a device.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DeviceLearnt {
    /// The device, by the name that stays over a replug.
    pub device: String,
    /// What is known of it since, by name.
    pub facts: serde_json::Map<String, serde_json::Value>,
}

/// Where a dropped take went.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DroppedTo {
    /// The bin, from which it can be brought back.
    Bin,
    /// Nowhere: it was deleted.
    ForGood,
}
