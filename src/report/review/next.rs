//! What to practise next, as the document has it: the suggestion, in a sentence, with its counts.

use schemars::JsonSchema;
use serde::Serialize;

use super::super::number::Count;
use crate::practice::what_next::{LOOP_TIMES, REST_EVERY_BARS, Suggestion};

/// One thing to do next. Fields that a kind does not have are left out.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct NextRecord {
    /// `arpeggio`, `loop`, `chorus` or `rests`.
    pub kind: &'static str,
    /// What to do, in a few words.
    pub what: String,
    /// The counts behind it, in a sentence.
    pub why: String,
    /// The symbol of the arpeggio.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub symbol: Option<String>,
    /// The lowest and the highest fret of the line over it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub frets: Option<[u8; 2]>,
    /// The first and the last bar of the loop.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bars: Option<[usize; 2]>,
    /// The tempo of the loop, in quarter notes a minute.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tempo: Option<Count>,
    /// How often the loop is gone through.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub times: Option<usize>,
    /// Open notes there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub open: Option<usize>,
    /// Open notes of the whole take.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub of: Option<usize>,
    /// Changes there that a note met and did not land on.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub missed: Option<usize>,
    /// The longest stretch without a rest, in bars.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bars_without: Option<Count>,
}

impl NextRecord {
    /// The record of a suggestion.
    pub fn of(suggestion: &Suggestion) -> Self {
        match suggestion {
            Suggestion::Arpeggio { symbol, open, of, frets } => Self {
                kind: "arpeggio",
                what: arpeggio(symbol, *frets),
                why: format!("{open} of the {of} open notes fell over this chord."),
                symbol: Some(symbol.clone()),
                frets: frets.map(|(low, high)| [low, high]),
                open: Some(*open),
                of: Some(*of),
                ..Self::default()
            },
            Suggestion::Loop { bars: (first, last), tempo, open, missed } => Self {
                kind: "loop",
                what: format!("Bars {first} and {last} at {}, four times", Count(*tempo)),
                why: slips(*open, *missed),
                bars: Some([*first, *last]),
                tempo: Some(Count(*tempo)),
                times: Some(LOOP_TIMES),
                open: Some(*open),
                missed: Some(*missed),
                ..Self::default()
            },
            Suggestion::AnotherChorus { counted, too_few } => Self {
                kind: "chorus",
                what: "Another chorus".to_owned(),
                why: another(*counted, *too_few),
                ..Self::default()
            },
            Suggestion::Rests { bars_without } => Self {
                kind: "rests",
                what: format!("One chorus with a rest every {}", in_words(REST_EVERY_BARS, "bar")),
                why: format!("The longest stretch without one was {} bars.", Count(*bars_without)),
                bars_without: Some(Count(*bars_without)),
                ..Self::default()
            },
        }
    }
}

fn arpeggio(symbol: &str, frets: Option<(u8, u8)>) -> String {
    let frets = frets.map_or_else(String::new, |(low, high)| format!(", frets {low}-{high}"));
    format!("The {symbol} arpeggio{frets}")
}

fn slips(open: usize, missed: usize) -> String {
    let open = (open > 0).then(|| in_words(open, "note") + " left open");
    let missed = (missed > 0).then(|| in_words(missed, "change") + " not landed");
    let said: Vec<String> = open.into_iter().chain(missed).collect();
    format!("In them: {}.", said.join(", "))
}

fn another(counted: f64, too_few: bool) -> String {
    if too_few {
        format!("{} notes are few to tell anything by.", Count(counted))
    } else {
        "What was asked is undecided; another may tell.".to_owned()
    }
}

/// `one note`, `two notes`, `13 notes`.
fn in_words(count: usize, what: &str) -> String {
    const WORDS: [&str; 10] = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"];
    let number = WORDS.get(count).map_or_else(|| count.to_string(), |&word| word.to_owned());
    let ending = if count == 1 { "" } else { "s" };
    format!("{number} {what}{ending}")
}
