//! The page: a tune laid out for the screen once, before it is played. It does not change while the clock runs.

use std::sync::Arc;

use crate::chart::header::key_text;
use crate::chart::{Form, Turn, Turns};
use crate::harmony::{Centre, Changes, Reading};
use crate::report::review::written_for;
use crate::theory::{ChordSymbol, KeyMode, PitchClass, Scale, Written};
use crate::time::{Meter, TickSpan, Ticks};

/// What stands above the chart.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Heading {
    /// The title.
    pub title: String,
    /// The key, as the header of the chart has it; empty without one. Where the tune goes through keys that of the chorus.
    pub key: String,
    /// Whose names stand on the page.
    pub written: Written,
    /// The key of the chorus that follows, where the tune goes through keys.
    pub next_key: Option<String>,
    /// Feel and tempo: `swing 132`.
    pub feel_and_tempo: String,
    /// Times through.
    pub choruses: u16,
    /// The number the take will have, where it is known.
    pub take: Option<u32>,
    /// What is to be read before anything sounds.
    pub caution: Option<&'static str>,
    /// What is asked of the player beside the chart, where something is.
    pub task: Option<String>,
    /// Whose bars are whose.
    pub turns: Turns,
}

impl Heading {
    /// Feel and tempo, and whose names stand on the page where they are not in concert pitch: `swing 132   written for Bb`.
    pub fn feel_tempo_and_written(&self) -> String {
        let parts = [Some(self.feel_and_tempo.clone()), written_for(self.written)];
        parts.into_iter().flatten().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("   ")
    }
}

/// A tune, laid out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Page {
    /// What stands above it.
    pub heading: Heading,
    /// The bars in the order they are played.
    pub bars: Vec<PageBar>,
    /// The chords in the order they are played.
    pub chords: Vec<PageChord>,
    /// Lines of up to four bars.
    pub lines: Vec<PageLine>,
    /// Where the tune goes through keys, the page of each chorus; [`Self::of_chorus`] chooses among them.
    in_keys: Vec<Self>,
    /// The chords of the chorus that follows, where they are others.
    following: Vec<PageChord>,
}

/// One bar.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PageBar {
    /// Its number in the form, from 1.
    pub number: usize,
    /// Its start in the form.
    pub start: Ticks,
    /// Its meter.
    pub meter: Meter,
    /// Its chords, as indices into [`Page::chords`].
    pub chords: std::ops::Range<usize>,
}

/// One chord, with all that may be said of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PageChord {
    /// Its start in the form.
    pub start: Ticks,
    /// The symbol as written.
    pub text: String,
    /// The function, short: `ii`, `V7/ii`.
    pub function: String,
    /// The scale in force: `F dorian`.
    pub scale: String,
    /// The chord tones, each as a degree and as a note name.
    pub tones: Vec<Tone>,
    /// The guide tones.
    pub guides: Vec<Tone>,
    /// The chord and the scale themselves, where a chord sounds.
    pub sounding: Option<(ChordSymbol, Scale)>,
}

/// A tone under both its names.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tone {
    /// `b3`
    pub degree: String,
    /// `Ab`
    pub name: String,
}

/// A line of bars.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PageLine {
    /// The letter in the margin, where a section begins.
    pub label: String,
    /// Its bars, as indices into [`Page::bars`].
    pub bars: std::ops::Range<usize>,
    /// The key, where it is not the one of the line above: `key Eb`.
    pub key: String,
}

/// Bars in a line, as on paper.
const BARS_IN_A_LINE: usize = 4;

impl Page {
    /// Lays out a form with what it was found to mean.
    pub fn new(form: &Form, reading: &Reading, heading: Heading) -> Self {
        let bars: Vec<PageBar> = (0..form.bars.len()).map(|i| page_bar(form, i)).collect();
        let chords = (0..form.chords.len()).map(|i| page_chord(form, reading, i)).collect();
        let lines = lines(form, reading, &bars);
        Self { heading, bars, chords, lines, in_keys: Vec::new(), following: Vec::new() }
    }

    /// The page of a tune that goes through keys; these are the changes of each chorus. Without any it stays as it is.
    #[must_use]
    pub fn in_keys(self, each: &[Arc<Changes>]) -> Self {
        let page = |changes: &Arc<Changes>| {
            let heading = Heading { key: key_text(changes.key), ..self.heading.clone() };
            Self::new(&changes.form, &changes.reading, heading)
        };
        let mut pages: Vec<Self> = each.iter().map(page).collect();
        let next: Vec<(String, Vec<PageChord>)> = pages
            .iter()
            .cycle()
            .skip(1)
            .take(pages.len())
            .map(|page| (page.heading.key.clone(), page.chords.clone()))
            .collect();
        for (page, (key, chords)) in pages.iter_mut().zip(next) {
            page.heading.next_key = Some(key);
            page.following = chords;
        }
        Self { in_keys: pages, ..self }
    }

    /// The page of a chorus (from 1).
    pub fn of_chorus(&self, chorus: u16) -> &Self {
        let nth = usize::from(chorus.saturating_sub(1)).checked_rem(self.in_keys.len());
        nth.and_then(|nth| self.in_keys.get(nth)).unwrap_or(self)
    }

    /// The key of the chorus in words, where the tune goes through keys: `  key Db`.
    pub fn key_of_chorus(&self) -> String {
        self.heading.next_key.as_ref().map_or_else(String::new, |_| format!("  key {}", self.heading.key))
    }

    /// The key that comes, where it is another one and bar `bar` is the last before it.
    pub fn key_ahead(&self, bar: usize, then: AfterTheLastBar) -> Option<&str> {
        let is_last = bar + 1 == self.bars.len() && then == AfterTheLastBar::Again;
        self.heading.next_key.as_deref().filter(|key| is_last && *key != self.heading.key)
    }

    /// The bar sounding at `at`; the last one after the end. `None` without bars.
    pub fn bar_at(&self, at: Ticks) -> Option<usize> {
        let after = self.bars.partition_point(|bar| bar.start <= at);
        (!self.bars.is_empty()).then(|| after.saturating_sub(1))
    }

    /// The chord sounding at `at`; the last one after the end. `None` without chords.
    pub fn chord_at(&self, at: Ticks) -> Option<usize> {
        let after = self.chords.partition_point(|chord| chord.start <= at);
        (!self.chords.is_empty()).then(|| after.saturating_sub(1))
    }

    /// How long one time through lasts.
    pub fn length(&self) -> TickSpan {
        self.bars.last().map_or(TickSpan::ZERO, |bar| bar.start + bar.meter.bar() - Ticks::ZERO)
    }

    /// Which bars are played: `16` where it is all of so many, else from where to where, `9-12`.
    pub fn bars_played(&self) -> String {
        let numbers =
            self.bars.first().zip(self.bars.last()).map(|(first, last)| (first.number, last.number));
        match numbers {
            Some((1, last)) => last.to_string(),
            Some((first, last)) => format!("{first}-{last}"),
            None => "0".to_owned(),
        }
    }

    /// Whose bar `bar` is in `chorus`.
    pub fn turn(&self, chorus: u16, bar: usize) -> Turn {
        self.heading.turns.whose(chorus.into(), bar, self.bars.len())
    }

    /// Where each chord of bar `bar` stands inside so many columns, how much room it has, and which chord it is.
    pub fn places(&self, bar: usize, inside: u16) -> Vec<(u16, u16, usize)> {
        let bar = &self.bars[bar];
        let column = |chord: usize| {
            let into = self.chords[chord].start - bar.start;
            (into.0 * i64::from(inside) / bar.meter.bar().0.max(1)) as u16
        };
        let ends = |chord: usize| {
            let is_last = chord + 1 == bar.chords.end;
            if is_last { inside } else { column(chord + 1).saturating_sub(1) }
        };
        let room = |chord: usize| (column(chord), ends(chord).saturating_sub(column(chord)), chord);
        bar.chords.clone().map(room).collect()
    }

    /// The line that holds bar `bar`.
    pub fn line_of(&self, bar: usize) -> usize {
        self.lines.iter().position(|line| line.bars.contains(&bar)).unwrap_or(0)
    }

    /// The next chord of another symbol after chord `from`, in this chorus or (where the tune goes on) the next, and how far
    /// its start is from the start of this chorus.
    pub fn next_chord(&self, from: usize, then: AfterTheLastBar) -> Option<(&PageChord, Ticks)> {
        let other = |chord: &&PageChord| chord.text != self.chords[from].text;
        let here = self.chords[from + 1..].iter().find(other).map(|chord| (chord, chord.start));
        let next = if self.following.is_empty() { &self.chords[..=from] } else { &self.following[..] };
        let again = || next.iter().find(other).map(|chord| (chord, chord.start + self.length()));
        match then {
            AfterTheLastBar::Again => here.or_else(again),
            AfterTheLastBar::End => here,
        }
    }
}

/// What follows the last bar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AfterTheLastBar {
    /// The first bar again.
    Again,
    /// The closing tonic.
    End,
}

fn page_bar(form: &Form, i: usize) -> PageBar {
    let first = form.chords.partition_point(|chord| chord.bar < i);
    let after = form.chords.partition_point(|chord| chord.bar <= i);
    let bar = &form.bars[i];
    PageBar { number: bar.number, start: bar.start, meter: bar.meter, chords: first..after }
}

fn page_chord(form: &Form, reading: &Reading, i: usize) -> PageChord {
    let chord = &form.chords[i];
    let read = reading.chords.get(i).and_then(Option::as_ref);
    let tones = |of: fn(ChordSymbol) -> Vec<PitchClass>| {
        chord.symbol.map_or_else(Vec::new, |symbol| of(symbol).into_iter().map(|p| tone(symbol, p)).collect())
    };
    PageChord {
        start: chord.start,
        text: chord.text.clone(),
        function: read.map_or_else(String::new, |read| short(&read.function)),
        scale: read.map_or_else(String::new, |read| read.scale.to_string()),
        tones: tones(ChordSymbol::tones),
        guides: tones(ChordSymbol::guide_tones),
        sounding: chord.symbol.zip(read.map(|read| read.scale.clone())),
    }
}

fn tone(symbol: ChordSymbol, pitch_class: PitchClass) -> Tone {
    Tone { degree: symbol.degree_of(pitch_class).to_string(), name: symbol.spell(pitch_class).to_string() }
}

/// A function without its suffix: `ii-7/IV` is `ii/IV`, `V7/V (unresolved)` is `V7/V`. Of a double one the half that
/// lies in the key stands (`iii-7 = ii-7/ii` is `iii`), else the ii.
fn short(function: &str) -> String {
    if function.starts_with("(modal)") {
        return String::new();
    }
    let without_remark = function.split(" (").next().unwrap_or(function);
    let half = match without_remark.split_once(" = ") {
        Some((first, second)) if first.starts_with(['b', '#']) => second,
        Some((first, _)) => first,
        None => without_remark,
    };
    let (numeral, target) = half.split_once('/').map_or((half, None), |(n, target)| (n, Some(target)));
    let suffix_at = numeral.find(|c: char| !"subIiVv#b".contains(c)).unwrap_or(numeral.len());
    let (numeral, suffix) = numeral.split_at(suffix_at);
    let kept = ["7", "°7"].into_iter().find(|kept| suffix.starts_with(kept)).unwrap_or("");
    let target = target.map_or_else(String::new, |target| format!("/{target}"));
    format!("{numeral}{kept}{target}")
}

fn lines(form: &Form, reading: &Reading, bars: &[PageBar]) -> Vec<PageLine> {
    let mut lines: Vec<PageLine> = Vec::new();
    let mut last_key = String::new();
    for (i, bar) in bars.iter().enumerate() {
        let label = form.bars[i].label.clone();
        let room = lines.last().is_some_and(|line| line.bars.len() < BARS_IN_A_LINE);
        match lines.last_mut() {
            Some(line) if room && label.is_none() => line.bars.end = i + 1,
            _ => {
                let key = key_at(reading, bar).filter(|key| *key != last_key);
                last_key = key.clone().unwrap_or(last_key);
                lines.push(PageLine {
                    label: label.unwrap_or_default(),
                    bars: i..i + 1,
                    key: key.unwrap_or_default(),
                });
            }
        }
    }
    lines
}

/// The key of a bar's first chord: `key Eb`, `key Gm`, `F blues`, `modal`.
fn key_at(reading: &Reading, bar: &PageBar) -> Option<String> {
    let read = reading.chords.get(bar.chords.clone())?.iter().flatten().next()?;
    Some(match read.centre {
        Centre::Modal => "modal".to_owned(),
        Centre::Key(key) => match key.mode {
            KeyMode::Major => format!("key {}", key.tonic),
            KeyMode::Minor => format!("key {}m", key.tonic),
            KeyMode::Blues => format!("{} blues", key.tonic),
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::tests::{form, reading};

    #[test]
    fn functions_lose_their_suffix() {
        let check = |full, wanted| assert_eq!(short(full), wanted, "{full}");
        check("Imaj7", "I");
        check("ii-7/IV", "ii/IV");
        check("iv-7", "iv");
        check("bVII7 (backdoor)", "bVII7");
        check("V7/V (unresolved)", "V7/V");
        check("V7alt", "V7");
        check("subV7/ii", "subV7/ii");
        check("iii-7 = ii-7/ii", "iii");
        check("#ivø7 = iiø7/iii", "ii/iii");
        check("#I°7", "#I°7");
        check("(modal) Dm7", "");
        check("", "");
    }

    fn page(chords: &str) -> Page {
        let form = form(chords);
        Page::new(&form, &reading(&form), Heading::default())
    }

    #[test]
    fn the_next_chord_is_another_one_and_may_lie_in_the_next_chorus() {
        let page = page("Dm7 | Dm7 | G7 | G7");
        let next = |from, then| page.next_chord(from, then).map(|(chord, at)| (chord.text.as_str(), at));
        let bar = |n: i64| Ticks::ZERO + TickSpan::quarters(4 * n);
        assert_eq!(next(0, AfterTheLastBar::End), Some(("G7", bar(2))));
        assert_eq!(next(2, AfterTheLastBar::End), None);
        assert_eq!(next(2, AfterTheLastBar::Again), Some(("Dm7", bar(4))));
    }

    #[test]
    fn lines_hold_four_bars_and_break_where_a_section_begins() {
        let mut form = form("C | C | C | C | C | C | C");
        form.bars[5].label = Some("B".to_owned());
        let page = Page::new(&form, &reading(&form), Heading::default());
        let bars: Vec<_> = page.lines.iter().map(|line| line.bars.clone()).collect();
        assert_eq!(bars, [0..4, 4..5, 5..7]);
        assert_eq!(page.lines[2].label, "B");
        assert_eq!(page.line_of(6), 2);
    }

    #[test]
    fn a_tune_that_goes_through_keys_has_a_page_a_chorus() {
        let changes = |(key, chords): &(&str, &str)| {
            let form = form(chords);
            Arc::new(Changes { key: key.parse().expect("a key"), reading: reading(&form), form })
        };
        let each: Vec<_> = [("C", "Dm7 | Cmaj7"), ("F", "Gm7 | Fmaj7")].iter().map(changes).collect();
        let page = page("Dm7 | Cmaj7").in_keys(&each);
        let key = |chorus| page.of_chorus(chorus).heading.key.as_str();
        assert_eq!([1, 2, 3].map(key), ["C", "F", "C"]);
        let next = |chorus, from| {
            let next = page.of_chorus(chorus).next_chord(from, AfterTheLastBar::Again);
            next.map(|(chord, _)| chord.text.as_str())
        };
        assert_eq!((next(1, 0), next(1, 1), next(2, 1)), (Some("Cmaj7"), Some("Gm7"), Some("Dm7")));
        let ahead = |bar, then| page.of_chorus(1).key_ahead(bar, then);
        assert_eq!(ahead(1, AfterTheLastBar::Again), Some("F"));
        assert_eq!((ahead(0, AfterTheLastBar::Again), ahead(1, AfterTheLastBar::End)), (None, None));
    }

    #[test]
    fn tones_have_both_names() {
        let page = page("Bb7");
        let guides: Vec<_> =
            page.chords[0].guides.iter().map(|t| (t.degree.as_str(), t.name.as_str())).collect();
        assert_eq!(guides, [("3", "D"), ("b7", "Ab")]);
    }
}
