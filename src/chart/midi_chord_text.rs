//! A form from the chord texts of a MIDI file: `Fm7` at its tick, and so on.
//!
//! It reads no file: the caller hands over texts with their places. Such a form is one long chorus and does not loop.

use std::collections::HashMap;

use crate::theory::ChordSymbol;
use crate::theory::chord::{BareSymbols, NoChord};
use crate::time::{BarGrid, Meter, TICKS_PER_QUARTER, TickSpan, Ticks};

use super::decision::Decided;
use super::form::{Form, FormBar, FormChord, Sevenths};
use super::read::is_no_chord;

/// Most bars a form of chord texts may have: more than eleven hours of 4/4 at 240 quarters a minute.
pub const MOST_BARS: usize = 40_000;

/// The name of the track on which every text that reads is taken for a chord.
pub const CHORDS_TRACK: &str = "Chords";

/// A text no farther than this from a beat of its bar stands on that beat.
///
/// A twelfth of a quarter is a quarter of the smallest push in use, a triplet eighth, and less than a thirty-second; it
/// is 20 ms, as far as a device or a hand is off, at 250 quarters a minute, and more at any slower tempo.
const OFF_BEAT: TickSpan = TickSpan(TICKS_PER_QUARTER / 12);

/// Texts are taken for chords where at least this many of [`OF_TEXTS`] read as such.
const CHORDS_AT_LEAST: usize = 3;
/// See [`CHORDS_AT_LEAST`].
const OF_TEXTS: usize = 4;

/// How the texts of a track are judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trust {
    /// The track is called `Chords`: one text that reads is enough.
    NamedChords,
    /// Any other: three texts in four must read as chords.
    Any,
}

impl Trust {
    /// The trust in a track of this name.
    pub fn in_track(name: &str) -> Self {
        if name.trim().eq_ignore_ascii_case(CHORDS_TRACK) { Self::NamedChords } else { Self::Any }
    }
}

/// Why texts make no form.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoChordTexts {
    /// No text at all.
    #[error("it has no chord text. Write the symbols as text events on a track named \"{CHORDS_TRACK}\"")]
    Empty,
    /// Too few of them read as chords.
    #[error(
        "{chords} of {texts} texts read as chords, three in four are needed, or a track named \"{CHORDS_TRACK}\". \
         The first that does not: \"{first}\""
    )]
    TooFew {
        /// Texts that read.
        chords: usize,
        /// All texts that are not blank.
        texts: usize,
        /// The first that does not read.
        first: String,
    },
    /// The file is longer than [`MOST_BARS`] bars.
    #[error("the file has more than {MOST_BARS} bars; at most {MOST_BARS} are read")]
    TooLong,
}

/// A text that was left out.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("bar {bar}, beat {beat:.2}: \"{text}\" is no chord; left out")]
pub struct TextLeftOut {
    /// The bar, from 1.
    pub bar: usize,
    /// The beat, from 1.0.
    pub beat: f64,
    /// The text.
    pub text: String,
}

/// A chord text that read.
struct ChordText<'a> {
    at: Ticks,
    text: &'a str,
    symbol: Option<ChordSymbol>,
}

/// The form of the chords `texts`, in order of time, in a file with these `meters` that ends at `end`.
///
/// Bar 1 begins at tick 0; a meter that changes within a bar holds from the next one; 4/4 before the first. Before the
/// first chord there is none: N.C. with the text `""`. A text a moment before or after a beat stands on it; of several at
/// one place the last counts.
pub fn form_of_texts(
    texts: &[(Ticks, String)],
    meters: &[(Ticks, Meter)],
    end: Ticks,
    trust: Trust,
    bare: BareSymbols,
) -> Result<(Form, Vec<TextLeftOut>), NoChordTexts> {
    let (mut chords, others) = sorted_out(texts, bare);
    check_trust(&chords, &others, trust)?;
    let last = chords.last().map_or(Ticks::ZERO, |chord| chord.at);
    // The bar of the last chord too, where that stands at the very end, or so near that it moves there.
    let meters = bars_until(end.max(last + OFF_BEAT + TickSpan(1)), meters)?;
    let grid = BarGrid::new(meters);
    for chord in &mut chords {
        chord.at = on_beat(&grid, chord.at);
    }
    let left_out = others.into_iter().filter_map(|(at, text)| {
        let place = grid.place(at)?;
        Some(TextLeftOut { bar: place.bar + 1, beat: place.beat, text: text.to_owned() })
    });
    let left_out = left_out.collect();
    Ok((laid_out(&grid, &chords), left_out))
}

type Others<'a> = Vec<(Ticks, &'a str)>;

/// Chords apart from other texts; blank texts are neither.
fn sorted_out(texts: &[(Ticks, String)], bare: BareSymbols) -> (Vec<ChordText<'_>>, Others<'_>) {
    let mut chords = Vec::new();
    let mut others = Vec::new();
    let mut known: HashMap<&str, Result<ChordSymbol, NoChord>> = HashMap::new();
    for (at, text) in texts {
        let at = (*at).max(Ticks::ZERO);
        let trimmed = text.trim();
        if trimmed.is_empty() {
            continue;
        }
        let read = known.entry(trimmed).or_insert_with(|| ChordSymbol::parse_with(trimmed, bare));
        match *read {
            Ok(symbol) => chords.push(ChordText { at, text: trimmed, symbol: Some(symbol) }),
            Err(_) if is_no_chord(trimmed) => chords.push(ChordText { at, text: trimmed, symbol: None }),
            Err(_) => others.push((at, trimmed)),
        }
    }
    chords.sort_by_key(|chord| chord.at);
    (chords, others)
}

fn check_trust(chords: &[ChordText<'_>], others: &Others<'_>, trust: Trust) -> Result<(), NoChordTexts> {
    let texts = chords.len() + others.len();
    let enough = match trust {
        Trust::NamedChords => !chords.is_empty(),
        Trust::Any => chords.len() * OF_TEXTS >= texts * CHORDS_AT_LEAST,
    };
    match others.first() {
        _ if texts == 0 => Err(NoChordTexts::Empty),
        Some((_, first)) if !enough => {
            Err(NoChordTexts::TooFew { chords: chords.len(), texts, first: (*first).to_owned() })
        }
        _ => Ok(()),
    }
}

/// The meters of the bars from tick 0 on until `end` is covered; at least one bar.
fn bars_until(end: Ticks, changes: &[(Ticks, Meter)]) -> Result<Vec<Meter>, NoChordTexts> {
    let mut changes: Vec<_> = changes.to_vec();
    changes.sort_by_key(|&(at, _)| at);
    let mut changes = changes.into_iter().peekable();
    let mut meter = Meter::FOUR_FOUR;
    let mut bars = Vec::new();
    let mut start = Ticks::ZERO;
    while bars.is_empty() || start < end {
        while let Some((_, change)) = changes.next_if(|&(at, _)| at <= start) {
            meter = change;
        }
        if bars.len() == MOST_BARS {
            return Err(NoChordTexts::TooLong);
        }
        bars.push(meter);
        start += meter.bar();
    }
    Ok(bars)
}

/// The beat next to `at`, where that is as near as [`OFF_BEAT`]; else `at`.
fn on_beat(grid: &BarGrid, at: Ticks) -> Ticks {
    let bar = grid.bars().partition_point(|&(start, _)| start <= at).checked_sub(1);
    let Some((start, meter)) = bar.and_then(|bar| grid.bars().get(bar)) else { return at };
    let beat = meter.beat().0;
    let nearest = *start + TickSpan(((at - *start).0 + beat / 2) / beat * beat);
    if (nearest - at).0.abs() <= OFF_BEAT.0 { nearest } else { at }
}

/// The chords laid over the bars, each bar beginning a chord of its own.
fn laid_out(grid: &BarGrid, chords: &[ChordText<'_>]) -> Form {
    let mut form = Form { bars: Vec::new(), chords: Vec::new(), loops: false, sevenths: Sevenths::AsWritten };
    let none = ChordText { at: Ticks::ZERO, text: "", symbol: None };
    let mut held = &none;
    let mut next = 0;
    for (bar, &(start, meter)) in grid.bars().iter().enumerate() {
        let end = start + meter.bar();
        form.bars.push(FormBar { number: bar + 1, written: bar + 1, label: None, meter, start });
        let mut from = start;
        while let Some(chord) = chords.get(next).filter(|chord| chord.at < end) {
            form.chords.extend(form_chord(held, bar, from, chord.at));
            from = chord.at;
            held = chord;
            next += 1;
        }
        form.chords.extend(form_chord(held, bar, from, end));
    }
    form
}

/// The chord as it sounds from `from` to `until`, if that is any time.
fn form_chord(chord: &ChordText<'_>, bar: usize, from: Ticks, until: Ticks) -> Option<FormChord> {
    (until > from).then(|| FormChord {
        bar,
        start: from,
        length: until - from,
        text: chord.text.to_owned(),
        symbol: chord.symbol,
        scale: None,
        place: None,
        decided: Decided::default(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::TICKS_PER_QUARTER;
    use proptest::prelude::*;

    fn quarters(at: i64) -> Ticks {
        Ticks::ZERO + TickSpan::quarters(at)
    }

    fn texts(texts: &[(i64, &str)]) -> Vec<(Ticks, String)> {
        texts.iter().map(|&(at, text)| (quarters(at), text.to_owned())).collect()
    }

    fn form(written: &[(i64, &str)], meters: &[(Ticks, Meter)], end: i64) -> (Form, Vec<TextLeftOut>) {
        let read = form_of_texts(&texts(written), meters, quarters(end), Trust::Any, BareSymbols::default());
        read.expect("a form")
    }

    fn shown(form: &Form) -> Vec<(usize, i64, i64, &str)> {
        let quarter = |ticks: i64| ticks / TICKS_PER_QUARTER;
        let chords = form.chords.iter();
        chords.map(|c| (c.bar + 1, quarter(c.start.0), quarter(c.length.0), c.text.as_str())).collect()
    }

    #[test]
    fn each_bar_begins_a_chord_and_before_the_first_there_is_none() {
        let (form, left_out) = form(&[(2, "Dm7"), (8, "G7"), (10, "N.C.")], &[], 12);
        let expect = [(1, 0, 2, ""), (1, 2, 2, "Dm7"), (2, 4, 4, "Dm7"), (3, 8, 2, "G7"), (3, 10, 2, "N.C.")];
        assert_eq!(shown(&form), expect);
        assert!(!form.loops);
        assert_eq!(form.chords[0].symbol, None);
        assert_eq!(left_out, []);
    }

    /// The chords of texts at these ticks off their quarters.
    fn form_off_beat(written: &[(i64, i64, &str)]) -> Form {
        let texts: Vec<_> =
            written.iter().map(|&(at, off, text)| (Ticks(quarters(at).0 + off), text.to_owned())).collect();
        let read = form_of_texts(&texts, &[], quarters(8), Trust::Any, BareSymbols::default());
        read.expect("a form").0
    }

    #[test]
    fn a_text_a_moment_off_a_beat_stands_on_it() {
        // Milliseconds at 120 quarters a minute.
        let ms = TICKS_PER_QUARTER / 500;
        let on_beat = form_off_beat(&[(0, 0, "Dm7"), (4, 0, "G7"), (6, 0, "Db7")]);
        assert_eq!(form_off_beat(&[(0, 20 * ms, "Dm7"), (4, -5 * ms, "G7"), (6, 20 * ms, "Db7")]), on_beat);
        let at_the_end = form_off_beat(&[(0, 0, "Dm7"), (8, -ms, "G7")]);
        assert_eq!(shown(&at_the_end)[2..], [(3, 8, 4, "G7")]);
    }

    #[test]
    fn a_push_stays_where_it_is() {
        let quarter = TICKS_PER_QUARTER;
        for push in [quarter / 8, quarter / 6, quarter / 4, quarter / 3, quarter / 2] {
            let form = form_off_beat(&[(0, 0, "Dm7"), (4, -push, "G7")]);
            assert_eq!(form.chords[1].start, Ticks(quarters(4).0 - push));
        }
    }

    #[test]
    fn meters_change_at_barlines() {
        let three_four = Meter::new(3, 4).expect("a meter");
        let (form, _) = form(&[(0, "C")], &[(quarters(4), three_four)], 8);
        let bars: Vec<_> = form.bars.iter().map(|bar| (bar.meter.to_string(), bar.start)).collect();
        let expect = [("4/4", 0), ("3/4", 4), ("3/4", 7)];
        assert_eq!(bars, expect.map(|(meter, at)| (meter.to_owned(), quarters(at))));
    }

    #[test]
    fn the_last_text_at_a_place_counts_and_symbols_stay_as_written() {
        let (form, _) = form(&[(0, "C"), (0, "E♭△ ")], &[], 4);
        assert_eq!(shown(&form), [(1, 0, 4, "E♭△")]);
    }

    #[test]
    fn texts_that_are_no_chords_are_left_out_by_name_or_refuse_the_track() {
        let mixed = [(0, "Dm7"), (1, "solo"), (2, "G7"), (4, "Cmaj7"), (6, " ")];
        let (_, left_out) = form(&mixed, &[], 8);
        let messages: Vec<String> = left_out.iter().map(TextLeftOut::to_string).collect();
        assert_eq!(messages, ["bar 1, beat 2.00: \"solo\" is no chord; left out"]);

        let words = texts(&[(0, "Dm7"), (1, "oh"), (2, "my")]);
        let read = |trust| form_of_texts(&words, &[], quarters(4), trust, BareSymbols::default());
        assert!(matches!(read(Trust::Any), Err(NoChordTexts::TooFew { chords: 1, texts: 3, .. })));
        assert!(read(Trust::in_track("chords")).is_ok());
        let none = form_of_texts(&[], &[], quarters(4), Trust::NamedChords, BareSymbols::default());
        assert_eq!(none, Err(NoChordTexts::Empty));
    }

    #[test]
    fn a_chord_at_the_very_end_has_a_bar_of_its_own() {
        let (form, _) = form(&[(0, "C"), (4, "F")], &[], 4);
        assert_eq!(shown(&form), [(1, 0, 4, "C"), (2, 4, 4, "F")]);
    }

    #[test]
    fn a_chord_for_each_beat_of_a_long_file_is_kept() {
        let written: Vec<(i64, &str)> =
            (0..60_000).map(|beat| (beat, ["Dm7", "G7"][beat as usize % 2])).collect();
        let (form, _) = form(&written, &[], 60_000);
        assert_eq!(form.chords.len(), written.len());
    }

    proptest! {
        #[test]
        fn chords_fill_the_bars_without_gap_or_overlap(
            chords in prop::collection::vec((0..200_000i64, prop::sample::select(vec!["C", "G7", "N.C.", "?", ""])), 0..40),
            meters in prop::collection::vec((0..200_000i64, 1..9u8), 0..5),
            end in 0..400_000i64,
        ) {
            let texts: Vec<_> = chords.iter().map(|&(at, text)| (Ticks(at), text.to_owned())).collect();
            let meters: Vec<_> = meters.iter().filter_map(|&(at, beats)| Some((Ticks(at), Meter::new(beats, 8)?))).collect();
            let read = form_of_texts(&texts, &meters, Ticks(end), Trust::NamedChords, BareSymbols::default());
            if let Ok((form, _)) = read {
                let mut at = Ticks::ZERO;
                for chord in &form.chords {
                    prop_assert_eq!(chord.start, at);
                    prop_assert!(chord.length > TickSpan::ZERO);
                    at += chord.length;
                }
                prop_assert_eq!(at - Ticks::ZERO, form.length());
                prop_assert!(at >= Ticks(end));
            }
        }
    }

    #[test]
    fn a_file_without_end_is_refused() {
        let texts = texts(&[(0, "C")]);
        let read = form_of_texts(&texts, &[], Ticks(i64::MAX / 2), Trust::Any, BareSymbols::default());
        assert_eq!(read, Err(NoChordTexts::TooLong));
    }
}
