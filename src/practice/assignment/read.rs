//! Reading an assignment: every key with its place, so that a slip is told with line and column and what to write.

use std::collections::BTreeMap;
use std::ops::Range;

use jiff::civil::Date;
use toml::{Spanned, Value};

use crate::chart::Feel;
use crate::tally::verdict::{Band, Bands, FEWEST_NOTES, Measure};
use crate::tally::{Counting, NamedColours};
use crate::theory::{Key, nearest};

use super::{Assignment, LARGEST, TakesAsked, TempoBand};

/// The most of a name or a value that a message repeats, in characters.
const LONGEST_SHOWN: usize = 200;

/// The longest text that a word of the assignment may be, in characters.
pub(super) const LONGEST_TEXT: usize = 2_000;

/// Says why a text is no assignment.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{name}:{line}:{column}: {message}")]
pub struct NoAssignment {
    name: String,
    line: usize,
    column: usize,
    message: String,
}

/// The file as it is written: every key with its value, each with its place.
type Written = BTreeMap<Spanned<String>, Spanned<Value>>;

/// What is said of a slip, and where in the text it is.
type Slip = (Range<usize>, String);

/// The most notes that may be asked for.
const MOST_NOTES: i64 = 100_000;

/// The most choruses that may be asked for.
const MOST_CHORUSES: i64 = 99;

/// The keys beside the bands, in the order a message lists them.
pub(super) const KEYS: [&str; 18] = [
    "needs",
    "counting",
    "named_colours",
    "title",
    "number",
    "due",
    "chart",
    "key",
    "bars",
    "tempo",
    "feel",
    "choruses",
    "takes",
    "focus",
    "question",
    "comment",
    "settings",
    "model",
];

impl Assignment {
    /// Reads an assignment; `name` stands in messages.
    pub fn parse(name: &str, text: &str) -> Result<Self, NoAssignment> {
        read(text).map_err(|(span, message)| place(name, text, span.start, message))
    }
}

fn read(text: &str) -> Result<Assignment, Slip> {
    if text.len() > LARGEST {
        let said = format!("an assignment has at most {LARGEST} bytes, this one has {}", text.len());
        return Err((0..0, said));
    }
    let written: Written = toml::from_str(text).map_err(|error| no_line(&error))?;
    let mut assignment =
        Assignment { bands: Bands { bands: Vec::new(), needs: FEWEST_NOTES }, ..Assignment::default() };
    for (key, value) in in_order(&written) {
        assignment.take(key, value)?;
    }
    if assignment.bands.bands.is_empty() {
        return Err((0..0, "no band is asked for. Write one, as in chord = \"55-70\"".to_owned()));
    }
    assignment.bands.bands.sort_by_key(|(measure, _)| Measure::ALL.iter().position(|other| other == measure));
    Ok(assignment)
}

/// The lines in the order they are written, so that the first slip is the one told.
fn in_order(written: &Written) -> Vec<(&Spanned<String>, &Spanned<Value>)> {
    let mut lines: Vec<_> = written.iter().collect();
    lines.sort_by_key(|(key, _)| key.span().start);
    lines
}

impl Assignment {
    /// Takes in what one line says.
    fn take(&mut self, key: &Spanned<String>, value: &Spanned<Value>) -> Result<(), Slip> {
        let written = value.get_ref();
        let word = key.get_ref().as_str();
        let measure = Measure::ALL.into_iter().find(|measure| measure.word() == word);
        let taken = match (measure, word) {
            (Some(measure), _) => {
                let band = written.as_str().and_then(read_band).ok_or_else(|| no_band(measure, written));
                band.map(|band| self.bands.bands.push((measure, band)))
            }
            (None, word) if KEYS.contains(&word) => self.take_key(word, written),
            (None, other) => return Err((key.span(), no_key(other))),
        };
        taken.map_err(|message| (value.span(), message))
    }

    fn take_key(&mut self, key: &str, written: &Value) -> Result<(), String> {
        match key {
            "needs" => self.bands.needs = whole(written, key, "a number of notes", 1..=MOST_NOTES)? as f64,
            "counting" => self.counting = Some(choice(written, key, &COUNTINGS)?),
            "named_colours" => self.named_colours = Some(choice(written, key, &COLOURS)?),
            "takes" => self.takes = choice(written, key, &TAKES)?,
            "title" | "focus" | "question" | "comment" | "number" | "due" => self.take_word(key, written)?,
            "settings" => self.settings = settings(written)?,
            "model" => self.model = Some(model(written)?),
            _ => self.take_task(key, written)?,
        }
        Ok(())
    }

    fn take_word(&mut self, key: &str, written: &Value) -> Result<(), String> {
        let words = &mut self.words;
        match key {
            "number" => words.number = Some(whole(written, key, "a number", 1..=9_999)? as u32),
            "due" => words.due = Some(day(written)?),
            "title" => words.title = Some(text(written, key)?),
            "focus" => words.focus = Some(text(written, key)?),
            "question" => words.question = Some(text(written, key)?),
            _ => words.comment = Some(text(written, key)?),
        }
        Ok(())
    }

    fn take_task(&mut self, key: &str, written: &Value) -> Result<(), String> {
        let task = &mut self.task;
        let words = written.as_str();
        match key {
            "chart" => {
                let text = words.ok_or_else(|| no_value(key, written, "the text of a chart in quotes"))?;
                task.chart = Some(text.to_owned());
            }
            "key" => task.keys = keys(words.unwrap_or_default())?,
            "bars" => {
                let bars = words.and_then(read_bars);
                task.bars = Some(bars.ok_or_else(|| no_value(key, written, "bars, as in \"9-12\""))?);
            }
            "tempo" => {
                let tempo = words.map(str::to_owned).or_else(|| number(written));
                let band = tempo.as_deref().and_then(read_tempo);
                let expected = "quarter notes a minute from slowest to fastest, 20 to 400, as in \"116-132\"";
                task.tempo = Some(band.ok_or_else(|| no_value(key, written, expected))?);
            }
            "choruses" => {
                task.choruses = Some(whole(written, key, "a number of choruses", 1..=MOST_CHORUSES)? as u32);
            }
            _ => {
                let feel: Feel = words.unwrap_or_default().parse().map_err(|error| format!("{error}"))?;
                task.feel = Some(feel);
            }
        }
        Ok(())
    }
}

/// A whole number within a range.
fn whole(
    written: &Value,
    key: &str,
    what: &str,
    range: std::ops::RangeInclusive<i64>,
) -> Result<i64, String> {
    let found = written.as_integer().filter(|number| range.contains(number));
    let example = if *range.end() > 60 { 60.min(*range.end()) } else { 2 };
    let example = if key == "needs" { example } else { 2 };
    found.ok_or_else(|| {
        format!("{key} is {what}, {} to {}, as in {key} = {example}", range.start(), range.end())
    })
}

/// A text of one's own, not longer than is shown.
fn text(written: &Value, key: &str) -> Result<String, String> {
    let text = written.as_str().ok_or_else(|| no_value(key, written, "a text in quotes"))?;
    let length = text.chars().count();
    if length > LONGEST_TEXT {
        return Err(format!("{key} has {length} characters, {LONGEST_TEXT} are the most"));
    }
    Ok(text.trim().to_owned())
}

/// A day, in quotes or as TOML has it.
fn day(written: &Value) -> Result<Date, String> {
    let text = match written {
        Value::Datetime(day) => day.to_string(),
        other => other.as_str().unwrap_or_default().to_owned(),
    };
    let read = Date::strptime("%Y-%m-%d", &text);
    read.map_err(|_| no_value("due", written, "a day as year-month-day, as in due = 2026-12-03"))
}

fn keys(text: &str) -> Result<Vec<Key>, String> {
    let key = |word: &str| word.trim().parse::<Key>().map_err(|error| format!("key: {error}"));
    text.split(',').map(key).collect()
}

fn settings(written: &Value) -> Result<serde_json::Map<String, serde_json::Value>, String> {
    let table = written.as_table().ok_or_else(|| no_value("settings", written, "a table of settings"))?;
    let scalar = |(key, value): (&String, &Value)| match value {
        Value::String(text) => Ok((key.clone(), text.as_str().into())),
        Value::Integer(number) => Ok((key.clone(), (*number).into())),
        Value::Float(number) => Ok((key.clone(), (*number).into())),
        Value::Boolean(on) => Ok((key.clone(), (*on).into())),
        other => Err(format!("settings.{key}: {} is no value of a setting", shortened(&other.to_string()))),
    };
    table.iter().map(scalar).collect()
}

fn model(written: &Value) -> Result<crate::practice::SentTake, String> {
    let take: Result<crate::practice::SentTake, _> = written.clone().try_into();
    let take = take.map_err(|error| format!("model: this is no take ({})", one_line(error.message())))?;
    take.checked().map_err(|error| format!("model: {error}"))
}

/// `116-132`, or `120` alone.
pub fn read_tempo(text: &str) -> Option<TempoBand> {
    let (low, high) = text.split_once('-').unwrap_or((text, text));
    TempoBand::new(low.trim().parse().ok()?, high.trim().parse().ok()?)
}

fn read_bars(text: &str) -> Option<(usize, usize)> {
    let (first, last) = text.split_once('-').unwrap_or((text, text));
    let (first, last) = (first.trim().parse().ok()?, last.trim().parse().ok()?);
    (1 <= first && first <= last && last <= 9_999).then_some((first, last))
}

fn number(written: &Value) -> Option<String> {
    written.as_integer().map(|n| n.to_string()).or_else(|| written.as_float().map(|n| n.to_string()))
}

fn no_value(key: &str, written: &Value, expected: &str) -> String {
    format!("{key}: {} is not {expected}", shortened(&written.to_string()))
}

fn one_line(text: &str) -> String {
    text.lines().collect::<Vec<_>>().join(", ")
}

fn no_line(error: &toml::de::Error) -> Slip {
    let said = error.message().lines().collect::<Vec<_>>().join(", ");
    let message =
        format!("this is no line of bands ({said}). Write one band a line, as in chord = \"55-70\"");
    (error.span().unwrap_or(0..0), message)
}

fn no_key(written: &str) -> String {
    let names = Measure::ALL.map(Measure::word).into_iter().chain(KEYS);
    let names: Vec<String> = names.map(str::to_owned).collect();
    let near = |name: &String| strsim::damerau_levenshtein(written, name) <= name.len() / 2;
    let meant = match nearest(written, names.iter().cloned()).filter(near) {
        Some(name) => format!("Did you mean {name}?"),
        None => format!("There are: {}", names.join(", ")),
    };
    format!("nothing that can be asked for is called \"{}\". {meant}", shortened(written))
}

fn no_band(measure: Measure, written: &Value) -> String {
    let word = measure.word();
    let written = written.as_str().map_or_else(|| written.to_string(), |text| format!("\"{text}\""));
    format!(
        "{} is no band: write percent from low to high in quotes, as in {word} = \"55-70\", \"50-\" or \"-5\"",
        shortened(&written)
    )
}

/// As much of what is written as a message repeats.
fn shortened(written: &str) -> String {
    written.chars().take(LONGEST_SHOWN).collect()
}

/// Reads `55-70`, `50-` or `-5`: percent, the lower end first.
pub fn read_band(text: &str) -> Option<Band> {
    let (low, high) = text.trim().trim_end_matches('%').trim().split_once('-')?;
    let end =
        |text: &str, open: f64| if text.trim().is_empty() { Some(open) } else { text.trim().parse().ok() };
    let (low, high): (f64, f64) = (end(low, 0.0)?, end(high, 100.0)?);
    Band::new(low / 100.0, high / 100.0)
}

const COUNTINGS: [(&str, Counting); 2] = [("strict", Counting::Strict), ("lenient", Counting::Lenient)];

const COLOURS: [(&str, NamedColours); 2] =
    [("scale", NamedColours::Scale), ("chord", NamedColours::ChordTones)];

const TAKES: [(&str, TakesAsked); 2] = [
    (TakesAsked::TwoOfTheLastFive.words(), TakesAsked::TwoOfTheLastFive),
    (TakesAsked::AnyTwo.words(), TakesAsked::AnyTwo),
];

/// The value of a word among those that `key` takes; where it is none of them, what to write.
fn choice<T: Copy>(written: &Value, key: &str, words: &[(&str, T); 2]) -> Result<T, String> {
    let found = words.iter().find(|(word, _)| written.as_str() == Some(word)).map(|&(_, value)| value);
    let [(first, _), (second, _)] = words;
    found.ok_or_else(|| format!("{key} is \"{first}\" or \"{second}\", as in {key} = \"{second}\""))
}

/// Line and column, in characters from 1, of a byte.
fn place(name: &str, text: &str, byte: usize, message: String) -> NoAssignment {
    let before = text.get(..byte).unwrap_or_default();
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
    NoAssignment { name: name.to_owned(), line, column, message }
}
