//! The class document, `barwise.class`: a row a student, the bars of the form over all of them, what each band did, and
//! what became of every file.

pub mod student;
pub mod text;

use schemars::JsonSchema;
use serde::Serialize;

use super::assignment::AssignmentName;
use super::number::Count;
use super::review::{ShareRecord, TOOL};
use super::verdict::{BandRecord, ContestRecord, sentence};
use crate::practice::class::{ClassBand, ClassBar, Pupil, same_bar};
use crate::statistics::{Level, wilson};
use crate::tally::verdict::{Bands, Measure, Verdict};

/// A whole class.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "barwise.class")]
pub struct ClassDocument {
    /// `barwise.class`
    pub schema: &'static str,
    /// Version of the document.
    pub version: u32,
    /// The program and its version.
    pub tool: &'static str,
    /// The assignment.
    pub assignment: AssignmentName,
    /// Students who were heard from.
    pub heard: usize,
    /// How many ended how.
    pub findings: FindingCounts,
    /// A row a student: who needs attention first, then by name.
    pub students: Vec<StudentRecord>,
    /// Every bar of the form.
    pub bars: Vec<ClassBarRecord>,
    /// The bar in which the most left an open note, where enough did.
    pub same_bar: Option<usize>,
    /// What each band did.
    pub bands: Vec<ClassBandRecord>,
    /// Chord share of running the scale over the bars asked for.
    pub running_the_scale: Option<f64>,
    /// Files that gave a hand-in.
    pub files_read: usize,
    /// Every other file, and every hand-in of which something is to be said.
    pub files: Vec<FileRecord>,
}

/// How many students ended how.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct FindingCounts {
    /// Met.
    pub met: usize,
    /// Clearly above a band, and none below.
    pub clearly_above: usize,
    /// Clearly below a band.
    pub clearly_below: usize,
    /// Undecided.
    pub undecided: usize,
    /// No verdict: too few notes or takes, or takes set aside.
    pub no_verdict: usize,
    /// Named by the teacher, and nothing was handed in.
    pub not_heard: usize,
}

/// One student.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct StudentRecord {
    /// The name, as the student wrote it, else that of the file; control characters taken out.
    pub student: String,
    /// The name of the file; none where nothing was handed in.
    pub file: Option<String>,
    /// Takes handed in.
    pub takes: usize,
    /// The day of the last take, year-month-day.
    pub last_played: Option<String>,
    /// The numbers of the takes that count together.
    pub used: Vec<u32>,
    /// Notes counted in them.
    pub counted: Count,
    /// Chord tones.
    pub chord: Option<ShareRecord>,
    /// Open notes.
    pub open: Option<ShareRecord>,
    /// Changes landed on.
    pub landings: Option<ClassLandings>,
    /// `met`, `clearly above`, `clearly below`, `undecided`, `no verdict`, or `not heard`.
    pub verdict: &'static str,
    /// The same in a sentence.
    pub sentence: String,
    /// Each band.
    pub bands: Vec<BandRecord>,
    /// The verdict with every contested note granted; none where none is contested.
    pub verdict_as_contested: Option<&'static str>,
    /// What the student hears otherwise.
    pub contests: Vec<ContestRecord>,
    /// A line from the student.
    pub note: Option<String>,
    /// What the instrument or its set-up did to takes.
    pub gear: Vec<String>,
    /// Whether it was written after the day it was due.
    pub after_due: bool,
    /// What to talk about, in few words; for a student not heard from, the teacher's own remark.
    pub talk_about: String,
}

/// Landings beside all notes.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ClassLandings {
    /// Changes landed on.
    pub n: usize,
    /// Changes that a note met.
    pub of: usize,
    /// Their share.
    pub share: f64,
    /// Lower end of its 95 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Thirds and sevenths among all counted notes.
    pub all_notes: Option<f64>,
}

/// One bar of the form over the class.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct ClassBarRecord {
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

/// What a band did.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ClassBandRecord {
    /// What it is about.
    pub measure: &'static str,
    /// Lower end asked.
    pub asked_low: f64,
    /// Upper end asked.
    pub asked_high: f64,
    /// Students with a verdict.
    pub of: usize,
    /// Students who met it.
    pub met: usize,
    /// Students of whom nothing can be said.
    pub undecided: usize,
    /// Whether it may be too narrow.
    pub narrow: bool,
}

/// What became of a file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct FileRecord {
    /// Its name, control characters taken out.
    pub file: String,
    /// `refused`, `twice`, `same notes`, `after the due day`.
    pub kind: &'static str,
    /// What is to be said of it.
    pub message: String,
}

/// Everything a class document is made of.
#[derive(Debug)]
pub struct ClassParts<'a> {
    /// The assignment.
    pub assignment: AssignmentName,
    /// What it asks for.
    pub asked: &'a Bands,
    /// The students heard from, one hand-in each.
    pub pupils: &'a [Pupil],
    /// Those named by the teacher of whom nothing came, each with the teacher's remark.
    pub not_heard: &'a [(String, String)],
    /// The bars of the form.
    pub bars: &'a [ClassBar],
    /// What each band did.
    pub bands: &'a [ClassBand],
    /// Chord share of running the scale.
    pub running_the_scale: Option<f64>,
    /// Files that gave a hand-in.
    pub files_read: usize,
    /// What is to be said of files.
    pub files: Vec<FileRecord>,
}

impl ClassDocument {
    /// The document of a class.
    pub fn new(parts: ClassParts<'_>) -> Self {
        let due = parts.assignment.due.as_deref().and_then(|due| due.parse().ok());
        let mut students: Vec<_> = parts
            .pupils
            .iter()
            .map(|pupil| (pupil.attention(), StudentRecord::of(pupil, due)))
            .chain(parts.not_heard.iter().map(|(name, remark)| {
                (crate::practice::class::Attention::NotHeard, StudentRecord::not_heard(name, remark))
            }))
            .collect();
        students.sort_by(|(one, a), (other, b)| one.cmp(other).then_with(|| a.student.cmp(&b.student)));
        let students: Vec<StudentRecord> = students.into_iter().map(|(_, student)| student).collect();
        let bands = parts.bands.iter().zip(&parts.asked.bands);
        Self {
            schema: "barwise.class",
            version: 1,
            tool: TOOL,
            assignment: parts.assignment,
            heard: parts.pupils.len(),
            findings: FindingCounts::of(&students),
            students,
            bars: parts.bars.iter().map(ClassBarRecord::of).collect(),
            same_bar: same_bar(parts.bars).map(|bar| bar.bar),
            bands: bands.map(|(band, (_, asked))| ClassBandRecord::of(*band, *asked)).collect(),
            running_the_scale: parts.running_the_scale,
            files_read: parts.files_read,
            files: parts.files,
        }
    }
}

impl FindingCounts {
    fn of(students: &[StudentRecord]) -> Self {
        let mut counts = Self::default();
        for student in students {
            match student.verdict {
                "met" => counts.met += 1,
                "clearly above" => counts.clearly_above += 1,
                "clearly below" => counts.clearly_below += 1,
                "undecided" => counts.undecided += 1,
                "no verdict" => counts.no_verdict += 1,
                _ => counts.not_heard += 1,
            }
        }
        counts
    }
}

impl StudentRecord {
    fn of(pupil: &Pupil, due: Option<jiff::civil::Date>) -> Self {
        let verdict = &pupil.found.verdict;
        let mix = &pupil.mix;
        Self {
            student: pupil.name.clone(),
            file: Some(pupil.file.clone()),
            takes: pupil.takes,
            last_played: pupil.last_played.map(|day| day.to_string()),
            used: pupil.used.clone(),
            counted: Count(mix.counted),
            chord: as_judged(mix.chord.map(ShareRecord::of), verdict, Measure::Chord),
            open: as_judged(mix.open.map(ShareRecord::of), verdict, Measure::Open),
            landings: ClassLandings::of(mix.landings, mix.all_notes),
            verdict: verdict.finding.words(),
            sentence: sentence(verdict),
            bands: verdict.bands.iter().map(BandRecord::of).collect(),
            verdict_as_contested: pupil.granted.as_ref().map(|granted| granted.finding.words()),
            contests: pupil.contests.iter().map(ContestRecord::of).collect(),
            note: pupil.note.clone(),
            gear: pupil.gear.clone(),
            after_due: pupil.day.zip(due).is_some_and(|(day, due)| day > due),
            talk_about: pupil.talk_about(),
        }
    }

    fn not_heard(name: &str, remark: &str) -> Self {
        Self {
            student: name.to_owned(),
            file: None,
            takes: 0,
            last_played: None,
            used: Vec::new(),
            counted: Count(0.0),
            chord: None,
            open: None,
            landings: None,
            verdict: NOT_HEARD,
            sentence: NOT_HEARD.to_owned(),
            bands: Vec::new(),
            verdict_as_contested: None,
            contests: Vec::new(),
            note: None,
            gear: Vec::new(),
            after_due: false,
            talk_about: remark.to_owned(),
        }
    }
}

/// The verdict of a student of whom nothing came.
pub const NOT_HEARD: &str = "not heard";

/// A share with the interval that the verdict goes by, where there is a band for it: two intervals for the same takes would
/// leave it unsaid why one is undecided.
fn as_judged(share: Option<ShareRecord>, verdict: &Verdict, measure: Measure) -> Option<ShareRecord> {
    let share = share?;
    let band = verdict.bands.iter().find(|band| band.measure == measure);
    let interval = band.and_then(|band| band.interval);
    Some(match interval {
        Some(interval) => ShareRecord { low: Some(interval.low), high: Some(interval.high), ..share },
        None => share,
    })
}

impl ClassLandings {
    fn of((n, of): (usize, usize), all_notes: Option<f64>) -> Option<Self> {
        let interval = wilson(n as f64, of as f64, Level::ONE)?;
        let share = n as f64 / of as f64;
        Some(Self { n, of, share, low: interval.low, high: interval.high, all_notes })
    }
}

impl ClassBarRecord {
    fn of(bar: &ClassBar) -> Self {
        let ClassBar { bar, symbols, open, missed, of } = bar.clone();
        Self { bar, symbols, open, missed, of }
    }
}

impl ClassBandRecord {
    const fn of(band: ClassBand, asked: crate::tally::verdict::Band) -> Self {
        Self {
            measure: band.measure.word(),
            asked_low: asked.low(),
            asked_high: asked.high(),
            of: band.of,
            met: band.met,
            undecided: band.undecided,
            narrow: band.narrow,
        }
    }
}
