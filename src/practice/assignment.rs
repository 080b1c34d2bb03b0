//! Assignments: the bands that a take is to lie in, as a small TOML file that people can read and mail.
//!
//! ```toml
//! chord = "55-70"      # percent of the counted notes
//! open = "0-5"
//! landings = "50-"     # an open end goes to 100, an open start begins at 0
//! needs = 60           # fewest counted notes
//! counting = "lenient"
//! ```

use std::collections::BTreeMap;
use std::ops::Range;

use toml::{Spanned, Value};

use crate::tally::verdict::{Band, Bands, FEWEST_NOTES, Measure};
use crate::tally::{Counting, NamedColours};
use crate::theory::nearest;

/// The largest assignment that is read, in bytes.
pub const LARGEST: usize = 64 << 10;

/// The most of a name or a value that a message repeats, in characters.
const LONGEST_SHOWN: usize = 200;

/// What a teacher or a player asks of a take.
#[derive(Clone, Debug, PartialEq)]
pub struct Assignment {
    /// The bands and the fewest notes.
    pub bands: Bands,
    /// How another scale's notes count, where the assignment says.
    pub counting: Option<Counting>,
    /// How named colours count, where the assignment says.
    pub named_colours: Option<NamedColours>,
}

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

const NEEDS: &str = "needs";
const COUNTING: &str = "counting";
const NAMED_COLOURS: &str = "named_colours";

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
    let mut assignment = Assignment {
        bands: Bands { bands: Vec::new(), needs: FEWEST_NOTES },
        counting: None,
        named_colours: None,
    };
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
        let slip = |message: String| (value.span(), message);
        match key.get_ref().as_str() {
            NEEDS => {
                let notes = written.as_integer().filter(|notes| (1..=MOST_NOTES).contains(notes));
                let message =
                    || format!("{NEEDS} is a number of notes, 1 to {MOST_NOTES}, as in {NEEDS} = 60");
                self.bands.needs = notes.ok_or_else(|| slip(message()))? as f64;
            }
            COUNTING => self.counting = Some(word(written, COUNTING, &COUNTINGS).map_err(slip)?),
            NAMED_COLOURS => {
                self.named_colours = Some(word(written, NAMED_COLOURS, &COLOURS).map_err(slip)?);
            }
            other => {
                let measure = Measure::ALL.into_iter().find(|measure| measure.word() == other);
                let measure = measure.ok_or_else(|| (key.span(), no_key(other)))?;
                let band = written.as_str().and_then(read_band);
                let band = band.ok_or_else(|| slip(no_band(measure, written)))?;
                self.bands.bands.push((measure, band));
            }
        }
        Ok(())
    }
}

fn no_line(error: &toml::de::Error) -> Slip {
    let said = error.message().lines().collect::<Vec<_>>().join(", ");
    let message =
        format!("this is no line of bands ({said}). Write one band a line, as in chord = \"55-70\"");
    (error.span().unwrap_or(0..0), message)
}

fn no_key(written: &str) -> String {
    let names = Measure::ALL.map(Measure::word).into_iter().chain([NEEDS, COUNTING, NAMED_COLOURS]);
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
fn read_band(text: &str) -> Option<Band> {
    let (low, high) = text.trim().trim_end_matches('%').trim().split_once('-')?;
    let end =
        |text: &str, open: f64| if text.trim().is_empty() { Some(open) } else { text.trim().parse().ok() };
    let (low, high): (f64, f64) = (end(low, 0.0)?, end(high, 100.0)?);
    Band::new(low / 100.0, high / 100.0)
}

const COUNTINGS: [(&str, Counting); 2] = [("strict", Counting::Strict), ("lenient", Counting::Lenient)];

const COLOURS: [(&str, NamedColours); 2] =
    [("scale", NamedColours::Scale), ("chord", NamedColours::ChordTones)];

/// The value of a word among those that `key` takes; where it is none of them, what to write.
fn word<T: Copy>(written: &Value, key: &str, words: &[(&str, T); 2]) -> Result<T, String> {
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bands_are_read_as_they_are_written() {
        let text =
            "chord = \"55-70\"\nopen = \"-5\"\nlandings = \"50-\"\nneeds = 60\ncounting = \"lenient\"\n";
        let assignment = Assignment::parse("a.toml", text).expect("an assignment");
        let bands: Vec<_> =
            assignment.bands.bands.iter().map(|(m, b)| (m.word(), b.low(), b.high())).collect();
        assert_eq!(bands, [("chord", 0.55, 0.7), ("open", 0.0, 0.05), ("landings", 0.5, 1.0)]);
        assert!((assignment.bands.needs - 60.0).abs() < 1e-9);
        assert_eq!(assignment.counting, Some(Counting::Lenient));
    }

    #[test]
    fn a_slip_is_told_with_its_place_and_what_to_write() {
        let check = |text: &str, expect: &str| {
            let message = Assignment::parse("a.toml", text).expect_err("a slip").to_string();
            assert!(message.contains(expect), "{message}");
        };
        check("chord = \"70-55\"", "a.toml:1:9: \"70-55\" is no band: write percent from low to high");
        check("chord = \"55-70\"\nneeds = 0", "a.toml:2:9: needs is a number of notes");
        check(
            "chord = \"55-70\"\ncounting = \"mild\"",
            "a.toml:2:12: counting is \"strict\" or \"lenient\", as in counting = \"lenient\"",
        );
        check("named_colours = true", "a.toml:1:17: named_colours is \"scale\" or \"chord\"");
        check(
            "kord = \"55-70\"",
            "a.toml:1:1: nothing that can be asked for is called \"kord\". Did you mean chord?",
        );
        check(
            "colour = \"blue\"",
            "There are: chord, scale, outside, resolved, open, landings, needs, counting",
        );
        check("", "a.toml:1:1: no band is asked for. Write one, as in chord = \"55-70\"");
        check(
            "chord = 55",
            "a.toml:1:9: 55 is no band: write percent from low to high in quotes, as in chord = \"55-70\"",
        );
        check("open = [0, 5]", "a.toml:1:8: [0, 5] is no band");
        check(
            "chord = \"55-70\"\nneeds = \"many\"",
            "a.toml:2:9: needs is a number of notes, 1 to 100000, as in needs",
        );
        check("[chord]\nlow = 55", "is no band: write percent");
        check("chord = 55-70", "a.toml:1:9: this is no line of bands (");
        check("chord = \"1-2\"\nkord = 1\nbord = 1", "a.toml:2:1: ");
    }
}
