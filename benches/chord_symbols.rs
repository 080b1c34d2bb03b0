//! Chord symbols: the worst that the parser can be given beside an everyday one, in one run.
//!
//! The worst are symbols of the greatest length that are read nearly to their end in every way there is, and then refused.

use barwise::theory::ChordSymbol;
use barwise::theory::chord::GREATEST_LENGTH;
use divan::{Bencher, black_box};

fn main() {
    divan::main();
}

#[divan::bench]
fn everyday() {
    black_box(black_box("Bbm7b5/E").parse::<ChordSymbol>().ok());
}

/// Symbols of the greatest length made of each piece that symbols are made of.
fn long_symbols() -> Vec<String> {
    let pieces = [
        "b9", "#11", "(b13)", "maj7", "m", "sus4", "add9", "alt", "6/9", "/", "ø", "Δ", "13", "-", "+", ",",
        "(", "x",
    ];
    let long = |piece: &&str| {
        let symbol: String = std::iter::once("C7")
            .chain(std::iter::repeat(*piece))
            .flat_map(str::chars)
            .take(GREATEST_LENGTH)
            .collect();
        symbol
    };
    pieces.iter().map(long).collect()
}

/// The slowest of the long symbols, found by trying each.
#[divan::bench]
fn worst(bencher: Bencher) {
    let slowest = long_symbols().into_iter().max_by_key(|symbol| {
        let began = std::time::Instant::now();
        for _ in 0..100 {
            black_box(symbol.parse::<ChordSymbol>().ok());
        }
        began.elapsed()
    });
    let slowest = slowest.expect("there are some");
    bencher.bench(|| black_box(black_box(&slowest).parse::<ChordSymbol>().ok()));
}
