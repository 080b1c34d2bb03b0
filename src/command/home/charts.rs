//! The charts that home lists: those that were played, the files of the folder it was started in, those that ship.

use std::fs;
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use crate::chart::{Backing, Chart};
use crate::command::load;
use crate::command::values::ChartSource;
use crate::harmony::Overrides;
use crate::judge::digested::form_fingerprint;
use crate::judge::{Choices, ChordSource, Question, judge};
use crate::report::home::{ChartRow, region_words, share_words};
use crate::report::number::percent;
use crate::report::reading::ReadingDocument;
use crate::report::review::{Detail, Totals};
use crate::store::index::ChartPlayed;
use crate::take::{Imprint, MidiFile};
use crate::theory::Written;

/// The most files of a folder that are looked at.
const MOST_FILES: usize = 200;

/// A chart that can be played.
pub(super) struct Listed {
    /// Where it is read from.
    pub source: ChartSource,
    /// What home shows of it.
    pub row: ChartRow,
    /// The fingerprint of its form.
    pub form_sha256: String,
    /// When the last take of it was kept.
    pub last_at: Option<Timestamp>,
}

/// Every chart there is, those played last first; and what has to be said of files that do not read.
pub(super) fn all(played: &[ChartPlayed], folder: &Path, choices: &Choices) -> (Vec<Listed>, Vec<String>) {
    let (sources, said) = there(folder);
    let mut said = said;
    let mut charts: Vec<Listed> = Vec::new();
    for source in sources {
        match load::chart(&source, choices.bare) {
            Ok(loaded) => charts.push(listed(source, &loaded.chart, choices.written)),
            Err(_) => {
                if let ChartSource::Named(path) = &source {
                    let path = path.display();
                    said.push(format!("{path} does not read: barwise read {path} says why."));
                }
            }
        }
    }
    let mut first = Vec::new();
    for chart in played {
        let at = charts.iter().position(|listed| listed.form_sha256 == chart.form_sha256);
        let found = at.map(|at| charts.remove(at)).or_else(|| carried(chart, choices));
        first.extend(found.map(|listed| with_takes(listed, chart, choices)));
    }
    first.append(&mut charts);
    (first, said)
}

/// The charts of a folder by name, and behind them those that ship.
fn there(folder: &Path) -> (Vec<ChartSource>, Vec<String>) {
    let mut said = Vec::new();
    let mut files: Vec<PathBuf> = match fs::read_dir(folder) {
        Ok(entries) => entries.filter_map(|entry| Some(entry.ok()?.path())).collect(),
        Err(_) => Vec::new(),
    };
    files.retain(|path| path.extension().is_some_and(|ending| ending == "bars") && path.is_file());
    files.sort();
    if files.len() > MOST_FILES {
        said.push(format!("{} charts lie in this folder; the first {MOST_FILES} are shown.", files.len()));
        files.truncate(MOST_FILES);
    }
    let ships = Backing::ALL.iter().map(|backing| PathBuf::from(backing.stem));
    (files.into_iter().chain(ships).map(ChartSource::Named).collect(), said)
}

fn listed(source: ChartSource, chart: &Chart, written: Written) -> Listed {
    let chords = ChordSource::of_chart(chart, &Overrides::default());
    let read = chords.written_for(written);
    let reading = ReadingDocument::new(read.id.clone(), &read.form, &read.reading);
    let header = chart.header();
    let row = ChartRow {
        title: chart.title().to_owned(),
        key: read.id.key.unwrap_or_else(|| "-".to_owned()),
        bars: chords.form.bars.len(),
        feel: header.feel.to_string(),
        tempo: header.tempo.get(),
        takes: 0,
        share: "-".to_owned(),
        regions: region_words(&reading),
        last_take: None,
    };
    Listed { source, row, form_sha256: form_fingerprint(&chords), last_at: None }
}

/// The chart that the last take of it carries; `None` where that has none, or cannot be read.
fn carried(played: &ChartPlayed, choices: &Choices) -> Option<Listed> {
    let bytes = fs::read(&played.last.path).ok()?;
    let imprint = Imprint::of(&MidiFile::parse(&bytes).ok()?)?;
    let source = ChartSource::Carried { name: imprint.chart_name, text: imprint.chart };
    let chart = load::chart(&source, choices.bare).ok()?.chart;
    Some(listed(source, &chart, choices.written))
}

/// The row with what became of the takes.
fn with_takes(listed: Listed, played: &ChartPlayed, choices: &Choices) -> Listed {
    let last = &played.last;
    let row = ChartRow {
        takes: played.takes,
        share: share_words(last.chord, last.chord_effect, last.counted),
        last_take: last_take(&last.path, choices),
        ..listed.row
    };
    Listed { row, last_at: Some(last.kept_at), ..listed }
}

/// What became of a take, in words; `None` where it can no longer be read.
fn last_take(path: &Path, choices: &Choices) -> Option<String> {
    let bytes = fs::read(path).ok()?;
    let question = Question { choices, chart: None, track: None, detail: Detail::Totals, bands: None };
    Some(words(&judge(&bytes, None, question).ok()?.review.totals))
}

/// `14 of 19 changes landed (all notes 37 %), 3 notes open`
fn words(totals: &Totals) -> String {
    let landings = &totals.landings;
    let beside =
        landings.baseline.map_or_else(String::new, |share| format!(" (all notes {} %)", percent(share)));
    let open = totals.open.n;
    let notes = if (open.0 - 1.0).abs() < f64::EPSILON { "note" } else { "notes" };
    format!("{} of {} changes landed{beside}, {open} {notes} open", landings.n, landings.of)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::theory::chord::BareSymbols;

    #[test]
    fn the_folders_own_charts_come_first_and_one_that_does_not_read_is_said() {
        let folder = tempfile::tempdir().expect("a folder");
        fs::write(folder.path().join("mine.bars"), "title: Mine\n| F7 | Bb7 |\n").expect("written");
        fs::write(folder.path().join("broken.bars"), "| H7 |\n").expect("written");
        fs::write(folder.path().join("other.txt"), "| F7 |\n").expect("written");
        let (charts, said) = all(&[], folder.path(), &Choices::default());
        assert_eq!(charts[0].row.title, "Mine");
        assert_eq!(charts.len(), 1 + Backing::ALL.len());
        assert!(said.len() == 1 && said[0].contains("broken.bars does not read"), "{said:?}");
    }

    #[test]
    fn a_chart_says_in_which_keys_it_is_heard() {
        let source = ChartSource::Named("bus-shelter".into());
        let chart = load::chart(&source, BareSymbols::default()).expect("it ships").chart;
        let read = listed(source.clone(), &chart, Written::Bb).row;
        assert!(read.key == "F" && read.regions.starts_with("key F, bars 9-12 in A"), "{}", read.regions);
        let row = listed(source, &chart, Written::C).row;
        assert_eq!((row.title.as_str(), row.key.as_str(), row.bars), ("Bus Shelter, Rain", "Eb", 16));
        assert!(row.regions.starts_with("key Eb, bars 9-12 in G"), "{}", row.regions);
    }
}
