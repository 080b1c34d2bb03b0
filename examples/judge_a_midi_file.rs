//! Judges a MIDI file by the chord text it carries and prints its chord share and where the line was left open.
//!
//! `cargo run --example judge_a_midi_file -- FILE.mid`; without a file it judges the line of the demo.

use barwise::judge::{Choices, Question, judge};
use barwise::report::review::Detail;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let file = std::env::args_os().nth(1);
    let bytes = match &file {
        Some(path) => std::fs::read(path)?,
        None => barwise::demo::take().to_bytes(),
    };
    let name = file.map(|path| path.to_string_lossy().into_owned());
    let choices = Choices::default();
    let question =
        Question { choices: &choices, chart: None, track: None, detail: Detail::Notes, bands: None };
    let review = judge(&bytes, name, question)?.review;

    let chord = &review.totals.chord;
    if let (Some(share), Some(low), Some(high)) = (chord.share, chord.low, chord.high) {
        println!(
            "{} of {} notes are chord tones: {share:.2} ({low:.2} to {high:.2})",
            chord.n, review.totals.counted
        );
    }
    for note in review.notes.iter().flatten().filter(|note| note.tag == Some("open")) {
        println!("bar {}, beat {:.2}: {} over {}, {}", note.bar, note.beat, note.name, note.chord, note.why);
    }
    Ok(())
}
