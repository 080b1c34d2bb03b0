//! Forms from bars as on a lead sheet, for tests.

use barwise::chart::form::Form;
use barwise::time::{Meter, TickSpan};

#[path = "forms.rs"]
mod forms;

/// Bars of four beats as on a lead sheet, the chords of a bar sharing it evenly, `x4` repeating a bar:
/// `Dm7 x2|G7|Cmaj7 A7`.
pub fn bars(text: &str, loops: bool) -> Form {
    let mut chords = Vec::new();
    for bar in text.split('|') {
        let words: Vec<&str> = bar.split_whitespace().collect();
        let (names, times) = match words.split_last() {
            Some((last, names)) if last.starts_with('x') => (names, last[1..].parse().expect("a count")),
            _ => (&words[..], 1),
        };
        let share = i64::try_from(names.len()).expect("a few chords");
        for _ in 0..times {
            let length = TickSpan(TickSpan::quarters(4).0 / share);
            chords.extend(names.iter().map(|name| ((*name).to_owned(), length)));
        }
    }
    forms::form(Meter::FOUR_FOUR, &chords, loops)
}
