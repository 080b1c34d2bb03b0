//! What is suggested after a take: what comes first, what it is told from, and when there is nothing to say.

use barwise::chart::Chart;
use barwise::harmony::Overrides;
use barwise::judge::{Choices, ChordSource, Question, judge};
use barwise::practice::Assignment;
use barwise::report::review::{Detail, NextRecord};
use barwise::take::{ChannelMessage, TakeFile};
use barwise::theory::chord::BareSymbols;
use barwise::time::{Nanos, TempoMap};

const CHART: &str = "| Cmaj7 | Fmaj7 | Cmaj7 | Fmaj7 |\n";

/// C5, the root of one chord and the fifth of the other; E5, the third of one and the seventh of the other.
const C: u8 = 72;
const E: u8 = 76;

/// F sharp: outside both, and far from both.
const OUT: u8 = 66;

/// What is suggested after quarters on these keys at 120 quarters a minute, 0 a rest; `bands` are asked for.
fn next(keys: &[u8], bands: Option<&str>) -> Vec<NextRecord> {
    let (chart, _) = Chart::parse("chart.bars", CHART, BareSymbols::default()).expect("a chart");
    let chords = ChordSource::of_chart(&chart, &Overrides::default());
    let mut solo: Vec<(Nanos, ChannelMessage)> = Vec::new();
    for (index, &key) in keys.iter().enumerate().filter(|(_, key)| **key > 0) {
        let message = |wire: [u8; 3]| ChannelMessage::from_wire(&wire).expect("a message");
        let at = |millis: i64| Nanos((index as i64 * 500 + millis) * 1_000_000);
        solo.push((at(0), message([0x90, key, 80])));
        solo.push((at(450), message([0x80, key, 0])));
    }
    let take = TakeFile { tempo: TempoMap::at_bpm(120.0), solo, ..TakeFile::default() };
    let choices = Choices::default();
    let asked = bands.map(|bands| Assignment::parse("bands.toml", bands).expect("bands"));
    let question = Question {
        choices: &choices,
        chart: Some(&chords),
        track: None,
        detail: Detail::Totals,
        bands: asked.as_ref().map(|asked| &asked.bands),
    };
    judge(&take.to_bytes(), None, question).expect("a take").review.next
}

fn kinds(keys: &[u8], bands: Option<&str>) -> Vec<&'static str> {
    next(keys, bands).iter().map(|next| next.kind).collect()
}

#[test]
fn the_chord_with_the_open_notes_comes_first_then_the_bars_then_another_chorus() {
    let mut keys = [C; 16];
    (keys[6], keys[14]) = (OUT, OUT);
    let found = next(&keys, None);
    assert_eq!(found.iter().map(|next| next.kind).collect::<Vec<_>>(), ["arpeggio", "loop", "chorus"]);
    let (arpeggio, bars, chorus) = (&found[0], &found[1], &found[2]);
    assert_eq!((arpeggio.symbol.as_deref(), arpeggio.open, arpeggio.of), (Some("Fmaj7"), Some(2), Some(2)));
    assert_eq!(arpeggio.what, "The Fmaj7 arpeggio");
    assert_eq!(arpeggio.why, "2 of the 2 open notes fell over this chord.");
    // Bars 2 and 3 as many as 3 and 4: the first of them. Seven eighths of 120.
    assert_eq!(
        (bars.bars, bars.tempo.map(|tempo| tempo.0), bars.times),
        (Some([2, 3]), Some(105.0), Some(4))
    );
    assert_eq!((bars.open, bars.missed), (Some(1), Some(2)));
    assert_eq!(bars.what, "Bars 2 and 3 at 105, four times");
    assert_eq!(chorus.why, "16 notes are few to tell anything by.");
}

#[test]
fn one_open_note_is_no_habit() {
    let mut keys = [E; 16];
    keys[6] = OUT;
    assert_eq!(kinds(&keys, None), ["chorus"]);
}

#[test]
fn eight_bars_without_a_rest_ask_for_one() {
    let found = next(&[E; 48], None);
    assert_eq!(found.iter().map(|next| next.kind).collect::<Vec<_>>(), ["rests"]);
    assert_eq!(found[0].what, "One chorus with a rest every four bars");
    assert_eq!(found[0].why, "The longest stretch without one was 12 bars.");
    let mut rested = [E; 48];
    (rested[15], rested[31]) = (0, 0);
    assert_eq!(kinds(&rested, None), Vec::<&str>::new(), "nothing stands out");
}

#[test]
fn an_undecided_verdict_asks_for_another_chorus() {
    // Every change is landed on; of so few, the interval reaches below 95 %.
    let mut keys = [E; 48];
    (keys[15], keys[31]) = (0, 0);
    assert_eq!(kinds(&keys, Some("chord = \"50-100\"")), Vec::<&str>::new());
    assert_eq!(kinds(&keys, Some("landings = \"0-95\"")), ["chorus"]);
}

#[test]
fn a_take_of_one_note_asks_for_another_chorus() {
    assert_eq!(kinds(&[OUT, 0, 0, 0], None), ["chorus"]);
}
