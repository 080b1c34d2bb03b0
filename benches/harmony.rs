//! How long reading a form takes: 400 bars against 100 in the same run, looping and not.
//!
//! The time grows with the number of chords and, in a loop, with the first keys that a bound cannot rule out.

#[path = "../tests/support/forms.rs"]
mod forms;

use barwise::chart::form::Form;
use barwise::harmony::{Overrides, read};
use barwise::time::{Meter, TickSpan};
use divan::{Bencher, black_box};

const BARS: [usize; 2] = [100, 400];

fn main() {
    divan::main();
}

/// Two chords a bar out of tune-like phrases, each phrase in a key of its own so that regions have to be found.
fn tune(bars: usize, loops: bool) -> Form {
    const PHRASES: [&str; 4] = [
        "Cmaj7 A7 Dm7 G7 Em7 A7 Dm7 G7",
        "Fm7 Bb7 Ebmaj7 Ebmaj7 Dm7b5 G7b9 Cm7 Cm7",
        "F7 Bb7 F7 F7 Bb7 Bdim7 F7 D7",
        "F#m7 B7 Emaj7 Emaj7 Em7 A7 Dmaj7 G7",
    ];
    let names = PHRASES.iter().flat_map(|phrase| phrase.split(' ')).cycle();
    let chords: Vec<(String, TickSpan)> =
        names.take(2 * bars).map(|name| (name.to_owned(), TickSpan::quarters(2))).collect();
    forms::form(Meter::FOUR_FOUR, &chords, loops)
}

/// Unrelated chords: no first key is ruled out early.
fn wandering(bars: usize) -> Form {
    const QUALITIES: [&str; 7] = ["maj7", "m7", "7", "m7b5", "dim7", "m6", "7sus4"];
    const ROOTS: [&str; 12] = ["C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"];
    let chords: Vec<(String, TickSpan)> = (0..2 * bars)
        .map(|i| format!("{}{}", ROOTS[i * i * 7 % 12], QUALITIES[i * 5 % 7]))
        .map(|name| (name, TickSpan::quarters(2)))
        .collect();
    forms::form(Meter::FOUR_FOUR, &chords, true)
}

#[divan::bench(args = BARS)]
fn a_loop(bencher: Bencher, bars: usize) {
    let form = tune(bars, true);
    bencher.bench(|| read(black_box(&form), &Overrides::default()));
}

#[divan::bench(args = BARS)]
fn a_form_with_an_end(bencher: Bencher, bars: usize) {
    let form = tune(bars, false);
    bencher.bench(|| read(black_box(&form), &Overrides::default()));
}

#[divan::bench(args = BARS)]
fn a_loop_of_unrelated_chords(bencher: Bencher, bars: usize) {
    let form = wandering(bars);
    bencher.bench(|| read(black_box(&form), &Overrides::default()));
}
