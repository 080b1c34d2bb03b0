//! The words of the report: what stands beside the figures, for takes small enough to see through.

use barwise::chart::Chart;
use barwise::harmony::Overrides;
use barwise::judge::{Answer, Choices, ChordSource, Question, judge};
use barwise::practice::Assignment;
use barwise::report::review::notes::why;
use barwise::report::review::page::{Asked, Part, page};
use barwise::report::verdict::VerdictDocument;
use barwise::report::{Ink, OutputForm, Signs};
use barwise::take::{ChannelMessage, TakeFile};
use barwise::theory::chord::BareSymbols;
use barwise::time::{Nanos, TempoMap, TickSpan, Ticks};

const PIPE: OutputForm = OutputForm::Piped { ink: Ink::Plain, signs: Signs::Unicode };

const TWO_FIVE: &str = "| Dm7 | G7 | Cmaj7 | % |";

/// A note: MIDI key, then when it is struck and let go, in milliseconds at 120 quarters a minute.
type Note = (u8, i64, i64);

fn answer(chart: &str, notes: &[Note], asked: Option<&Assignment>) -> Answer {
    let (chart, _) = Chart::parse("chart.bars", chart, BareSymbols::default()).expect("a chart");
    let chords = ChordSource::of_chart(&chart, &Overrides::default());
    let mut solo: Vec<(Nanos, ChannelMessage)> = Vec::new();
    for &(key, on, off) in notes {
        let message = |wire: [u8; 3]| ChannelMessage::from_wire(&wire).expect("a message");
        solo.push((Nanos(on * 1_000_000), message([0x90, key, 80])));
        solo.push((Nanos(off * 1_000_000), message([0x80, key, 0])));
    }
    solo.sort_by_key(|&(at, message)| (at, message.wire()[0]));
    let take = TakeFile { tempo: TempoMap::at_bpm(120.0), solo, ..TakeFile::default() };
    let mut choices = Choices::default();
    if let Some(counting) = asked.and_then(|asked| asked.counting) {
        choices.tally.counting = counting;
    }
    let question = Question {
        choices: &choices,
        chart: Some(&chords),
        track: None,
        detail: barwise::report::review::Detail::Notes,
        bands: asked.map(|asked| &asked.bands),
    };
    judge(&take.to_bytes(), None, question).expect("a take")
}

fn text(chart: &str, notes: &[Note], part: Part) -> String {
    page(&answer(chart, notes, None).review, Asked { part, ..Asked::BARS }, PIPE)
}

fn checked(bands: &str, notes: &[Note]) -> String {
    let asked = Assignment::parse("asked.toml", bands).expect("bands");
    let answer = answer(TWO_FIVE, notes, Some(&asked));
    let verdict = answer.verdict.expect("a verdict");
    let verdict = VerdictDocument::new(answer.review.source.clone(), &verdict);
    page(&answer.review, Asked { verdict: Some(&verdict), part: Part::Totals, bar: None }, PIPE)
}

/// Quarters on one key, one after the other from the first beat.
fn quarters(key: u8, count: i64) -> Vec<Note> {
    (0..count).map(|beat| (key, beat * 500, beat * 500 + 400)).collect()
}

#[test]
fn a_verdict_is_spoken_of_only_where_one_was_asked_for() {
    let notes = quarters(65, 8);
    let unasked = text(TWO_FIVE, &notes, Part::Bars);
    assert!(!unasked.to_lowercase().contains("verdict"), "{unasked}");
    assert!(unasked.contains("Shares of 8 notes are uncertain: see how wide their intervals are."));
    assert!(checked("chord = \"50-70\"", &notes).contains("no verdict: 8 notes, 40 are needed"));
    assert!(!text(TWO_FIVE, &quarters(65, 40), Part::Bars).contains("uncertain"));
    assert!(!text(TWO_FIVE, &[(60, 0, 5)], Part::Bars).contains("Shares of 0"));
}

#[test]
fn bands_say_what_they_are_of_and_every_one_that_is_off_is_named() {
    let page = checked("chord = \"0-10\"\nopen = \"90-\"\nlandings = \"0-100\"", &quarters(65, 48));
    for part in [
        "Bands are shares of all counted notes, landings of the changes met.",
        "3 bands are judged at once, so their intervals are wider than those of the report.",
        "clearly above: chord lies between",
        "; clearly below: open lies between",
    ] {
        assert!(page.contains(part), "{part}: {page}");
    }
    let one = checked("chord = \"0-10\"", &quarters(65, 48));
    assert!(!one.contains("judged at once") && !one.contains("changes met"), "{one}");
}

#[test]
fn a_band_for_scale_says_that_it_takes_in_another_scale() {
    // F# over Cmaj7, over and over: the line leans to lydian.
    let lydian: Vec<Note> =
        (0..32).map(|i| ([67, 66, 64, 66][i as usize % 4], 4_000 + i * 125, 4_100 + i * 125)).collect();
    let strict = checked("scale = \"0-100\"", &lydian);
    assert!(!strict.contains("another scale (~)."), "{strict}");
    let lenient = checked("scale = \"0-100\"\ncounting = \"lenient\"", &lydian);
    assert!(lenient.contains("The band for scale takes in the notes of another scale (~)."), "{lenient}");
}

#[test]
fn signs_and_columns_are_explained_under_the_bars() {
    let page = text(TWO_FIVE, &quarters(65, 8), Part::Bars);
    for part in
        ["b9> outside, resolved", "c s x: chord, scale, outside", "Running the scale: chord share when"]
    {
        assert!(page.contains(part), "{part}: {page}");
    }
}

#[test]
fn parts_of_notes_have_one_decimal_and_a_reason() {
    // D and E flat and E together over Dm7: a third of a note each.
    let page = text(TWO_FIVE, &[(62, 0, 400), (63, 0, 400), (64, 0, 400)], Part::Bars);
    assert!(page.contains("chord: 0.3 of 1, 33 %"), "{page}");
    assert!(page.contains("Notes struck together count as one between them"), "{page}");
    assert!(!text(TWO_FIVE, &quarters(65, 8), Part::Bars).contains("struck together"));
}

#[test]
fn parts_of_notes_add_up_in_words() {
    // D, E, F and G together over Dm7: two chord tones, two scale tones. D, E, G and B: one and three.
    let together = |keys: [u8; 4]| keys.map(|key| (key, 0, 400));
    let line = |keys| {
        let page = text(TWO_FIVE, &together(keys), Part::Plain);
        page.lines().find(|line| line.starts_with("bar 1 Dm7")).expect("the bar").to_owned()
    };
    assert!(line([62, 64, 67, 71]).starts_with("bar 1 Dm7: 1 note, 0.25 chord, 0.75 scale"));
    assert!(line([62, 64, 65, 67]).starts_with("bar 1 Dm7: 1 note, 0.5 chord, 0.5 scale"));
}

#[test]
fn where_no_chord_sounds_nothing_is_said_to_go_on() {
    let page = text("| Dm7 | % | N.C. | % |", &quarters(65, 16), Part::Bars);
    let landed = |bar: &str| {
        let row = page.lines().find(|line| line.split('\t').nth(1) == Some(bar)).expect("a row");
        row.split('\t').nth(8).expect("a column").to_owned()
    };
    assert_eq!([landed("2"), landed("3"), landed("4")], ["same", "", ""]);
}

#[test]
fn a_beginning_without_a_chord_is_said_in_words() {
    let take = TakeFile {
        tempo: TempoMap::at_bpm(120.0),
        chords: vec![(Ticks::ZERO + TickSpan::quarters(4), "Dm7".to_owned())],
        solo: vec![(Nanos(0), ChannelMessage::from_wire(&[0x90, 62, 80]).expect("a message"))],
        ..TakeFile::default()
    };
    let choices = Choices::default();
    let detail = barwise::report::review::Detail::Notes;
    let question = Question { choices: &choices, chart: None, track: None, detail, bands: None };
    let review = judge(&take.to_bytes(), None, question).expect("a take").review;
    let page = page(&review, Asked { part: Part::Plain, ..Asked::BARS }, PIPE);
    assert!(page.contains("bar 1 no chord: 0 notes\n"), "{page}");
}

#[test]
fn a_beat_is_explained_where_it_is_no_quarter_note() {
    let page = text("meter: 6/8\n| Dm7 | G7 | Cmaj7 | % |", &quarters(65, 8), Part::Totals);
    assert!(page.contains("A beat of 6/8 is an eighth here."), "{page}");
    assert!(!text(TWO_FIVE, &quarters(65, 8), Part::Totals).contains("A beat of"));
}

#[test]
fn a_note_held_outside_is_said_to_count_as_open() {
    let review = answer(TWO_FIVE, &[(61, 0, 1_500)], None).review;
    let lines = why(&review, 1, 1, 1).expect("a note");
    assert_eq!(
        lines,
        [
            "bar 1, note 1 of 1: C#4 on beat 1, 7 of Dm7",
            "  outside    7 of Dm7: not in D dorian; held longer than a beat, so not an approach: open",
            "  counts     as outside and open: the totals have held-outside among the open.",
        ]
    );
}
