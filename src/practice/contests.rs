//! Contests: notes that a player hears otherwise, found in a tally. A verdict is told both ways.

use crate::store::journal::entry::{Contest, HeardAs as Entered, NoteName};
use crate::tally::Tally;
use crate::tally::contested::{HeardAs, Which};
use crate::theory::ChordSymbol;

/// The notes of a tally that are contested, each with what it is heard as. One that is not there, or that would stay what
/// it is, is left out.
pub fn found_in(tally: &Tally, contests: &[Contest]) -> Vec<(usize, HeardAs)> {
    contests.iter().filter_map(|contest| found(tally, contest)).collect()
}

fn found(tally: &Tally, contest: &Contest) -> Option<(usize, HeardAs)> {
    let at = tally.counted_note(which(contest.note))?;
    let heard = match &contest.heard_as {
        Entered::Chord => HeardAs::Chord,
        Entered::Scale | Entered::In(_) => HeardAs::Scale,
        Entered::Resolved => HeardAs::Resolved,
        Entered::Open => HeardAs::Open,
        Entered::NotPlayed => HeardAs::NotPlayed,
        Entered::Over(symbol) => {
            let symbol: ChordSymbol = symbol.parse().ok()?;
            let is_tone = symbol.tone_set().has(tally.notes[at].note.pitch.pitch_class());
            is_tone.then_some(HeardAs::Chord)?
        }
    };
    Some((at, heard))
}

const fn which(note: NoteName) -> Which {
    match note {
        NoteName::Index(index) => Which::Index(index),
        NoteName::Place { chorus, bar, note } => Which::Place { chorus, bar, note },
    }
}

/// What a note is heard as, in the words that commands and reports use.
pub fn heard_as_words(heard: &Entered) -> String {
    match heard {
        Entered::Chord => "chord".to_owned(),
        Entered::Scale => "scale".to_owned(),
        Entered::Resolved => "resolved".to_owned(),
        Entered::Open => "open".to_owned(),
        Entered::NotPlayed => "not-played".to_owned(),
        Entered::Over(symbol) => format!("over={symbol}"),
        Entered::In(scale) => format!("in={scale}"),
    }
}

/// Reads what [`heard_as_words`] writes.
pub fn read_heard_as(text: &str) -> Option<Entered> {
    Some(match text.split_once('=') {
        Some(("over", symbol)) => {
            Entered::Over(symbol.parse::<ChordSymbol>().ok().map(|_| symbol.to_owned())?)
        }
        Some(("in", scale)) if !scale.is_empty() => Entered::In(scale.to_owned()),
        Some(_) => return None,
        None => match text {
            "chord" => Entered::Chord,
            "scale" => Entered::Scale,
            "resolved" => Entered::Resolved,
            "open" => Entered::Open,
            "not-played" => Entered::NotPlayed,
            _ => return None,
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_note_is_heard_as_is_read_as_it_is_written() {
        for text in ["chord", "scale", "resolved", "open", "not-played", "over=Bb7alt", "in=altered"] {
            let heard = read_heard_as(text).unwrap_or_else(|| panic!("{text} is read"));
            assert_eq!(heard_as_words(&heard), text);
        }
        for text in ["", "wrong", "over=H7", "in=", "chord=1"] {
            assert_eq!(read_heard_as(text), None, "{text}");
        }
    }
}
