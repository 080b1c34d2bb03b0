//! A form in another key: as its chart would be, but made of what is played, so that chords without a page move too.

use crate::theory::spelling::read_note_name;
use crate::theory::{ChordSymbol, Key, NoteName, ScaleRequest};

use super::form::{Form, FormChord};
use super::model::WrittenChord;
use super::shift::Shift;

impl Form {
    /// This form with the tonic of `from` moved to the tonic of `to`, roots spelled by the new key as
    /// [`Chart::transposed_from`](super::Chart::transposed_from) spells them.
    #[must_use]
    pub fn transposed_from(&self, from: Key, to: Key) -> Self {
        let shift = Shift::new(from, to);
        let written: Vec<WrittenChord> = self.chords.iter().map(written).collect();
        let symbols = shift.symbols(&written.iter().collect::<Vec<_>>());
        let chords = self.chords.iter().zip(symbols);
        let chords = chords.map(|(chord, text)| moved(chord, text, shift)).collect();
        Self { chords, bars: self.bars.clone(), ..*self }
    }
}

/// Chords and notes by themselves, from one key to another, spelled as those of a chart in the new key.
#[derive(Clone, Copy)]
pub struct Move(Shift);

impl Move {
    /// The move from the tonic of `from` to that of `to`.
    pub fn new(from: Key, to: Key) -> Self {
        Self(Shift::new(from, to))
    }

    /// A chord.
    #[must_use]
    pub fn symbol(self, symbol: ChordSymbol) -> ChordSymbol {
        let written = WrittenChord { text: symbol.to_string(), symbol: Some(symbol), scale: None };
        let text = self.0.symbols(&[&written]).pop().unwrap_or(written.text);
        with_root(symbol, &text, self.0)
    }

    /// A scale, with the note it names if it names one.
    #[must_use]
    pub fn scale(self, scale: ScaleRequest) -> ScaleRequest {
        self.0.scale(scale)
    }

    /// A note.
    #[must_use]
    pub fn note(self, note: NoteName) -> NoteName {
        self.0.note(note)
    }
}

fn written(chord: &FormChord) -> WrittenChord {
    WrittenChord { text: chord.text.clone(), symbol: chord.symbol, scale: chord.scale.clone() }
}

/// A chord under its new symbol; what the symbol stands for stays.
fn moved(chord: &FormChord, text: String, shift: Shift) -> FormChord {
    let symbol = chord.symbol.map(|symbol| with_root(symbol, &text, shift));
    FormChord {
        text,
        symbol,
        scale: chord.scale.clone().map(|scale| shift.scale(scale)),
        decided: shift.decided(chord.decided.clone()),
        ..chord.clone()
    }
}

/// The symbol on the root that `text` begins with, its bass as far from it as before.
fn with_root(symbol: ChordSymbol, text: &str, shift: Shift) -> ChordSymbol {
    let Some((root, _)) = read_note_name(text) else { return symbol };
    let bass = symbol.bass.map(|bass| shift.bass(bass, symbol.root, root));
    ChordSymbol { root, bass, ..symbol }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::{Backing, Chart};
    use crate::theory::chord::BareSymbols;

    #[test]
    fn a_form_moves_as_its_chart_does() {
        for backing in Backing::ALL {
            let (chart, _) =
                Chart::parse(backing.stem, backing.text, BareSymbols::default()).expect("a chart that ships");
            let Some(from) = chart.header().key else { continue };
            for semitones in 1..12 {
                let to = Key::new(from.tonic.pitch_class().up(semitones), from.mode);
                let whole = chart.transposed_from(from, to).expect("another key").unfold();
                let form = chart.unfold().transposed_from(from, to);
                let sounding = |form: &Form| -> Vec<_> {
                    let chords = form.chords.iter().filter_map(|chord| chord.symbol);
                    chords.map(|symbol| (symbol.quality, symbol.root.pitch_class())).collect()
                };
                assert_eq!(sounding(&form), sounding(&whole), "{} in {to}", backing.stem);
                for chord in &form.chords {
                    let read = ChordSymbol::parse_with(&chord.text, BareSymbols::default()).ok();
                    assert_eq!(chord.symbol, read, "{} in {to}", backing.stem);
                }
            }
        }
    }
}
