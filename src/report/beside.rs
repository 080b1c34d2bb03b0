//! Two takes of one chart bar for bar, `barwise.beside`: what was played in each bar, and how the shares differ.

use schemars::JsonSchema;
use serde::Serialize;

use super::model::{BarMix, cells, mixes};
use super::number::{Count, percent};
use super::progress::words::points_between;
use super::progress::{CHANGE, NO_CLEAR_CHANGE};
use super::review::{ChordRecord, Review, ShareRecord, TOOL};
use super::table::{Column, Row, Table};
use crate::judge::Answer;
use crate::statistics::between_takes::{Cluster, compare};
use crate::tally::{Kind, Tally};

/// Two takes, bar for bar.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "barwise.beside")]
pub struct BesideDocument {
    /// `barwise.beside`
    pub schema: &'static str,
    /// Version of the document.
    pub version: u32,
    /// The program and its version.
    pub tool: &'static str,
    /// Title of the chart.
    pub chart: String,
    /// The take that was named first.
    pub first: TakeSide,
    /// The take beside it.
    pub second: TakeSide,
    /// How the shares differ, the second less the first; those of which both takes have notes.
    pub differences: Vec<DifferenceRecord>,
    /// Every bar that was played, all choruses together.
    pub bars: Vec<BesideBar>,
}

/// One of the takes.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TakeSide {
    /// Its number, where it is kept.
    pub take: Option<u32>,
    /// Its file, as it was named.
    pub file: Option<String>,
    /// Quarter notes a minute.
    pub tempo: f64,
    /// Notes counted.
    pub counted: Count,
    /// Chord tones.
    pub chord: ShareRecord,
}

/// How a share differs between the takes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DifferenceRecord {
    /// `chord`, `scale`, `outside`, `open` or `landings`.
    pub measure: &'static str,
    /// The second take's share less the first's.
    pub difference: f64,
    /// The lower end of its 95 % interval.
    pub low: f64,
    /// The upper end.
    pub high: f64,
    /// `change` where the interval excludes 0, else `no clear change`.
    pub finding: &'static str,
}

/// One bar.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BesideBar {
    /// Its number.
    pub bar: usize,
    /// The symbols that stand in it, as written.
    pub symbols: Vec<String>,
    /// The first take in it.
    pub first: BarMix,
    /// The second take in it.
    pub second: BarMix,
}

/// Says why two takes do not stand beside each other.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Differ {
    /// Other bars of the form.
    #[error("it is over bars {}-{}, the first over bars {}-{}; only the same bars stand beside each other", second.0, second.1, first.0, first.1)]
    Bars {
        /// First and last bar of the first take.
        first: (usize, usize),
        /// Those of the second.
        second: (usize, usize),
    },
    /// Other chords.
    #[error(
        "it is over other chords ({}; the first over {}), from bar {bar} on; only takes of one chart stand beside each other",
        named(second),
        named(first)
    )]
    Chords {
        /// The title of the first take's chart.
        first: String,
        /// That of the second's.
        second: String,
        /// The first bar that differs.
        bar: usize,
    },
}

fn named(title: &str) -> &str {
    if title.is_empty() { "a file without a title" } else { title }
}

/// The measures that are compared, in the order they are shown.
const MEASURES: [(&str, &[Kind]); 4] = [
    ("chord", &[Kind::Chord]),
    ("scale", &[Kind::Scale, Kind::Other]),
    ("outside", &[Kind::Outside]),
    ("open", &[Kind::Open]),
];

impl BesideDocument {
    /// The document of two takes over the same chords; they were judged with their chords told.
    pub fn new(first: &Answer, second: &Answer) -> Result<Self, Differ> {
        let symbols = same_symbols(&first.review, &second.review)?;
        let chart = &first.review.chart;
        let of_first = mixes(first, chart.first_bar, chart.bars);
        let of_second = mixes(second, chart.first_bar, chart.bars);
        let bars = (chart.first_bar..).zip(symbols).zip(of_first.into_iter().zip(of_second));
        let bar = |((bar, symbols), (first, second))| BesideBar { bar, symbols, first, second };
        Ok(Self {
            schema: "barwise.beside",
            version: 1,
            tool: TOOL,
            chart: chart.title.clone(),
            first: side(&first.review),
            second: side(&second.review),
            differences: differences(&first.tally, &second.tally),
            bars: bars.map(bar).collect(),
        })
    }

    /// The bars as rows: `a` is the take that was named first, `b` the one beside it.
    pub fn table(&self) -> Table {
        let counts = ["a c", "a s", "a x", "a ?", "a land", "b c", "b s", "b x", "b ?", "b land"];
        let columns = [Column::numbers("bar"), Column::words("chords")];
        let mut table = Table::new(columns.into_iter().chain(counts.map(Column::numbers)));
        for bar in &self.bars {
            let head = [bar.bar.to_string(), bar.symbols.join(" ")];
            let counts = cells(bar.first).chain(cells(bar.second));
            table.push(Row::new(head.into_iter().chain(counts).map(Into::into)));
        }
        table.note("c s x ?: chord, scale, outside, open; land: changes landed on, of those met; all choruses together.");
        for sentence in self.sentences() {
            table.note(sentence);
        }
        table
    }

    /// The two takes and how they differ.
    fn sentences(&self) -> Vec<String> {
        let sides = [("a", &self.first), ("b", &self.second)];
        let sides = sides.map(|(letter, side)| format!("{letter}: {}", side.words()));
        let differences = self.differences.iter().map(|difference| {
            let DifferenceRecord { measure, difference, low, high, finding } = *difference;
            format!("{measure}, b less a: {}  {finding}", points_between(difference, low, high))
        });
        sides.into_iter().chain(differences).collect()
    }

    /// The same in words, a line a bar.
    pub fn plain_lines(&self) -> Vec<String> {
        let line = |bar: &BesideBar| {
            let (a, b) = (mix_words(bar.first), mix_words(bar.second));
            format!("bar {} {}: a {a}; b {b}", bar.bar, bar.symbols.join(" "))
        };
        self.sentences().into_iter().chain(self.bars.iter().map(line)).collect()
    }
}

impl TakeSide {
    /// `take 14, tempo 132, 93 notes, chord tones 68 % (58-76)`.
    fn words(&self) -> String {
        let name = match (self.take, &self.file) {
            (Some(take), _) => format!("take {take}"),
            (None, Some(file)) => file.clone(),
            (None, None) => "a take".to_owned(),
        };
        let interval = self.chord.share.zip(self.chord.low).zip(self.chord.high);
        let share = interval.map_or_else(String::new, |((share, low), high)| {
            let [share, low, high] = [share, low, high].map(percent);
            format!(", chord tones {share} % ({low}-{high})")
        });
        format!("{name}, tempo {}, {} notes{share}", Count(self.tempo), self.counted)
    }
}

fn mix_words(mix: BarMix) -> String {
    if mix.counted.0 == 0.0 {
        return "no note".to_owned();
    }
    let parts = [(mix.chord, "chord"), (mix.scale, "scale"), (mix.outside, "outside"), (mix.open, "open")];
    let parts =
        parts.iter().filter(|(count, _)| count.0 > 0.0).map(|(count, word)| format!("{count} {word}"));
    let landed = (mix.changes > 0).then(|| format!("landed {} of {}", mix.landed, mix.changes));
    let counted = mix.counted.to_string();
    let notes = if counted == "1" { "note" } else { "notes" };
    format!("{counted} {notes}, {}", parts.chain(landed).collect::<Vec<_>>().join(", "))
}

fn side(review: &Review) -> TakeSide {
    TakeSide {
        take: review.source.take,
        file: review.source.file.clone(),
        tempo: review.chart.tempo,
        counted: review.totals.counted,
        chord: review.totals.chord.clone(),
    }
}

/// The symbols of each bar, or where the two are not over the same ones.
fn same_symbols(first: &Review, second: &Review) -> Result<Vec<Vec<String>>, Differ> {
    let bars = |review: &Review| (review.chart.first_bar, review.chart.last_bar());
    let (of_first, of_second) = (symbols(first), symbols(second));
    if bars(first) == bars(second) && of_first == of_second {
        let texts = |bar: Vec<(&str, f64)>| bar.into_iter().map(|(text, _)| text.to_owned()).collect();
        return Ok(of_first.into_iter().map(texts).collect());
    }
    if first.chart.title == second.chart.title && bars(first) != bars(second) {
        return Err(Differ::Bars { first: bars(first), second: bars(second) });
    }
    let same = of_first.iter().zip(&of_second).take_while(|(first, second)| first == second).count();
    Err(Differ::Chords {
        first: first.chart.title.clone(),
        second: second.chart.title.clone(),
        bar: first.chart.first_bar + same,
    })
}

/// The symbols of each bar of the first chorus, each with its beat.
fn symbols(review: &Review) -> Vec<Vec<(&str, f64)>> {
    let mut bars = vec![Vec::new(); review.chart.bars];
    let first_time = |chord: &&ChordRecord| chord.chorus == 1;
    for chord in review.chords.iter().flatten().filter(first_time) {
        if let Some(bar) = chord.bar.checked_sub(review.chart.first_bar).and_then(|index| bars.get_mut(index))
        {
            bar.push((chord.symbol.as_str(), chord.beat.0));
        }
    }
    bars
}

fn differences(first: &Tally, second: &Tally) -> Vec<DifferenceRecord> {
    let shares = MEASURES.iter().map(|&(measure, kinds)| {
        let cluster = |tally: &Tally| {
            let share = tally.mix.share_of(kinds);
            (share.n, share.of)
        };
        (measure, cluster(first), cluster(second))
    });
    let landings = |tally: &Tally| {
        let (hits, all) = tally.landings.rate();
        (hits as f64, all as f64)
    };
    let landings = [("landings", landings(first), landings(second))];
    shares.chain(landings).filter_map(|(measure, first, second)| difference(measure, first, second)).collect()
}

fn difference(measure: &'static str, first: Cluster, second: Cluster) -> Option<DifferenceRecord> {
    let compared = compare(&[first], &[second])?;
    Some(DifferenceRecord {
        measure,
        difference: compared.difference,
        low: compared.interval.low,
        high: compared.interval.high,
        finding: if compared.is_change() { CHANGE } else { NO_CLEAR_CHANGE },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demo;
    use crate::judge::replay::{HeardAgain, Wanted};
    use crate::judge::{Choices, Question, judge};
    use crate::report::review::Detail;

    /// A chorus of the demo, or some bars of it.
    fn chorus(number: u32, bars: Option<(usize, usize)>) -> Answer {
        let choices = Choices::default();
        let wanted = Wanted { bars, chorus: Some(number) };
        let again = HeardAgain::of(&demo::take().to_bytes(), wanted, &choices).expect("a chorus");
        let file = again.file(&choices).expect("a file");
        let question =
            Question { choices: &choices, chart: None, track: None, detail: Detail::Notes, bands: None };
        judge(&file, Some(format!("chorus {number}")), question).expect("a review")
    }

    #[test]
    fn bars_and_shares_are_those_of_the_reviews() {
        let (first, second) = (chorus(1, None), chorus(2, None));
        let beside = BesideDocument::new(&first, &second).expect("one chart");
        assert_eq!(beside.bars.len(), 16);
        let sum = |of: fn(&BesideBar) -> BarMix| beside.bars.iter().map(|bar| of(bar).chord.0).sum::<f64>();
        assert!((sum(|bar| bar.first) - first.review.totals.chord.n.0).abs() < 1e-9);
        assert!((sum(|bar| bar.second) - second.review.totals.chord.n.0).abs() < 1e-9);
        let share = |answer: &Answer| answer.review.totals.chord.share.expect("notes");
        let chord =
            beside.differences.iter().find(|difference| difference.measure == "chord").expect("notes");
        assert!((chord.difference - (share(&second) - share(&first))).abs() < 1e-9);
        assert!(chord.low < chord.difference && chord.difference < chord.high);
    }

    #[test]
    fn a_take_beside_itself_shows_no_clear_change() {
        let take = chorus(1, None);
        let beside = BesideDocument::new(&take, &take).expect("one chart");
        assert!(beside.differences.iter().all(|d| d.difference == 0.0 && d.finding == NO_CLEAR_CHANGE));
        let lines = beside.plain_lines();
        assert!(lines[0].starts_with("a: chorus 1, tempo 132, "), "{lines:?}");
        assert!(lines.iter().any(|line| line.starts_with("bar 6 Bb7: a ") && line.contains("; b ")));
    }

    #[test]
    fn other_bars_and_other_chords_are_refused() {
        let whole = chorus(1, None);
        let bars = BesideDocument::new(&whole, &chorus(1, Some((9, 12)))).map(|_| ());
        assert_eq!(bars, Err(Differ::Bars { first: (1, 16), second: (9, 12) }));
        let mut other = whole.clone();
        other.review.chart.title = "Elsewhere".to_owned();
        let chords = other.review.chords.as_mut().expect("chords");
        chords.iter_mut().filter(|chord| chord.bar == 5).for_each(|chord| chord.symbol = "F7".to_owned());
        let refused = BesideDocument::new(&whole, &other).map(|_| ()).map_err(|differ| differ.to_string());
        let said = "it is over other chords (Elsewhere; the first over Bus Shelter, Rain), from bar 5 on; \
                    only takes of one chart stand beside each other";
        assert_eq!(refused, Err(said.to_owned()));
    }
}
