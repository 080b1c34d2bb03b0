//! Reads a chart and prints a line for each chord: what it is in its key, and a scale.
//!
//! `cargo run --example read_a_chart`

use barwise::chart::Chart;
use barwise::harmony::{self, Overrides};
use barwise::theory::chord::BareSymbols;

const CHART: &str = "\
title: Spare Key
key:   Bb
A | Bbmaj7 | G7 | Cm7 | F7 |
  | Bbmaj7 | Ebm7 Ab7 | Bbmaj7 | F7sus4 F7 |
";

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let (chart, warnings) = Chart::parse("spare-key.bars", CHART, BareSymbols::default())?;
    for warning in warnings {
        eprintln!("spare-key.bars:{warning}");
    }
    let form = chart.unfold();
    let reading = harmony::read(&form, &Overrides::default());
    for (chord, read) in form.chords.iter().zip(&reading.chords) {
        if let Some(read) = read {
            println!(
                "bar {}  {:7} {:18} {:24} {}",
                chord.bar + 1,
                chord.text,
                read.function,
                read.scale.to_string(),
                read.why
            );
        }
    }
    Ok(())
}
