//! From a take to what the index keeps of it: its digest, and what a list of takes shows beside.

use crate::practice::Digest;
use crate::report::band::BandRecord;
use crate::report::review::Detail;

use super::digested::digest_of;
use super::{Choices, Dated, Heard, NotJudged, Question, chart_id, heard};

/// What the index keeps of a judged take.
#[derive(Clone, Debug, PartialEq)]
pub struct Indexed {
    /// What progress asks of it.
    pub digest: Digest,
    /// Seconds of the line, from its first note to the end of its last; 0 without a note.
    pub line_s: f64,
    /// The key of each chorus, where it was taken through keys.
    pub keys: Option<Vec<String>>,
    /// How the band played, where the take says.
    pub band: Option<BandRecord>,
}

/// Judges a take from the bytes of its file, by the chords it brings itself.
pub fn indexed(bytes: &[u8], dated: Dated, choices: &Choices) -> Result<Indexed, NotJudged> {
    let question = Question { choices, chart: None, track: None, detail: Detail::Totals, bands: None };
    heard(bytes, question, |heard| Indexed {
        digest: digest_of(heard, bytes, dated, choices),
        line_s: line_s(heard),
        keys: chart_id(heard.chords, heard.midi, heard.stage.laid().choruses).keys,
        band: heard.imprint.and_then(BandRecord::of),
    })
}

/// Seconds from the first note to the end of the last one to end, to the millisecond.
fn line_s(heard: &Heard<'_>) -> f64 {
    let notes = || heard.tally.notes.iter().map(|judged| judged.note);
    let last = notes().map(|note| note.on.in_millis() + note.length().in_millis()).fold(0.0, f64::max);
    let first = notes().next().map_or(last, |note| note.on.in_millis());
    (last - first).round() / 1e3
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demo;
    use crate::judge::{digest, judge};

    #[test]
    fn it_is_the_digest_and_the_length_of_the_line() {
        let (bytes, choices) = (demo::take().to_bytes(), Choices::default());
        let dated = Dated { take: 7, day: jiff::civil::date(2026, 11, 25) };
        let found = indexed(&bytes, dated, &choices).expect("a take");
        assert_eq!(found.digest, digest(&bytes, dated, &choices).expect("a take"));
        let question =
            Question { choices: &choices, chart: None, track: None, detail: Detail::Notes, bands: None };
        let notes = judge(&bytes, None, question).expect("a review").review.notes.expect("notes");
        let ends = notes.iter().map(|note| note.onset_ms + note.duration_ms).fold(0.0, f64::max);
        assert!((found.line_s - (ends - notes[0].onset_ms) / 1e3).abs() < 1e-3, "{}", found.line_s);
    }
}
