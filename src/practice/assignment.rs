//! Assignments: the bands that a take is to lie in, as a small TOML file that people can read and mail.
//!
//! ```toml
//! chord = "55-70"      # percent of the counted notes
//! open = "0-5"
//! landings = "50-"     # an open end goes to 100, an open start begins at 0
//! needs = 60           # fewest counted notes
//! counting = "lenient"
//! ```

use std::ops::Range;

use serde::Deserialize;
use toml::Spanned;

use crate::tally::verdict::{Band, Bands, FEWEST_NOTES, Measure};
use crate::tally::{Counting, NamedColours};

/// The largest assignment that is read, in bytes.
pub const LARGEST: usize = 64 << 10;

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

/// The file as it is written.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    chord: Option<Spanned<String>>,
    scale: Option<Spanned<String>>,
    outside: Option<Spanned<String>>,
    resolved: Option<Spanned<String>>,
    open: Option<Spanned<String>>,
    landings: Option<Spanned<String>>,
    needs: Option<Spanned<i64>>,
    counting: Option<Spanned<String>>,
    named_colours: Option<Spanned<String>>,
}

/// The most notes that may be asked for.
const MOST_NOTES: i64 = 100_000;

impl Assignment {
    /// Reads an assignment; `name` stands in messages.
    pub fn parse(name: &str, text: &str) -> Result<Self, NoAssignment> {
        let at = |span: Range<usize>, message: String| place(name, text, span.start, message);
        if text.len() > LARGEST {
            return Err(at(
                0..0,
                format!("an assignment has at most {LARGEST} bytes, this one has {}", text.len()),
            ));
        }
        let written: Written =
            toml::from_str(text).map_err(|e| at(e.span().unwrap_or(0..0), e.message().to_owned()))?;
        let texts = [
            (Measure::Chord, &written.chord),
            (Measure::Scale, &written.scale),
            (Measure::Outside, &written.outside),
            (Measure::Resolved, &written.resolved),
            (Measure::Open, &written.open),
            (Measure::Landings, &written.landings),
        ];
        let mut bands = Vec::new();
        for (measure, band) in texts {
            if let Some(band) = band {
                let read = read_band(band.get_ref())
                    .ok_or_else(|| at(band.span(), no_band(measure, band.get_ref())));
                bands.push((measure, read?));
            }
        }
        if bands.is_empty() {
            return Err(at(0..0, "no band asked for. Write one, as in chord = \"55-70\"".to_owned()));
        }
        let needs = match &written.needs {
            None => FEWEST_NOTES,
            Some(needs) if (1..=MOST_NOTES).contains(needs.get_ref()) => *needs.get_ref() as f64,
            Some(needs) => {
                return Err(at(needs.span(), format!("needs is a number of notes, 1 to {MOST_NOTES}")));
            }
        };
        let counting =
            word(written.counting.as_ref(), &[("strict", Counting::Strict), ("lenient", Counting::Lenient)]);
        let counting = counting.map_err(|span| at(span, "counting is strict or lenient".to_owned()))?;
        let colours = [("scale", NamedColours::Scale), ("chord", NamedColours::ChordTones)];
        let named_colours = word(written.named_colours.as_ref(), &colours)
            .map_err(|span| at(span, "named_colours count as scale or chord".to_owned()))?;
        Ok(Self { bands: Bands { bands, needs }, counting, named_colours })
    }
}

fn no_band(measure: Measure, text: &str) -> String {
    let word = measure.word();
    format!(
        "\"{text}\" is no band: write percent from low to high, as in {word} = \"55-70\", \"50-\" or \"-5\""
    )
}

/// Reads `55-70`, `50-` or `-5`: percent, the lower end first.
fn read_band(text: &str) -> Option<Band> {
    let (low, high) = text.trim().trim_end_matches('%').trim().split_once('-')?;
    let end =
        |text: &str, open: f64| if text.trim().is_empty() { Some(open) } else { text.trim().parse().ok() };
    let (low, high): (f64, f64) = (end(low, 0.0)?, end(high, 100.0)?);
    Band::new(low / 100.0, high / 100.0)
}

/// The value of a word among those that are taken; where it is another, its place.
fn word<T: Copy>(written: Option<&Spanned<String>>, words: &[(&str, T)]) -> Result<Option<T>, Range<usize>> {
    let Some(text) = written else { return Ok(None) };
    let found = words.iter().find(|(word, _)| word == text.get_ref()).map(|&(_, value)| value);
    found.map(Some).ok_or_else(|| text.span())
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
        check("chord = \"55-70\"\ncounting = \"mild\"", "a.toml:2:12: counting is strict or lenient");
        check("kord = \"55-70\"", "a.toml:1:1: unknown field `kord`");
        check("", "a.toml:1:1: no band asked for");
        check("chord = 55", "a.toml:1:9:");
    }
}
