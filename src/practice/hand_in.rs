//! Hand-ins: one file that a student sends, as TOML that people can read. It holds takes as notes, their verdicts, what the
//! student contests, and a line from the student; no sound, no time of day, no name unless one is written.
//!
//! The file comes from a stranger. Nothing in it is believed: verdicts are worked out again from the notes, texts are made
//! tame as they are read, numbers are checked, and a path would be no more than a text. Its fingerprint tells whether it
//! was damaged on its way; it is no signature.

use serde::{Deserialize, Serialize};
use unicode_width::UnicodeWidthChar;

use super::sent_take::{NotSent, SentTake};
use crate::judge::fingerprint;
use crate::store::journal::entry::{Contest, HeardAs};

/// The largest hand-in that is read, in bytes.
pub const LARGEST: usize = 4 << 20;

/// The most takes and contests that are read from one hand-in.
const MOST_TAKES: usize = 60;
const MOST_CONTESTS: usize = 500;

/// The longest name, in characters.
pub const LONGEST_NAME: usize = 40;
/// The longest line from the student, in characters.
pub const LONGEST_NOTE: usize = 1_000;
/// The longest other text, in characters.
const LONGEST_WORD: usize = 200;

/// What stands first in the file.
const KIND: &str = "barwise hand-in, version 1";

/// The key of the fingerprint: of everything below its line.
const FINGERPRINT: &str = "sha256 = \"";

/// What a student hands in.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct HandIn {
    /// Who, where the student writes it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// The day it was written, year-month-day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub day: Option<String>,
    /// A line from the student.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// For which assignment.
    pub assignment: ForAssignment,
    /// What the program told the student; the teacher's works it out again.
    pub verdict: Told,
    /// What the student hears otherwise.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub contest: Vec<Contest>,
    /// The takes, oldest first.
    pub take: Vec<SentTake>,
}

/// The assignment that a hand-in is for.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct ForAssignment {
    /// What it is called.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub title: Option<String>,
    /// Its number.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub number: Option<u32>,
    /// SHA-256 of its rule, in hexadecimal.
    pub rule_sha256: String,
}

/// What a student was told.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Told {
    /// `met`, `clearly above`, `clearly below`, `undecided` or `no verdict`.
    pub verdict: String,
    /// The same in a sentence.
    pub sentence: String,
    /// The takes that count together, by their numbers.
    pub takes: Vec<u32>,
}

/// Says why a text is no hand-in that can be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoHandIn {
    /// Something else.
    #[error("no hand-in")]
    Foreign,
    /// It was changed or cut on its way.
    #[error("damaged: its fingerprint does not fit; ask for it again")]
    Damaged,
    /// It does not read.
    #[error("damaged: {0}; ask for it again")]
    Unread(String),
    /// It holds more than is read.
    #[error("holds more than is read: {0}")]
    TooMuch(String),
    /// A take in it is none.
    #[error("take {take}: {why}")]
    Take {
        /// Which of its takes, from 1.
        take: usize,
        /// Why.
        why: NotSent,
    },
}

impl HandIn {
    /// The file, with what it holds in words at its top.
    pub fn to_text(&self, tool: &str) -> String {
        // Numbers and texts are always TOML.
        let body = toml::to_string_pretty(self).unwrap_or_default();
        let head =
            format!("# {KIND}, written by {tool}.\n# {}\n", holds(self.name.is_some()).replace('\n', "\n# "));
        format!("{head}{FINGERPRINT}{}\"\n{body}", fingerprint(body.as_bytes()))
    }

    /// Reads a hand-in. Texts in it are cut short and made tame; what a newer program wrote is passed over.
    pub fn parse(text: &str) -> Result<Self, NoHandIn> {
        let text = text.replace('\r', "");
        if !text.trim_start_matches('\u{feff}').starts_with(&format!("# {KIND}")) {
            return Err(NoHandIn::Foreign);
        }
        let (_, behind) = text.split_once(&format!("\n{FINGERPRINT}")).ok_or(NoHandIn::Damaged)?;
        let (print, body) = behind.split_once("\"\n").ok_or(NoHandIn::Damaged)?;
        if print != fingerprint(body.as_bytes()) {
            return Err(NoHandIn::Damaged);
        }
        let read: Self = toml::from_str(body)
            .map_err(|error| NoHandIn::Unread(tame(&error.message().replace('\n', ", "), LONGEST_WORD)))?;
        read.checked()
    }

    fn checked(self) -> Result<Self, NoHandIn> {
        let too_many =
            |what: &str, number, most| NoHandIn::TooMuch(format!("{number} {what}, {most} are the most"));
        if self.take.len() > MOST_TAKES {
            return Err(too_many("takes", self.take.len(), MOST_TAKES));
        }
        if self.contest.len() > MOST_CONTESTS {
            return Err(too_many("contests", self.contest.len(), MOST_CONTESTS));
        }
        let takes = self
            .take
            .into_iter()
            .enumerate()
            .map(|(index, take)| take.checked().map_err(|why| NoHandIn::Take { take: index + 1, why }));
        let words =
            |text: Option<String>, most| text.map(|text| tame(&text, most)).filter(|text| !text.is_empty());
        Ok(Self {
            name: words(self.name, LONGEST_NAME),
            day: self.day.filter(|day| jiff::civil::Date::strptime("%Y-%m-%d", day).is_ok()),
            note: words(self.note, LONGEST_NOTE),
            assignment: ForAssignment {
                title: words(self.assignment.title, LONGEST_WORD),
                number: self.assignment.number,
                rule_sha256: tame(&self.assignment.rule_sha256, 64),
            },
            verdict: Told {
                verdict: tame(&self.verdict.verdict, LONGEST_NAME),
                sentence: tame(&self.verdict.sentence, LONGEST_WORD),
                takes: self.verdict.takes,
            },
            contest: self.contest.into_iter().map(tame_contest).collect(),
            take: takes.collect::<Result<_, _>>()?,
        })
    }

    /// A fingerprint of the notes alone, by which copies are known again.
    pub fn notes_sha256(&self) -> String {
        let notes: Vec<&str> = self.take.iter().map(|take| take.notes.as_str()).collect();
        fingerprint(notes.join("\n").as_bytes())
    }
}

/// What a hand-in holds, said before it is written and at the top of the file.
pub const HOLDS: &str = "In this file: notes, dates, verdicts, contests, your line. No sound, no name, no time of day.\n\
    Under age: as your school and parents agree.";

/// What is said instead where a name is written.
pub fn holds(named: bool) -> String {
    if named { HOLDS.replace("No sound, no name,", "Your name. No sound,") } else { HOLDS.to_owned() }
}

fn tame_contest(contest: Contest) -> Contest {
    let heard_as = match contest.heard_as {
        HeardAs::Over(symbol) => HeardAs::Over(tame(&symbol, LONGEST_NAME)),
        HeardAs::In(scale) => HeardAs::In(tame(&scale, LONGEST_NAME)),
        other => other,
    };
    Contest { heard_as, reason: tame(&contest.reason, LONGEST_WORD), ..contest }
}

/// A text of a stranger's on one line: control characters become blanks, signs that turn the direction of writing or have
/// no width go, a pile of accents is cut, and so is what is longer than `most` characters.
pub fn tame(text: &str, most: usize) -> String {
    let mut tame = String::new();
    let mut piled = 0;
    for sign in text.chars().take(4 * most) {
        let sign = if sign.is_control() || matches!(sign, '\u{2028}' | '\u{2029}') { ' ' } else { sign };
        piled = if sign.width() == Some(0) { piled + 1 } else { 0 };
        if piled > MOST_ACCENTS || steers(sign) || sign == ' ' && tame.ends_with(' ') {
            continue;
        }
        tame.push(sign);
    }
    let tame = tame.trim();
    if tame.chars().count() <= most {
        return tame.to_owned();
    }
    let kept: String = tame.chars().take(most.saturating_sub(1)).collect();
    format!("{}…", kept.trim_end())
}

/// The most signs without a width that may stand on one letter.
const MOST_ACCENTS: usize = 2;

/// Whether a sign steers how others are shown and shows nothing itself (Unicode Standard, bidirectional and format
/// controls, tags, variation selectors).
const fn steers(sign: char) -> bool {
    matches!(sign,
        '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{fff0}'..='\u{fffb}'
        | '\u{e0000}'..='\u{e0fff}')
}

#[cfg(test)]
mod tests;
