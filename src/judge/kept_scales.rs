//! What a player keeps for chords of charts, and how it finds its chords again: in the chart it was kept for, in one that
//! was edited since, in another key. Pure.
//!
//! A chart is known by its title, a chord by its place on the page and its symbol, which may have moved as far as the
//! chart's key. Where another chord stands there now nothing wins; whoever shows the chart can say so.

use std::collections::BTreeMap;

use super::fingerprint;
use super::through_keys::key_of;
use crate::chart::header::key_text;
use crate::chart::{Chart, ChordPlace, Decided, Decisions, Form};
use crate::report::review::WarningRecord;
use crate::theory::chord::BareSymbols;
use crate::theory::{ChordSymbol, Key};

/// What is kept for one chord of a chart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeptScale {
    /// Title of the chart.
    pub title: String,
    /// SHA-256 of the text of the chart it was kept for, in hexadecimal.
    pub sha256: String,
    /// The key of that chart, if it is in one.
    pub chart_key: Option<Key>,
    /// The chord.
    pub place: ChordPlace,
    /// Its symbol as written.
    pub symbol: String,
    /// What is decided about it.
    pub decided: Decided,
}

impl KeptScale {
    /// What is to be kept for a chord of `chart`; `None` where none is written at `place`.
    pub fn of(chart: &Chart, place: ChordPlace, decided: Decided) -> Option<Self> {
        Some(Self {
            title: chart.title().to_owned(),
            sha256: fingerprint(chart.text().as_bytes()),
            chart_key: key_of(chart),
            place,
            symbol: chart.symbol_at(place)?.to_owned(),
            decided,
        })
    }

    /// How it reads where it is listed: `5.1 Bb7: lydian-dominant, in G`.
    pub fn words(&self) -> String {
        words(self.place, &self.symbol, &self.decided)
    }
}

fn words(place: ChordPlace, symbol: &str, decided: &Decided) -> String {
    let scale = decided.scale.as_ref().map(ToString::to_string);
    let key = decided.key.map(|key| format!("in {}", key_text(key)));
    let what: Vec<String> = scale.into_iter().chain(key).collect();
    format!("{place} {symbol}: {}", what.join(", "))
}

/// What a review says of the scales that are kept for chords of its form, if there are any.
pub(super) fn kept_warning(form: &Form) -> Option<WarningRecord> {
    let decided = form.chords.iter().filter(|chord| !chord.decided.is_nothing());
    let places: BTreeMap<ChordPlace, String> = decided
        .filter_map(|chord| Some((chord.place?, words(chord.place?, &chord.text, &chord.decided))))
        .collect();
    (!places.is_empty()).then(|| WarningRecord {
        code: WarningRecord::KEPT.to_owned(),
        message: format!(
            "Counted by what you keep for this chart: {}.",
            places.into_values().collect::<Vec<_>>().join("; ")
        ),
        bar: None,
    })
}

/// A chart as far as it takes to know chords again in it.
struct Page<'a> {
    chart: &'a Chart,
    sha256: String,
    key: Option<Key>,
}

impl Page<'_> {
    /// What is decided about the chord that `kept` is for, if it stands here.
    fn decided(&self, kept: &KeptScale) -> Option<Decided> {
        let symbol = self.chart.symbol_at(kept.place)?;
        if kept.sha256 == self.sha256 || kept.symbol == symbol {
            return Some(kept.decided.clone());
        }
        let (from, to) = (kept.chart_key?, self.key?);
        let read = |text| ChordSymbol::parse_with(text, BareSymbols::default()).ok();
        let (then, now) = (read(&kept.symbol)?, read(symbol)?);
        let distance = to.tonic.pitch_class().above(from.tonic.pitch_class());
        let moved = now.root.pitch_class().above(then.root.pitch_class()) == distance;
        let is_it = moved && now.quality == then.quality && from.mode == to.mode;
        is_it.then(|| kept.decided.clone().moved(from, to))
    }
}

/// Everything that is kept, by the titles of charts.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct KeptScales(BTreeMap<String, Vec<KeptScale>>);

impl FromIterator<KeptScale> for KeptScales {
    /// In the order it was kept: where two are for one chord the later one wins.
    fn from_iter<I: IntoIterator<Item = KeptScale>>(all: I) -> Self {
        let mut kept = Self::default();
        for one in all {
            kept.0.entry(one.title.clone()).or_default().push(one);
        }
        kept
    }
}

impl KeptScales {
    /// The chart with what is kept for its chords.
    #[must_use]
    pub fn on(&self, chart: Chart) -> Chart {
        if self.of_title(chart.title()).is_empty() {
            return chart;
        }
        let decisions = self.parted(&chart).0;
        chart.deciding(&decisions)
    }

    /// What is kept for a chart of this title and does not find its chord in this one.
    pub fn lost(&self, chart: &Chart) -> Vec<&KeptScale> {
        if self.of_title(chart.title()).is_empty() { Vec::new() } else { self.parted(chart).1 }
    }

    /// All that is kept for charts of this title: for one place, or for any.
    pub fn of_chart(&self, title: &str, place: Option<ChordPlace>) -> Vec<&KeptScale> {
        let is_there = |kept: &&KeptScale| place.is_none_or(|place| kept.place == place);
        self.of_title(title).iter().filter(is_there).collect()
    }

    fn parted(&self, chart: &Chart) -> (Decisions, Vec<&KeptScale>) {
        let page = Page { chart, sha256: fingerprint(chart.text().as_bytes()), key: key_of(chart) };
        let (mut found, mut lost) = (Decisions::new(), Vec::new());
        for kept in self.of_title(chart.title()) {
            match page.decided(kept) {
                Some(decided) => _ = found.insert(kept.place, decided),
                None => lost.push(kept),
            }
        }
        (found, lost)
    }

    fn of_title(&self, title: &str) -> &[KeptScale] {
        self.0.get(title).map(Vec::as_slice).unwrap_or_default()
    }

    /// The same with one more.
    #[must_use]
    pub fn with(mut self, kept: KeptScale) -> Self {
        self.0.entry(kept.title.clone()).or_default().push(kept);
        self
    }

    /// The titles of the charts that something is kept for, each with a fingerprint of it.
    pub fn prints(&self) -> impl Iterator<Item = (&str, String)> {
        self.0.iter().map(|(title, kept)| {
            let one = |kept: &KeptScale| {
                let key = kept.chart_key.map(key_text).unwrap_or_default();
                format!("{} {key} {}\n", kept.sha256, kept.words())
            };
            (title.as_str(), fingerprint(kept.iter().map(one).collect::<String>().as_bytes()))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chart(text: &str) -> Chart {
        let text = format!("title: T\n{text}");
        Chart::parse("a.bars", &text, BareSymbols::default()).expect("a chart").0
    }

    fn kept(chart: &Chart, bar: usize, scale: &str) -> KeptScale {
        let decided = Decided { scale: Some(scale.parse().expect("a scale")), key: None };
        KeptScale::of(chart, ChordPlace { bar, chord: 1 }, decided).expect("a chord")
    }

    /// The places and scales that win in a chart, and those that do not find their chord.
    fn check(kept: &KeptScales, text: &str, wins: &[&str], lost: &[&str]) {
        let chart = kept.on(chart(text));
        let won: Vec<String> = chart
            .decisions()
            .into_iter()
            .map(|(place, decided)| format!("{place} {}", decided.scale.expect("a scale")))
            .collect();
        assert_eq!(won, wins, "{text}");
        let gone: Vec<String> = kept.lost(&chart).into_iter().map(KeptScale::words).collect();
        assert_eq!(gone, lost, "{text}");
    }

    #[test]
    fn a_chord_is_found_again_by_its_place_and_symbol() {
        let own = chart("key: C\n| Dm7 | G7 | Cmaj7 |");
        let scales: KeptScales =
            [kept(&own, 2, "altered"), kept(&own, 3, "lydian"), kept(&own, 2, "harmonic-minor-of-C")]
                .into_iter()
                .collect();
        let wins = ["2.1 harmonic-minor-of-C", "3.1 lydian"];
        check(&scales, "key: C\n| Dm7 | G7 | Cmaj7 |", &wins, &[]);
        check(&scales, "key: C\ntempo: 90\n| Dm7 | G7 | Cmaj7 | % |", &wins, &[]);
        let moved = ["2.1 harmonic-minor-of-Eb", "3.1 lydian"];
        check(&scales, "key: Eb\n| Fm7 | Bb7 | Ebmaj7 |", &moved, &[]);
        let lost = ["2.1 G7: altered", "2.1 G7: harmonic-minor-of-C"];
        check(&scales, "key: C\n| Dm7 | Db7 | Cmaj7 |", &["3.1 lydian"], &lost);
    }

    #[test]
    fn another_title_is_another_chart() {
        let own = chart("| Dm7 | G7 |");
        let scales: KeptScales = [kept(&own, 2, "altered")].into_iter().collect();
        let (other, _) = Chart::parse("b.bars", "| Dm7 | G7 |", BareSymbols::default()).expect("a chart");
        assert!(scales.on(other.clone()).decisions().is_empty());
        assert!(scales.lost(&other).is_empty());
        let more = scales.clone().with(kept(&own, 1, "dorian"));
        assert_ne!(scales.prints().collect::<Vec<_>>(), more.prints().collect::<Vec<_>>());
    }

    #[test]
    fn only_a_chord_can_be_kept_for() {
        let place = ChordPlace { bar: 2, chord: 1 };
        assert_eq!(KeptScale::of(&chart("| Dm7 | N.C. |"), place, Decided::default()), None);
    }
}
