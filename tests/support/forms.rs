//! Forms from chord symbols and lengths, for tests and benchmarks.

use barwise::chart::Decided;
use barwise::chart::form::{Form, FormBar, FormChord, Sevenths};
use barwise::theory::ChordSymbol;
use barwise::time::{Meter, TickSpan, Ticks};

/// A form of chords with their lengths, one after the other, in bars of `meter`. `N.C.` is no chord.
pub fn form(meter: Meter, chords: &[(String, TickSpan)], loops: bool) -> Form {
    let mut at = Ticks::ZERO;
    let bar = meter.bar().0;
    let chords: Vec<FormChord> = chords
        .iter()
        .map(|(text, length)| {
            let start = at;
            at += *length;
            FormChord {
                bar: usize::try_from(start.0 / bar).expect("time goes forward"),
                start,
                length: *length,
                text: text.clone(),
                symbol: (text != "N.C.").then(|| symbol(text)),
                scale: None,
                place: None,
                decided: Decided::default(),
            }
        })
        .collect();
    let bars = (0..(at.0 + bar - 1) / bar)
        .map(|index| (index, usize::try_from(index).expect("a small number") + 1))
        .map(|(index, number)| FormBar {
            number,
            written: number,
            label: None,
            meter,
            start: Ticks(index * bar),
        })
        .collect();
    Form { bars, chords, loops, sevenths: Sevenths::AsWritten }
}

/// The chord a text stands for.
fn symbol(text: &str) -> ChordSymbol {
    text.parse().expect(text)
}
