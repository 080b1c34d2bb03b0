//! Writing a chart: its own text, with the signs outside ASCII that symbols and keys were read with spelled in ASCII.
//!
//! `♭` becomes `b`, `♯` `#`, `△` `maj7`, `°` `dim`, `ø` `m7b5`. Titles, names and comments stay in any script.

use std::fmt;
use std::ops::Range;

use crate::theory::ChordSymbol;
use crate::theory::chord::BareSymbols;

use super::change::spliced;
use super::header::key_text;
use super::model::{Chart, WrittenChord};

/// Prints the text of the chart: what was read, in ASCII where music is written.
impl fmt::Display for Chart {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&spliced(&self.text, self.ascii_edits()))
    }
}

impl Chart {
    fn ascii_edits(&self) -> Vec<(Range<usize>, String)> {
        let key = self.spots.key.clone().zip(self.header.key);
        let key = key.map(|(span, key)| (span, key_text(key)));
        let mut edits: Vec<_> = key.into_iter().filter(|(span, _)| self.is_foreign(span)).collect();
        for (bar, spots) in self.bars.iter().zip(&self.spots.bars) {
            let chords = bar.chords().into_iter().map(|(_, chord)| chord);
            let spelled = chords.zip(&spots.chords).flat_map(|(chord, spot)| {
                let symbol = (spot.symbol.clone(), ascii_text(chord, self.bare));
                let scale = chord.scale.as_ref().map(|scale| (spot.scale.clone(), format!("={scale}")));
                std::iter::once(symbol).chain(scale)
            });
            let spelled = spelled.filter(|(span, _)| self.is_foreign(span)).collect();
            edits.extend(self.keeping_barlines(spelled, spots));
        }
        edits
    }

    fn is_foreign(&self, span: &Range<usize>) -> bool {
        !self.text[span.clone()].is_ascii()
    }
}

/// The chord's symbol in ASCII: as written where that is ASCII, else respelled so that it reads as the same symbol.
fn ascii_text(chord: &WrittenChord, bare: BareSymbols) -> String {
    match chord.symbol {
        Some(symbol) if !chord.text.is_ascii() => ascii_symbol(&chord.text, symbol, bare),
        _ => chord.text.clone(),
    }
}

fn ascii_symbol(written: &str, symbol: ChordSymbol, bare: BareSymbols) -> String {
    let candidate = respelled(written);
    match ChordSymbol::parse_with(&candidate, bare) {
        Ok(read) if read == symbol && candidate.is_ascii() => candidate,
        _ => symbol.to_string(),
    }
}

/// Sign by sign. `Δ` and `ø` say a seventh by themselves and drop the 7 or give way to the 9, 11 or 13 behind them.
fn respelled(written: &str) -> String {
    let mut ascii = String::new();
    let mut rest = written.chars().peekable();
    while let Some(sign) = rest.next() {
        let number: String = match sign {
            'Δ' | '△' | '∆' | 'ø' | 'Ø' => {
                std::iter::from_fn(|| rest.next_if(char::is_ascii_digit)).collect()
            }
            _ => String::new(),
        };
        let seventh = if number.is_empty() { "7" } else { &number };
        match sign {
            '♭' => ascii.push('b'),
            '♯' => ascii.push('#'),
            '−' | '–' => ascii.push('-'),
            '°' | 'º' => ascii += "dim",
            'Δ' | '△' | '∆' => ascii.extend(["maj", seventh]),
            'ø' | 'Ø' => ascii.extend(["m", seventh, "b5"]),
            other => ascii.push(other),
        }
    }
    ascii
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_become_ascii_and_read_as_the_same_symbol() {
        let check = |written: &str, ascii: &str| {
            let symbol: ChordSymbol = written.parse().expect("a symbol");
            let spelled = ascii_symbol(written, symbol, BareSymbols::default());
            assert_eq!(spelled, ascii);
            assert_eq!(spelled.parse(), Ok(symbol), "{written}");
        };
        check("B♭7", "Bb7");
        check("F♯m7♭5", "F#m7b5");
        check("C△", "Cmaj7");
        check("C△7", "Cmaj7");
        check("CΔ9", "Cmaj9");
        check("CΔ♯11", "Cmaj7#11");
        check("C−Δ", "C-maj7");
        check("B°", "Bdim");
        check("B°7", "Bdim7");
        check("Bø", "Bm7b5");
        check("Bø7", "Bm7b5");
        check("Bø9", "Bm9b5");
        check("E♭△/G", "Ebmaj7/G");
    }
}
