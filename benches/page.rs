//! The page of a take beside the judging of it, in one run: the ratio of the two is the figure. The counter beside a page is
//! its size.
//!
//! `cargo bench --bench page`.

use barwise::chart::Chart;
use barwise::harmony::Overrides;
use barwise::judge::{Choices, ChordSource, Question, judge};
use barwise::report::html::take::TakePage;
use barwise::report::review::{Detail, Review};
use barwise::take::writer::writable;
use barwise::take::{ChannelMessage, TakeFile};
use barwise::theory::chord::BareSymbols;
use barwise::time::{TempoMap, TickSpan, Ticks};
use divan::counter::BytesCount;
use divan::{Bencher, black_box};

fn main() {
    divan::main();
}

/// 32 bars, a chord or two in each.
fn chords() -> ChordSource {
    let eight = "| Gm7 | C7 | Am7b5 D7b9 | Gm7 | Bbm7 Eb7 | Fmaj7 | Dm7 G7 | Gm7 C7 |\n";
    let (chart, _) = Chart::parse("bench.bars", &eight.repeat(4), BareSymbols::default()).expect("a chart");
    ChordSource::of_chart(&chart, &Overrides::default())
}

/// Sixteenths at 120 quarters a minute over two octaves.
fn sixteenths(notes: i64) -> Vec<u8> {
    let tempo = writable(&TempoMap::at_bpm(120.0));
    let message = |wire: [u8; 3]| ChannelMessage::from_wire(&wire).expect("a message");
    let sixteenth = TickSpan(TickSpan::quarters(1).0 / 4);
    let struck = (0..notes).flat_map(|index| {
        let (at, key) = (Ticks::ZERO + sixteenth * index, 60 + (index * 7 % 24) as u8);
        [(at, message([0x90, key, 90])), (at + TickSpan(sixteenth.0 * 9 / 10), message([0x80, key, 0]))]
    });
    let solo = struck.map(|(at, message)| (tempo.nanos(at), message)).collect();
    TakeFile { tempo: tempo.clone(), solo, ..TakeFile::default() }.to_bytes()
}

fn review(bytes: &[u8], chords: &ChordSource) -> Review {
    let choices = Choices::default();
    let question =
        Question { choices: &choices, chart: Some(chords), track: None, detail: Detail::Notes, bands: None };
    judge(bytes, None, question).expect("a take").review
}

/// As many notes as 25 bars of sixteenths, and as three choruses of them.
const NOTES: [i64; 2] = [400, 1_536];

#[divan::bench(args = NOTES)]
fn a_judged(bencher: Bencher, notes: i64) {
    let (bytes, chords) = (sixteenths(notes), chords());
    bencher.bench(|| black_box(review(&bytes, &chords)));
}

#[divan::bench(args = NOTES)]
fn b_written_as_a_page(bencher: Bencher, notes: i64) {
    let review = review(&sixteenths(notes), &chords());
    let page = TakePage { review: &review, verdict: None, weeks: None };
    let size = BytesCount::of_str(&page.write());
    bencher.counter(size).bench(|| black_box(page.write()));
}
