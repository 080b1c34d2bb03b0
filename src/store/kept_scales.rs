//! The scales and keys that a player keeps for chords of charts, in the journal: read, kept and taken out through here,
//! whoever asks (`read`, a screen, whatever judges).

use jiff::Timestamp;

use super::journal::entry::{ChartName, Entry, ScaleOverride};
use super::journal::{Journal, JournalError, Oddity, State};
use crate::chart::header::key_text;
use crate::chart::{Chart, ChordPlace, Decided};
use crate::judge::kept_scales::{KeptScale, KeptScales};

/// Everything that is kept, and what was odd about the journal.
pub fn read(journal: &Journal) -> Result<(KeptScales, Vec<Oddity>), JournalError> {
    let read = journal.read()?;
    let state = State::replay(read.records.iter().map(|(_, record)| record));
    Ok((of_state(&state), read.oddities))
}

/// What holds, in the order it was kept. A scale or key that this program does not read (a newer one wrote it) does not
/// win.
pub fn of_state(state: &State) -> KeptScales {
    let mut all: Vec<_> = state.scales.values().collect();
    all.sort_by_key(|kept| kept.at);
    all.into_iter().filter_map(|kept| of_entry(&kept.what)).collect()
}

fn of_entry(entry: &ScaleOverride) -> Option<KeptScale> {
    let scale = entry.scale.as_deref().and_then(|text| text.parse().ok());
    let key = entry.key.as_deref().and_then(|text| text.parse().ok());
    let decided = Decided { scale, key };
    (!decided.is_nothing()).then(|| KeptScale {
        title: entry.chart.title.clone(),
        sha256: entry.chart.sha256.clone(),
        chart_key: entry.chart_key.as_deref().and_then(|text| text.parse().ok()),
        place: entry.place,
        symbol: entry.symbol.clone(),
        decided,
    })
}

/// Keeps what is decided about a chord of `chart`, over what was kept for it before. `false` where no chord is written at
/// `place`: nothing is kept then.
pub fn keep(
    journal: &Journal,
    chart: &Chart,
    place: ChordPlace,
    decided: Decided,
) -> Result<bool, JournalError> {
    let Some(kept) = KeptScale::of(chart, place, decided) else { return Ok(false) };
    journal.append(Entry::Override(entry(kept)), Timestamp::now())?;
    Ok(true)
}

/// Takes out all of `kept`, in one piece.
pub fn take_out<'a>(
    journal: &Journal,
    kept: impl IntoIterator<Item = &'a KeptScale>,
) -> Result<(), JournalError> {
    let out =
        |kept: &KeptScale| Entry::Override(entry(KeptScale { decided: Decided::default(), ..kept.clone() }));
    journal.append_all(kept.into_iter().map(out).collect(), Timestamp::now()).map(|_| ())
}

/// The entry that keeps it.
pub fn entry(kept: KeptScale) -> ScaleOverride {
    ScaleOverride {
        chart: ChartName { title: kept.title, sha256: kept.sha256 },
        place: kept.place,
        symbol: kept.symbol,
        scale: kept.decided.scale.map(|scale| scale.to_string()),
        key: kept.decided.key.map(key_text),
        chart_key: kept.chart_key.map(key_text),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::theory::chord::BareSymbols;

    #[test]
    fn what_is_kept_wins_until_it_is_taken_out() {
        let folder = tempfile::tempdir().expect("a folder");
        let journal = Journal::in_folder(folder.path());
        let (chart, _) = Chart::parse("a.bars", "| Dm7 | G7 |", BareSymbols::default()).expect("a chart");
        let place = ChordPlace { bar: 2, chord: 1 };
        let altered = Decided { scale: "altered".parse().ok(), key: "F#m".parse().ok() };
        assert!(keep(&journal, &chart, place, Decided { key: None, ..altered.clone() }).expect("kept"));
        assert!(keep(&journal, &chart, place, altered.clone()).expect("kept"));
        let (kept, oddities) = read(&journal).expect("a journal");
        assert_eq!(oddities, []);
        assert_eq!(kept.on(chart.clone()).decisions()[&place], altered);
        take_out(&journal, kept.of_chart(chart.title(), None)).expect("taken out");
        assert_eq!(read(&journal).expect("a journal").0, KeptScales::default());
    }

    #[test]
    fn where_no_chord_stands_nothing_is_kept() {
        let folder = tempfile::tempdir().expect("a folder");
        let journal = Journal::in_folder(folder.path());
        let (chart, _) = Chart::parse("a.bars", "| Dm7 |", BareSymbols::default()).expect("a chart");
        let place = ChordPlace { bar: 1, chord: 2 };
        assert!(!keep(&journal, &chart, place, Decided::default()).expect("no trouble"));
        assert!(!journal.path().exists());
    }
}
