//! A review's totals beside the bare parse of the same bytes, in one run: the ratio of the two is the figure.
//!
//! `cargo bench --bench review`; `BARWISE_SOLOS` names a folder of recorded solos, else made-up ones are used.

#[path = "../tests/support/solos.rs"]
mod solos;

use barwise::judge::{Choices, ChordSource, Question, judge};
use barwise::report::review::Detail;
use barwise::take::MidiFile;
use barwise::theory::chord::BareSymbols;
use divan::{Bencher, black_box};

fn main() {
    divan::main();
}

fn question(choices: &Choices, detail: Detail) -> Question<'_> {
    Question { choices, chart: None, track: None, detail, bands: None }
}

/// Every event of every file, read by the MIDI library alone.
#[divan::bench]
fn a_bare_parse(bencher: Bencher) {
    let files = solos::files();
    bencher.bench(|| {
        for bytes in &files {
            black_box(midly::Smf::parse(bytes).expect("a MIDI file"));
        }
    });
}

#[divan::bench]
fn b_our_parse(bencher: Bencher) {
    let files = solos::files();
    bencher.bench(|| {
        for bytes in &files {
            black_box(MidiFile::parse(bytes).expect("a MIDI file"));
        }
    });
}

#[divan::bench]
fn c_our_parse_and_chords(bencher: Bencher) {
    let files = solos::files();
    bencher.bench(|| {
        for bytes in &files {
            let midi = MidiFile::parse(bytes).expect("a MIDI file");
            black_box(ChordSource::of_file(&midi, BareSymbols::default()).ok());
        }
    });
}

#[divan::bench]
fn d_totals(bencher: Bencher) {
    judged(bencher, Detail::Totals);
}

#[divan::bench]
fn e_every_note(bencher: Bencher) {
    judged(bencher, Detail::Notes);
}

fn judged(bencher: Bencher, detail: Detail) {
    let files = solos::files();
    let choices = Choices::default();
    bencher.bench(|| {
        for bytes in &files {
            // The solo without any chord has no verdict, and is read to its end all the same.
            black_box(judge(bytes, None, question(&choices, detail)).ok());
        }
    });
}
