//! What the flags' values mean: each kind of value with its range, and what to type instead where it is none.

use std::ffi::OsString;
use std::path::PathBuf;
use std::str::FromStr;

use jiff::civil::Date;

use crate::band::Seed;
use crate::chart::ChordPlace;
use crate::theory::scale::NoScale;
use crate::theory::{Key, ScaleRequest};

/// The slowest and the fastest tempo, in quarter notes a minute; tunes are played between 50 and 320 (common practice).
const TEMPOS: std::ops::RangeInclusive<f64> = 20.0..=400.0;

/// The most choruses of one take.
const MOST_CHORUSES: u32 = 999;

/// The greatest bar number that is read; no chart has as many.
const LAST_BAR: usize = 9999;

/// Why a value is not taken.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotTaken {
    /// No bar number.
    #[error("bars are counted 1, 2, 3 to {LAST_BAR}: write a number, as in 9")]
    Bar,
    /// No range of bars.
    #[error("write the first and the last bar, as in 5-8")]
    Bars,
    /// A range that ends before it begins.
    #[error("the first bar stands first: {last}-{first}")]
    BarsBackwards {
        /// The bar written first.
        first: usize,
        /// The bar written last.
        last: usize,
    },
    /// No tempo, or none that is played.
    #[error("a tempo is quarter notes a minute, {slowest} to {fastest}, as in 120, or next", slowest = TEMPOS.start(), fastest = TEMPOS.end())]
    Tempo,
    /// No number of choruses.
    #[error("choruses are 1 to {MOST_CHORUSES}, as in 3")]
    Choruses,
    /// No note's place.
    #[error("write the bar and which of its notes, as in 9.4, the fourth note of bar 9")]
    NotePlace,
    /// No scale for a chord.
    #[error("write the bar, which of its chords, and the scale, as in 5.1=altered")]
    ScaleFor,
    /// A scale that is not known.
    #[error(transparent)]
    Scale(#[from] NoScale),
    /// No number of a take.
    #[error("takes have numbers, as barwise takes lists them: write one, as in 14, or last")]
    Take,
    /// No day.
    #[error("write a day as year-month-day, as in 2026-11-25")]
    Day,
    /// No seed.
    #[error("a seed is a whole number from 0, as in 7")]
    Seed,
    /// No time in milliseconds.
    #[error("milliseconds are a number from -500 to 500, as in 24.5")]
    Milliseconds,
}

/// One of the takes that are kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TakeChoice {
    /// The one played last.
    Last,
    /// The one with this number.
    Number(u32),
}

/// Reads `14` or `last`.
impl FromStr for TakeChoice {
    type Err = NotTaken;

    fn from_str(text: &str) -> Result<Self, NotTaken> {
        if text == "last" {
            return Ok(Self::Last);
        }
        text.parse().map(Self::Number).map_err(|_| NotTaken::Take)
    }
}

/// A day of the calendar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Day(Date);

impl Day {
    /// The day.
    pub const fn date(self) -> Date {
        self.0
    }
}

/// Reads `2026-11-25`.
impl FromStr for Day {
    type Err = NotTaken;

    fn from_str(text: &str) -> Result<Self, NotTaken> {
        Date::strptime("%Y-%m-%d", text).map(Self).map_err(|_| NotTaken::Day)
    }
}

/// Where a chart is to be read from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ChartSource {
    /// Standard input, written `-`.
    Stdin,
    /// A file, or else the chart of that name that ships with the program.
    Named(PathBuf),
    /// The chart that a take or an assignment carries; no command line names one.
    Carried {
        /// What it is called.
        name: String,
        /// Its text.
        text: String,
    },
}

impl From<OsString> for ChartSource {
    fn from(written: OsString) -> Self {
        if written == "-" { Self::Stdin } else { Self::Named(written.into()) }
    }
}

/// A bar of the form, from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct BarNumber(usize);

impl BarNumber {
    /// The number, from 1.
    pub const fn get(self) -> usize {
        self.0
    }
}

impl FromStr for BarNumber {
    type Err = NotTaken;

    fn from_str(text: &str) -> Result<Self, NotTaken> {
        let number = text.parse().ok().filter(|number| (1..=LAST_BAR).contains(number));
        number.map(Self).ok_or(NotTaken::Bar)
    }
}

/// Neighbouring bars of the form, the last one included.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BarRange {
    first: BarNumber,
    last: BarNumber,
}

impl BarRange {
    /// The first bar.
    pub const fn first(self) -> BarNumber {
        self.first
    }

    /// The last bar, not before the first.
    pub const fn last(self) -> BarNumber {
        self.last
    }
}

/// Reads `5-8`, or `5` for that bar alone.
impl FromStr for BarRange {
    type Err = NotTaken;

    fn from_str(text: &str) -> Result<Self, NotTaken> {
        let (first, last) = text.split_once('-').unwrap_or((text, text));
        let bar = |text: &str| text.parse::<BarNumber>().map_err(|_| NotTaken::Bars);
        let (first, last) = (bar(first)?, bar(last)?);
        if first <= last {
            Ok(Self { first, last })
        } else {
            Err(NotTaken::BarsBackwards { first: first.get(), last: last.get() })
        }
    }
}

/// A tempo in quarter notes a minute, within what is played.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tempo(f64);

impl Tempo {
    /// Quarter notes a minute.
    pub const fn bpm(self) -> f64 {
        self.0
    }
}

impl FromStr for Tempo {
    type Err = NotTaken;

    fn from_str(text: &str) -> Result<Self, NotTaken> {
        let bpm = text.parse().ok().filter(|bpm| TEMPOS.contains(bpm));
        bpm.map(Self).ok_or(NotTaken::Tempo)
    }
}

/// Which tempo is to be played.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TempoChoice {
    /// This one.
    Bpm(Tempo),
    /// The one that the takes of before lead to.
    Next,
}

/// Reads `120` or `next`.
impl FromStr for TempoChoice {
    type Err = NotTaken;

    fn from_str(text: &str) -> Result<Self, NotTaken> {
        if text == "next" { Ok(Self::Next) } else { text.parse().map(Self::Bpm) }
    }
}

/// How often the form is played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Choruses(u32);

impl Choruses {
    /// How often, from 1.
    pub const fn get(self) -> u32 {
        self.0
    }
}

impl FromStr for Choruses {
    type Err = NotTaken;

    fn from_str(text: &str) -> Result<Self, NotTaken> {
        let choruses = text.parse().ok().filter(|choruses| (1..=MOST_CHORUSES).contains(choruses));
        choruses.map(Self).ok_or(NotTaken::Choruses)
    }
}

impl FromStr for Seed {
    type Err = NotTaken;

    fn from_str(text: &str) -> Result<Self, NotTaken> {
        text.parse().map(Self).map_err(|_| NotTaken::Seed)
    }
}

/// A time in milliseconds, within what the setting `offset-ms` takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Milliseconds(f64);

impl Milliseconds {
    /// Milliseconds.
    pub const fn get(self) -> f64 {
        self.0
    }
}

impl FromStr for Milliseconds {
    type Err = NotTaken;

    fn from_str(text: &str) -> Result<Self, NotTaken> {
        let time = text.parse().ok().filter(|time: &f64| time.abs() <= 500.0);
        time.map(Self).ok_or(NotTaken::Milliseconds)
    }
}

/// One of the notes of a bar, by its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotePlace {
    /// The bar.
    pub bar: BarNumber,
    /// Which of its notes, from 1.
    pub note: usize,
}

/// Reads `9.4`.
impl FromStr for NotePlace {
    type Err = NotTaken;

    fn from_str(text: &str) -> Result<Self, NotTaken> {
        let (bar, note) = place(text).ok_or(NotTaken::NotePlace)?;
        Ok(Self { bar, note })
    }
}

/// A scale set for one of the chords of a bar.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ScaleFor {
    /// The bar.
    pub bar: BarNumber,
    /// Which of its chords, from 1.
    pub chord: usize,
    /// The scale.
    pub scale: ScaleRequest,
}

impl ScaleFor {
    /// The chord.
    pub const fn place(&self) -> ChordPlace {
        ChordPlace { bar: self.bar.get(), chord: self.chord }
    }
}

/// Reads `5.1=altered`.
impl FromStr for ScaleFor {
    type Err = NotTaken;

    fn from_str(text: &str) -> Result<Self, NotTaken> {
        let (chord, scale) = text.split_once('=').ok_or(NotTaken::ScaleFor)?;
        let (bar, chord) = place(chord).ok_or(NotTaken::ScaleFor)?;
        Ok(Self { bar, chord, scale: scale.parse()? })
    }
}

/// A key set for one of the chords of a bar.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyFor {
    /// The chord.
    pub place: ChordPlace,
    /// The key it is heard in.
    pub key: Key,
}

/// Reads `9.1=G`.
impl FromStr for KeyFor {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let as_written =
            || "write the bar, which of its chords, and the key, as in 9.1=G or 9.1=F#m".to_owned();
        let (chord, key) = text.split_once('=').ok_or_else(as_written)?;
        let (bar, chord) = place(chord).ok_or_else(as_written)?;
        let place = ChordPlace { bar: bar.get(), chord };
        Ok(Self { place, key: key.parse().map_err(|error: crate::theory::key::NoKey| error.to_string())? })
    }
}

/// A chord of the page, or all of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Chords {
    /// Every one.
    All,
    /// This one.
    One(ChordPlace),
}

/// Reads `5.1` or `all`.
impl FromStr for Chords {
    type Err = &'static str;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        if text == "all" {
            return Ok(Self::All);
        }
        let (bar, chord) = place(text).ok_or("write the bar and which of its chords, as in 5.1, or all")?;
        Ok(Self::One(ChordPlace { bar: bar.get(), chord }))
    }
}

/// Reads a bar and which of its things is meant: `9.4`.
fn place(text: &str) -> Option<(BarNumber, usize)> {
    let (bar, nth) = text.split_once('.')?;
    let nth = nth.parse().ok().filter(|&nth| nth >= 1)?;
    Some((bar.parse().ok()?, nth))
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use clap::{Args, CommandFactory, Parser};
    use proptest::prelude::*;

    /// The arguments of one command on a command line of their own; `--json` stands for the flag all commands share.
    #[derive(Debug, Parser)]
    struct Alone<A: Args> {
        #[command(flatten)]
        args: A,
        #[arg(long)]
        json: bool,
    }

    fn read<A: Args>(line: &[&str]) -> Result<A, clap::Error> {
        Alone::<A>::command().debug_assert();
        Alone::try_parse_from([&["barwise"], line].concat()).map(|alone| alone.args)
    }

    /// The arguments that `line` gives.
    pub fn parsed<A: Args>(line: &[&str]) -> A {
        read(line).unwrap_or_else(|error| panic!("{error}"))
    }

    /// What is said about a line that is not taken.
    pub fn refused<A: Args>(line: &[&str]) -> String {
        read::<A>(line).map_or_else(|error| error.to_string(), |_| format!("{line:?} is taken"))
    }

    fn no<T: FromStr<Err = NotTaken>>(text: &str) -> String {
        match text.parse::<T>() {
            Ok(_) => format!("{text:?} is taken"),
            Err(error) => error.to_string(),
        }
    }

    #[test]
    fn bars_count_from_one() {
        assert_eq!("9".parse(), Ok(BarNumber(9)));
        for text in ["0", "-1", "10000", "nine", ""] {
            assert_eq!(no::<BarNumber>(text), "bars are counted 1, 2, 3 to 9999: write a number, as in 9");
        }
    }

    #[test]
    fn a_range_of_bars_runs_forwards() {
        let range =
            |text: &str| text.parse::<BarRange>().map(|range| (range.first().get(), range.last().get()));
        assert_eq!(range("5-8"), Ok((5, 8)));
        assert_eq!(range("5"), Ok((5, 5)));
        assert_eq!(no::<BarRange>("9-4"), "the first bar stands first: 4-9");
        for text in ["0-4", "5-", "-", "a-b", "1-2-3"] {
            assert_eq!(no::<BarRange>(text), "write the first and the last bar, as in 5-8");
        }
    }

    #[test]
    fn a_tempo_is_one_that_is_played() {
        assert_eq!("132".parse::<Tempo>().map(Tempo::bpm), Ok(132.0));
        assert_eq!("115.5".parse::<Tempo>().map(Tempo::bpm), Ok(115.5));
        for text in ["0", "999", "-120", "NaN", "inf", "fast"] {
            assert_eq!(no::<Tempo>(text), "a tempo is quarter notes a minute, 20 to 400, as in 120, or next");
        }
    }

    #[test]
    fn choruses_and_milliseconds_have_their_ranges() {
        assert_eq!("3".parse(), Ok(Choruses(3)));
        assert_eq!(no::<Choruses>("0"), "choruses are 1 to 999, as in 3");
        assert_eq!("-24.5".parse::<Milliseconds>().map(Milliseconds::get), Ok(-24.5));
        assert_eq!(no::<Milliseconds>("501"), NotTaken::Milliseconds.to_string());
        assert_eq!(no::<Milliseconds>("NaN"), NotTaken::Milliseconds.to_string());
    }

    #[test]
    fn takes_are_named_by_number_or_as_the_last() {
        assert_eq!("14".parse(), Ok(TakeChoice::Number(14)));
        assert_eq!("last".parse(), Ok(TakeChoice::Last));
        for text in ["", "first", "-1", "99999999999", "LAST"] {
            assert_eq!(no::<TakeChoice>(text), NotTaken::Take.to_string());
        }
    }

    #[test]
    fn a_day_is_year_month_and_day() {
        assert_eq!(
            "2026-11-25".parse::<Day>().map(|day| day.date().to_string()),
            Ok("2026-11-25".to_owned())
        );
        for text in ["foo", "", "25.11.2026", "2026-02-30", "2026-11", "2026-11-25T10:00", "yesterday"] {
            assert_eq!(no::<Day>(text), "write a day as year-month-day, as in 2026-11-25");
        }
    }

    #[test]
    fn places_are_a_bar_and_a_number() {
        assert_eq!("9.4".parse(), Ok(NotePlace { bar: BarNumber(9), note: 4 }));
        for text in ["9", "9.0", "0.1", ".4", "9.4.1"] {
            assert_eq!(no::<NotePlace>(text), NotTaken::NotePlace.to_string());
        }
    }

    #[test]
    fn scales_are_set_for_a_chord_of_a_bar() {
        let altered = ScaleFor { bar: BarNumber(5), chord: 1, scale: "altered".parse().expect("a scale") };
        assert_eq!("5.1=altered".parse(), Ok(altered));
        assert_eq!(no::<ScaleFor>("5.1"), NotTaken::ScaleFor.to_string());
        assert!(no::<ScaleFor>("5.1=dorain").contains("dorian"));
    }

    #[test]
    fn a_hyphen_is_standard_input_and_all_else_a_name() {
        assert_eq!(ChartSource::from(OsString::from("-")), ChartSource::Stdin);
        assert_eq!(ChartSource::from(OsString::from("a.bars")), ChartSource::Named("a.bars".into()));
    }

    proptest! {
        #[test]
        fn any_text_is_taken_or_refused(text in ".{0,20}") {
            let _ = (text.parse::<BarRange>(), text.parse::<Tempo>(), text.parse::<NotePlace>(), text.parse::<ScaleFor>());
            let _ = (text.parse::<Day>(), text.parse::<TakeChoice>());
        }
    }
}
