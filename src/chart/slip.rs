//! What can be amiss in a chart's text, in the words a player reads: what, where, and what to type instead.

use std::fmt;
use std::ops::Range;

use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};

use crate::theory::chord::NoChord;
use crate::theory::key::NoKey;
use crate::theory::scale::NoScale;
use crate::time::Meter;
use crate::time::meter::NoMeter;

use super::barline::MOST_TIMES;
use super::header::{MOST_CHORUSES, NAMES, NoFeel};
use super::read::{MOST_BARS, MOST_BARS_PLAYED, MOST_BYTES, MOST_COLUMNS};

/// Something that keeps a text from being a chart.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are what the messages name")]
pub enum Slip {
    // The text as a whole.
    #[error("the chart has {0} bytes; at most {MOST_BYTES} are read")]
    TooManyBytes(usize),
    #[error("the line has {0} characters; at most {MOST_COLUMNS} are read. Break it at a barline")]
    LineTooLong(usize),
    #[error("{MOST_BARS} bars are read at most. Write what repeats once, with |: :| or form:")]
    TooManyBars,
    #[error("the form has {0} bars when played; at most {MOST_BARS_PLAYED} are read. Write fewer repeats")]
    FormTooLong(usize),
    #[error("control character U+{:04X}; a chart is plain text. Take it out", u32::from(*.0))]
    Control(char),
    #[error("no bars here. Write chords between barlines: | Fm7 | Bb7 |")]
    NoBars,

    // The header.
    #[error("no header \"{name}\". {}", close_or_all(close.as_deref()))]
    UnknownHeader { name: String, close: Option<String> },
    #[error("{name} stands in line {line} already. Keep one of them")]
    HeaderTwice { name: String, line: usize },
    #[error("{0}: has no value. Write one after the colon, or leave the line out")]
    HeaderEmpty(String),
    #[error("a section's letter takes no colon. Write {0} |")]
    LetterWithColon(String),
    #[error("headers stand above the first bar. Move {0}: up")]
    HeaderBelowBars(String),
    #[error("no colon after {0}. Write \"{0}: ...\"")]
    HeaderWithoutColon(String),
    #[error(transparent)]
    Key(#[from] NoKey),
    #[error(transparent)]
    Meter(#[from] NoMeter),
    #[error("\"{0}\" is no tempo: write quarters a minute, 20 to 400")]
    Tempo(String),
    #[error(transparent)]
    Feel(#[from] NoFeel),
    #[error("\"{0}\" is no number of choruses: write 1 to {MOST_CHORUSES}")]
    Choruses(String),
    #[error("sevenths are either \"assume\" or, if the line is left out, as written; not \"{0}\"")]
    Sevenths(String),
    #[error("no section \"{label}\"; {hint}")]
    NoSection { label: String, hint: String },
    #[error("a second section {0}, and form: names {0}. Give this one a letter of its own, such as {0}2")]
    SectionTwice(String),
    #[error("form: plays sections by their letter, and these bars have none. Write one in the margin")]
    BarsWithoutLetter,

    // Lines and barlines.
    #[error("no barline in this line. Begin and end it with \"|\"; a comment begins with \";\"")]
    NoBarline,
    #[error("\"{0}\" stands before the first barline. Begin the line with \"|\", or with a section's letter")]
    BeforeBarline(String),
    #[error("the line does not end with a barline. Write \"|\" at its end")]
    LineOpen,
    #[error("a barline and no bar. Write at least one bar between two barlines")]
    NoBarInLine,
    #[error("\"{signs}\" is no barline. Write {nearest}")]
    Barline { signs: String, nearest: &'static str },
    #[error(
        "\"{0}\" cannot open a line. Open it with \"|\", \"||\" or \"|:\", and close repeats at the end of a line"
    )]
    LineOpensWith(String),
    #[error("x{0} counts how often a repeat is played in all: 2 to {MOST_TIMES}, after \":|\"")]
    Times(String),

    // Repeats and endings.
    #[error("the repeat opened at {opened} is never closed with \":|\"")]
    RepeatOpen { opened: TextPlace },
    #[error("a repeat opens inside the one opened at {opened}. Close that one first, with \":|\"")]
    RepeatInside { opened: TextPlace },
    #[error("ending {ending}. without an ending {}.", ending - 1)]
    LoneEnding { ending: u8 },
    #[error("ending {ending}. is taken already. Number this one {}.", ending + 1)]
    EndingAgain { ending: u8 },
    #[error("ending {ending}. needs \":|\" before it, to go back for")]
    EndingBeforeClose { ending: u8 },
    #[error("ending {ending}. never goes back. Close it with \":|\" and write ending {}. after it", ending + 1)]
    EndingOpen { ending: u8 },
    #[error("ending {ending}. goes back with \":|\", and no ending {}. follows. End the last ending with \"||\"", ending + 1)]
    NoNextEnding { ending: u8 },
    #[error("endings are numbered from 1, up to {MOST_TIMES}; not \"{0}\"")]
    EndingNumber(String),
    #[error("{endings} endings, but :|x{times} plays {times} times in all")]
    MoreEndingsThanTimes { endings: usize, times: u8 },

    // Bars.
    #[error("{count} chords do not share {}. {say_where}", beats(usize::from(meter.beats())))]
    Uneven { count: usize, meter: Meter, say_where: String },
    #[error("{} written, the meter is {meter}", beats(*.written))]
    Slots { written: usize, meter: Meter },
    #[error(
        "\"/\" and \"@\" in one bar. Use one of them: \"/\" for each beat, or \"@\" and a beat after each chord"
    )]
    SlotsAndPlaces,
    #[error("\"%\" stands alone in its bar")]
    PercentInCompany,
    #[error("\"{0}\": leave a blank between slashes, one slash a beat")]
    SlashesTogether(String),
    #[error(
        "\"@{text}\" is no place. Write \"@\" and a beat last, or half a beat later with \"&\": {chord}@2, {chord}@2&"
    )]
    Place { text: String, chord: String },
    #[error("no beat {beat} in {meter}; beats are 1 to {}", meter.beats())]
    NoBeat { beat: u8, meter: Meter },
    #[error("\"{0}\" has no place. Where one chord has \"@\", each after the first needs it: {0}@2")]
    NoPlace(String),
    #[error("{later} does not come after {earlier}. Write the chords in the order they are played")]
    PlaceOrder { earlier: String, later: String },
    #[error("no chord to go on with. The form begins with this bar: write a chord, or N.C.")]
    NothingToHold,
    #[error("no bar before this one to repeat. Write its chords")]
    NothingToRepeat,
    #[error("\"%\" repeats a bar of {before}, and this one is in {here}. Write its chords")]
    PercentAcrossMeters { before: Meter, here: Meter },

    // Chords.
    #[error("\"{0}\" is no chord. An ending is one number and a point: |1. G7 :|2. C7 ||")]
    EndingWithoutPoint(String),
    #[error(transparent)]
    Chord(#[from] NoChord),
    #[error("no chord before \"{0}\". Write one, with no blank between: Dm7{0}")]
    NoSymbol(String),
    #[error("no scale after \"=\". Write a name or degrees: Dm7=dorian, Dm7=1,b3,5")]
    NoScaleName,
    #[error(transparent)]
    Scale(#[from] NoScale),
    #[error("N.C. takes no scale: without a chord there is none to count from")]
    ScaleWithoutChord,
}

fn close_or_all(close: Option<&str>) -> String {
    close.map_or_else(|| format!("Headers are {}", NAMES.join(", ")), |name| format!("Did you mean {name}?"))
}

/// `1 beat`, `3 beats`.
fn beats(count: usize) -> String {
    format!("{count} beat{}", if count == 1 { "" } else { "s" })
}

/// Something in a chart that is read, but perhaps not as it was meant.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are what the messages name")]
pub enum Caution {
    #[error("{scale} leaves out the chord's own {tones}; {} added", if *many { "they are" } else { "it is" })]
    ScaleWithoutTones { scale: String, tones: String, many: bool },
    #[error("\"{0}\" is taken for a section's name. If it is a chord, begin the line with \"|\"")]
    LabelLikeChord(String),
    #[error("section {0} is never played: form: does not name it")]
    SectionUnplayed(String),
}

impl Caution {
    /// The word for this kind of caution in JSON.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::ScaleWithoutTones { .. } => "scale-without-tones",
            Self::LabelLikeChord(_) => "letter-like-chord",
            Self::SectionUnplayed(_) => "section-unplayed",
        }
    }
}

/// A stretch of one line of a text.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct TextPlace {
    /// The line, from 1.
    pub line: usize,
    /// The column of its first character, from 1, in characters.
    pub column: usize,
    /// How many characters it covers, at least 1.
    pub length: usize,
}

impl TextPlace {
    /// The start of a text.
    pub(super) const START: Self = Self { line: 1, column: 1, length: 1 };
}

/// Where the lines of a text begin, to turn bytes into lines and columns.
pub(super) struct Lines<'a> {
    text: &'a str,
    starts: Vec<usize>,
}

impl<'a> Lines<'a> {
    /// Finds the lines of `text`.
    pub(super) fn of(text: &'a str) -> Self {
        let feeds = text.match_indices('\n').map(|(at, _)| at + 1);
        Self { text, starts: std::iter::once(0).chain(feeds).collect() }
    }

    /// The place of a range of bytes, cut at the end of its first line.
    pub(super) fn place(&self, span: &Range<usize>) -> TextPlace {
        let line = self.starts.partition_point(|&start| start <= span.start);
        let start = self.starts[line - 1];
        let covered = self.text[span.clone()].lines().next();
        TextPlace {
            line,
            column: self.text[start..span.start].chars().count() + 1,
            length: covered.map_or(1, |covered| covered.chars().count().max(1)),
        }
    }
}

/// Prints `line:column`.
impl fmt::Display for TextPlace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.line, self.column)
    }
}

/// A slip and where it is.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{place}: {slip}")]
pub struct ChartError {
    /// Where.
    pub place: TextPlace,
    /// What, and what to type instead.
    pub slip: Slip,
}

/// A caution and what it is about.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{place}: {caution}")]
pub struct Warning {
    /// Where.
    pub place: TextPlace,
    /// What.
    pub caution: Caution,
}

/// Most errors that are kept of one chart; the rest are counted.
pub const MOST_ERRORS: usize = 50;

/// Everything that keeps a text from being a chart, in the order of the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChartErrors {
    name: String,
    text: String,
    errors: Vec<ChartError>,
    left_out: usize,
}

/// Whether a text for the terminal is coloured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ink {
    /// Letters only.
    Plain,
    /// With terminal colours.
    Coloured,
}

impl ChartErrors {
    /// The errors found in `text`; they are put in its order, and those past [`MOST_ERRORS`] are only counted.
    pub(super) fn new(name: &str, text: &str, mut errors: Vec<ChartError>) -> Self {
        errors.sort_by_key(|error| error.place);
        let left_out = errors.len().saturating_sub(MOST_ERRORS);
        errors.truncate(MOST_ERRORS);
        Self { name: name.to_owned(), text: text.to_owned(), errors, left_out }
    }

    /// The errors, in the order of the text.
    pub fn errors(&self) -> &[ChartError] {
        &self.errors
    }

    /// How many errors there are beyond those kept.
    pub const fn left_out(&self) -> usize {
        self.left_out
    }

    /// Each error as `file:line:column: message`, its line, and a caret under the slip.
    pub fn render(&self, ink: Ink) -> String {
        let renderer = match ink {
            Ink::Plain => Renderer::plain(),
            Ink::Coloured => Renderer::styled(),
        };
        let errors = self.errors.iter().map(|error| {
            let snippet = self.snippet(error.place, &renderer);
            format!("{}:{error}\n{snippet}", self.name)
        });
        let more = (self.left_out > 0).then(|| format!("and {} more", self.left_out));
        errors.chain(more).collect::<Vec<_>>().join("\n")
    }

    fn snippet(&self, place: TextPlace, renderer: &Renderer) -> String {
        let line = self.text.lines().nth(place.line - 1).unwrap_or_default();
        let byte = |column: usize| line.char_indices().nth(column).map_or(line.len(), |(byte, _)| byte);
        let start = byte(place.column - 1);
        let end = byte(place.column - 1 + place.length);
        let snippet =
            Snippet::source(line).line_start(place.line).annotation(AnnotationKind::Primary.span(start..end));
        renderer.render(&[Group::with_level(Level::ERROR).element(snippet)])
    }
}

/// Prints each error as `file:line:column: message`, one a line.
impl fmt::Display for ChartErrors {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let lines: Vec<String> = self.errors.iter().map(|error| format!("{}:{error}", self.name)).collect();
        f.write_str(&lines.join("\n"))?;
        match self.left_out {
            0 => Ok(()),
            more => write!(f, "\nand {more} more"),
        }
    }
}

impl std::error::Error for ChartErrors {}
