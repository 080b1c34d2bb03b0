//! The scales that a player keeps for chords of charts, in the journal.

use jiff::Timestamp;

use super::journal::entry::{ChartName, ChordPlace, Entry, ScaleOverride};
use super::journal::{Journal, JournalError, State};
use crate::chart::Form;
use crate::harmony::Overrides;
use crate::report::review::ChartId;
use crate::theory::ScaleRequest;

/// What is kept for the chords of a form, the chart of which has this fingerprint. Where another chord stands by now, or
/// where a scale does not read (a newer program wrote it), nothing is.
pub fn kept(state: &State, sha256: &str, form: &Form) -> Overrides {
    let mut overrides = Overrides::default();
    for kept in state.scales_of(sha256) {
        let Some(scale) = kept.scale.as_deref().and_then(|text| text.parse::<ScaleRequest>().ok()) else {
            continue;
        };
        for index in 0..form.chords.len() {
            let is_there = place(form, index) == Some(kept.place) && form.chords[index].text == kept.symbol;
            if is_there {
                overrides.scales.insert(index, scale.clone());
            }
        }
    }
    overrides
}

/// Keeps a scale for a chord of a form, wherever the page plays it; none takes out what is kept. `false` where no chord
/// sounds: nothing is kept then.
pub fn keep(
    journal: &Journal,
    chart: &ChartId,
    (form, index): (&Form, usize),
    scale: Option<&ScaleRequest>,
) -> Result<bool, JournalError> {
    let Some(place) = place(form, index) else { return Ok(false) };
    let entry = ScaleOverride {
        chart: ChartName { title: chart.title.clone(), sha256: chart.sha256.clone() },
        place,
        symbol: form.chords[index].text.clone(),
        scale: scale.map(ToString::to_string),
    };
    journal.append(Entry::Override(entry), Timestamp::now())?;
    Ok(true)
}

/// Where a chord stands on the page; N.C. stands nowhere.
fn place(form: &Form, index: usize) -> Option<ChordPlace> {
    let chord = form.chords.get(index).filter(|chord| chord.symbol.is_some())?;
    let in_bar =
        form.chords[..=index].iter().filter(|other| other.bar == chord.bar && other.symbol.is_some());
    Some(ChordPlace { bar: form.bars[chord.bar].written, chord: in_bar.count() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Chart;
    use crate::judge::ChordSource;
    use crate::theory::chord::BareSymbols;

    fn source(text: &str) -> ChordSource {
        let (chart, _) = Chart::parse("a.bars", text, BareSymbols::default()).expect("a chart");
        ChordSource::of_chart(&chart, &Overrides::default())
    }

    fn state(journal: &Journal) -> State {
        let read = journal.read().expect("a journal");
        State::replay(read.records.iter().map(|(_, record)| record))
    }

    #[test]
    fn a_scale_wins_each_time_its_chord_is_played_until_it_is_taken_out() {
        let folder = tempfile::tempdir().expect("a folder");
        let journal = Journal::in_folder(folder.path());
        let tune = source("|: N.C. G7 | Cmaj7 :|");
        let altered: ScaleRequest = "altered".parse().expect("a scale");
        assert!(keep(&journal, &tune.id, (&tune.form, 1), Some(&altered)).expect("kept"));
        let found = kept(&state(&journal), &tune.id.sha256, &tune.form);
        assert_eq!(found.scales.keys().copied().collect::<Vec<_>>(), [1, 4]);
        assert_eq!(kept(&state(&journal), "another chart", &tune.form), Overrides::default());
        assert!(keep(&journal, &tune.id, (&tune.form, 4), None).expect("taken out"));
        assert_eq!(kept(&state(&journal), &tune.id.sha256, &tune.form), Overrides::default());
    }

    #[test]
    fn where_no_chord_sounds_nothing_is_kept() {
        let folder = tempfile::tempdir().expect("a folder");
        let journal = Journal::in_folder(folder.path());
        let tune = source("| N.C. |");
        assert!(!keep(&journal, &tune.id, (&tune.form, 0), None).expect("no trouble"));
        assert!(!journal.path().exists());
    }
}
