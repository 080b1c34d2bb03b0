//! The key lines of a reading: which bars are heard in which key, and what says so.
//!
//! Rows count the bars of the page, so these lines do, wherever a bar means the same each time it is played; else they
//! count the bars as played and say so. The document keeps every region by the bars of the form.

use std::collections::{HashMap, HashSet};

use super::reading::{ReadingDocument, RegionRecord};

/// The key of chords that stand alone.
const MODAL: &str = "modal";

/// What one line says, of some bars.
#[derive(Clone, Debug, PartialEq, Eq)]
struct KeyLine<'a> {
    key: &'a str,
    why: &'a str,
    /// Numbers of bars in the order they are played, each once.
    bars: Vec<usize>,
}

/// The lines of a reading; where `bar` (of the page) is asked for, those about it.
pub fn region_lines(reading: &ReadingDocument, bar: Option<usize>) -> Vec<String> {
    let played = joined(reading);
    let on_page = on_page(&played, reading);
    let (lines, counted) = on_page.map_or((played, " as played"), |lines| (lines, ""));
    let is_asked = |number: usize| {
        let page = if counted.is_empty() { number } else { reading.played_bars[number - 1] };
        bar.is_none_or(|bar| bar == page)
    };
    let asked = lines.iter().filter(|line| line.bars.iter().any(|&number| is_asked(number)));
    asked.map(|line| format!("{}{counted}: {}, {}.", bars(&line.bars), line.key, line.why)).collect()
}

/// The regions by bars as played: chords that stand alone side by side are told together, and in a loop a region that
/// goes on from the last bar into the first is one.
fn joined(reading: &ReadingDocument) -> Vec<KeyLine<'_>> {
    let mut lines: Vec<KeyLine<'_>> = Vec::new();
    for RegionRecord { key, first_bar, last_bar, why } in &reading.regions {
        let line = KeyLine { key, why, bars: (*first_bar..=*last_bar).collect() };
        match lines.last_mut() {
            Some(before) if key == MODAL && before.says_as(&line) => before.go_on_to(*last_bar),
            _ => lines.push(line),
        }
    }
    if let [first, .., last] = &lines[..]
        && reading.loops
        && first.says_as(last)
        && let Some(mut last) = lines.pop()
    {
        last.take_in(&lines[0]);
        lines[0] = last;
    }
    lines
}

impl KeyLine<'_> {
    fn says_as(&self, other: &Self) -> bool {
        (self.key, self.why) == (other.key, other.why)
    }

    fn shares_bars_with(&self, other: &Self) -> bool {
        self.bars.iter().any(|bar| other.bars.contains(bar))
    }

    fn go_on_to(&mut self, last: usize) {
        let next = self.bars.last().map_or(1, |bar| bar + 1);
        self.bars.extend(next..=last);
    }

    fn take_in(&mut self, other: &Self) {
        self.bars.extend(&other.bars);
        self.bars = once_each(&self.bars);
    }
}

/// The lines by the bars of the page; `None` where one of these means one thing now, another thing later.
fn on_page<'a>(played: &[KeyLine<'a>], reading: &ReadingDocument) -> Option<Vec<KeyLine<'a>>> {
    let as_written = reading.played_bars.iter().enumerate().all(|(index, &written)| written == index + 1);
    if as_written {
        return Some(played.to_vec());
    }
    let mut keys = HashMap::new();
    let stays = reading.chords.iter().all(|chord| {
        let place = (chord.bar, chord.beat.0.to_bits());
        *keys.entry(place).or_insert(&chord.key) == &chord.key
    });
    if !stays {
        return None;
    }
    let mut lines: Vec<KeyLine<'_>> = Vec::new();
    for line in played {
        let written: Vec<usize> = line.bars.iter().map(|&number| reading.played_bars[number - 1]).collect();
        let line = KeyLine { bars: once_each(&written), ..*line };
        let known = lines.iter_mut().find(|known| known.key == line.key && known.shares_bars_with(&line));
        match known {
            None => lines.push(line),
            Some(known) if known.why == line.why => known.take_in(&line),
            Some(_) => return None,
        }
    }
    Some(lines)
}

fn once_each(bars: &[usize]) -> Vec<usize> {
    let mut seen = HashSet::new();
    bars.iter().copied().filter(|&bar| seen.insert(bar)).collect()
}

/// `bar 3`, `bars 1-8`, `bars 15-16 and 1`.
fn bars(numbers: &[usize]) -> String {
    let runs: Vec<String> = numbers
        .chunk_by(|before, after| before + 1 == *after)
        .filter_map(|run| match run {
            [] => None,
            [bar] => Some(bar.to_string()),
            [first, .., last] => Some(format!("{first}-{last}")),
        })
        .collect();
    let word = if numbers.len() == 1 { "bar" } else { "bars" };
    match &runs[..] {
        [one] => format!("{word} {one}"),
        [others @ .., last] => format!("{word} {} and {last}", others.join(", ")),
        [] => word.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Chart;
    use crate::harmony::Overrides;
    use crate::judge::ChordSource;
    use crate::theory::chord::BareSymbols;

    fn reading(text: &str) -> ReadingDocument {
        let (chart, _) = Chart::parse("chart.bars", text, BareSymbols::default()).expect("a chart");
        let chords = ChordSource::of_chart(&chart, &Overrides::default());
        ReadingDocument::new(chords.id, &chords.form, &chords.reading)
    }

    fn check(text: &str, expect: &[&str]) {
        assert_eq!(region_lines(&reading(text), None), expect, "{text}");
    }

    #[test]
    fn bars_are_told_in_runs() {
        let check = |numbers: &[usize], expect: &str| assert_eq!(bars(numbers), expect);
        check(&[3], "bar 3");
        check(&[1, 2, 3], "bars 1-3");
        check(&[15, 16, 1], "bars 15-16 and 1");
        check(&[1, 3, 5, 6], "bars 1, 3 and 5-6");
    }

    #[test]
    fn a_key_that_goes_on_from_the_end_into_the_beginning_is_told_once() {
        check(
            "| Cmaj7 Eb7 | Abmaj7 B7 | Emaj7 G7 | Cmaj7 |",
            &[
                "bars 3-4 and 1: C major, V-I in C.",
                "bars 1-2: Ab major, V-I in Ab.",
                "bars 2-3: E major, V-I in E.",
            ],
        );
    }

    #[test]
    fn chords_without_a_key_are_told_together() {
        check(
            "| Dm7 | % | Ebm7 | Dm7 |",
            &["bars 1-4: modal, too little to hear a key by: 0 of 2 changes lead on as in a key."],
        );
        check("| Dm7 |", &["bar 1: modal, too little to hear a key by: one chord."]);
    }

    #[test]
    fn a_bar_that_is_played_again_keeps_its_number_on_the_page() {
        check("|: Dm7 | G7 |1. Cmaj7 | % :|2. Cmaj7 | % ||", &["bars 1-6: C major, ii-V-I in C."]);
        check(
            "form: A A B A\nA | Dm7 | G7 | Cmaj7 | % |\nB | Abm7 | Db7 | Gbmaj7 | % |",
            &["bars 1-4: C major, ii-V-I in C.", "bars 5-8: Gb major, ii-V-I in Gb."],
        );
    }

    #[test]
    fn a_bar_that_changes_its_key_is_counted_as_played() {
        let lines =
            region_lines(&reading("|: Cmaj7 | C7 |1. Dm7 | G7 :|2. Fmaj7 | Gm7 C7 | Fmaj7 | % ||"), None);
        let expect =
            ["bars 1-5 as played: C major, ii-V-I in C.", "bars 6-10 as played: F major, ii-V-I in F."];
        assert_eq!(lines, expect);
    }

    #[test]
    fn one_bar_has_its_own_lines() {
        let reading = reading("| Cmaj7 Eb7 | Abmaj7 B7 | Emaj7 G7 | Cmaj7 |");
        assert_eq!(region_lines(&reading, Some(4)), ["bars 3-4 and 1: C major, V-I in C."]);
        assert_eq!(region_lines(&reading, Some(1)).len(), 2);
    }
}
