//! Forms moved to another key and to other lengths.

use barwise::chart::form::Form;
use barwise::theory::NoteName;
use barwise::time::{TickSpan, Ticks};

/// The form moved up by `semitones`, each root spelled with few accidentals, and its lengths times `times` over `over`.
pub fn moved(form: &Form, semitones: i32, times: i64, over: i64) -> Form {
    let mut form = form.clone();
    for chord in &mut form.chords {
        chord.symbol = chord.symbol.map(|symbol| symbol.transposed(common(symbol.root, semitones)));
        chord.text = chord.symbol.map_or_else(|| "N.C.".to_owned(), |symbol| symbol.to_string());
        chord.start = Ticks(chord.start.0 * times / over);
        chord.length = TickSpan(chord.length.0 * times / over);
    }
    form
}

fn common(root: NoteName, semitones: i32) -> NoteName {
    const NAMES: [&str; 12] = ["C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"];
    let moved = root.pitch_class().up(semitones);
    NAMES[usize::from(moved.semitones())].parse().expect("a note name")
}
