//! What a player has entered about a take, as the journal has it, and the entries that wishes become.

use std::sync::Arc;

use jiff::Timestamp;

use crate::chart::{Decided, Move};
use crate::command::assign::journal;
use crate::command::exit_status::Failure;
use crate::command::output::Output;
use crate::judge::judged_again::Again;
use crate::judge::kept_scales::{KeptScale, KeptScales};
use crate::judge::written::{by_itself, by_itself_sounding};
use crate::practice::contests::heard_as_words;
use crate::screen::chorus::wish::Wish;
use crate::store::journal::Journal;
use crate::store::journal::entry::{Contest, Entry, HeardAs, LeftOutNote, NoteName, NoteToSelf, Phrase};
use crate::store::kept_scales::{self, of_state};
use crate::theory::{ChordSymbol, Written};

/// What was entered about a take and its chart.
#[derive(Clone, Debug, Default)]
pub(super) struct Entered {
    journal: Option<Journal>,
    /// The scales kept for chords of charts, where the journal was asked.
    pub scales: Option<Arc<KeptScales>>,
    /// Its notes that are contested.
    pub contests: Vec<Contest>,
    /// Notes that were set aside as misread and brought back.
    pub brought_back: Vec<usize>,
    /// The notes to self on it, oldest first.
    pub notes_to_self: Vec<String>,
    /// The bars of it that are kept: chorus, first, last.
    pub phrases: Vec<(u32, usize, usize)>,
}

impl Entered {
    /// What the journal has about a take; nothing about one that is not kept. A journal that does not read is
    /// said, and takes nothing of the take away.
    pub fn load(take: Option<u32>, out: &mut Output) -> Self {
        let Some(take) = take else { return Self::default() };
        let (journal, state) = match journal(out) {
            Ok(found) => found,
            Err(failure) => {
                out.remark(failure.message());
                return Self::default();
            }
        };
        let contests =
            state.contests.iter().map(|(_, dated)| &dated.what).filter(|contest| contest.take == take);
        let notes = state.notes.get(&take).into_iter().flatten();
        let phrases = state.phrases.iter().map(|kept| &kept.what).filter(|kept| kept.take == take);
        Self {
            scales: Some(Arc::new(of_state(&state))),
            contests: contests.cloned().collect(),
            brought_back: state.brought_back.get(&take).into_iter().flatten().copied().collect(),
            notes_to_self: notes.map(|note| note.what.text.clone()).collect(),
            phrases: phrases.map(|kept| (kept.chorus, kept.first_bar, kept.last_bar)).collect(),
            journal: Some(journal),
        }
    }

    /// The contested notes by index, each with what it is heard as by the names of a player in `written`.
    pub fn contests_by_index(&self, written: Written) -> Vec<(usize, String)> {
        let by_index = |contest: &Contest| match contest.note {
            NoteName::Index(index) => {
                let heard_as = moved(contest.heard_as.clone(), by_itself(written));
                Some((index, heard_as_words(&heard_as)))
            }
            NoteName::Place { .. } => None,
        };
        self.contests.iter().filter_map(by_index).collect()
    }

    /// The entry that a wish becomes, and what is said once it is kept: the wish is in the names that the choices have,
    /// the entry as it sounds.
    pub fn entry(&self, wish: Wish, take: u32, again: &Again<'_>) -> Result<(Entry, String), Failure> {
        Ok(match wish {
            Wish::KeepBars { chorus, bars } => {
                let (first_bar, last_bar) = (*bars.start(), *bars.end());
                let phrase = Phrase { take, chorus, first_bar, last_bar };
                let said = if first_bar == last_bar {
                    format!("bar {first_bar} of chorus {chorus} is kept")
                } else {
                    format!("bars {first_bar}-{last_bar} of chorus {chorus} are kept")
                };
                (Entry::Phrase(phrase), said)
            }
            Wish::NoteToSelf(text) => {
                let said =
                    if text.is_empty() { "the notes to self are taken out" } else { "kept with the take" };
                (Entry::Note(NoteToSelf { take, text }), said.to_owned())
            }
            Wish::KeepScale { chord_index, scale } => {
                let decided = Decided { scale: scale.parse().ok(), key: None };
                let place = again.place(chord_index).zip(again.chart());
                let kept = place.and_then(|(place, chart)| KeptScale::of(&chart, place, decided));
                let kept =
                    kept.ok_or_else(|| Failure::bad_input("that chord is not on the page".to_owned()))?;
                let chords = again.chords().map(|chords| chords.written_for(again.choices.written));
                let symbol = chords.and_then(|chords| {
                    Some(chords.form.chords.get(chord_index.checked_sub(1)?)?.text.clone())
                });
                let symbol = symbol.as_ref().unwrap_or(&kept.symbol);
                let said = format!(
                    "bar {}, {symbol}: {scale} is kept for this chart, and counted by",
                    kept.place.bar
                );
                (Entry::Override(kept_scales::entry(kept)), said)
            }
            Wish::Contest { note, heard_as, reason } => {
                let said = format!("contested: heard as {}; counted both ways", heard_as_words(&heard_as));
                let heard_as = moved(heard_as, by_itself_sounding(again.choices.written));
                (Entry::Contest(Contest { take, note: NoteName::Index(note), heard_as, reason }), said)
            }
            Wish::SwapLeftOut(note) if self.brought_back.contains(&note) => {
                (Entry::SetAside(LeftOutNote { take, note }), "the note is left out again".to_owned())
            }
            Wish::SwapLeftOut(note) => {
                (Entry::BroughtBack(LeftOutNote { take, note }), "the note counts again".to_owned())
            }
            wish => return Err(Failure::bad_input(format!("nothing is kept by {wish:?}"))),
        })
    }

    /// Writes an entry down; when this returns, the disk has it.
    pub fn write(&self, entry: Entry) -> Result<(), Failure> {
        let journal = self.journal.as_ref();
        let journal = journal
            .ok_or_else(|| Failure::store("the journal cannot be read, so nothing is kept".to_owned()))?;
        let kept = journal.append(entry, Timestamp::now());
        kept.map(|_| ()).map_err(|error| Failure::store(error.to_string()))
    }
}

/// What a note is heard as, the chord it names moved.
fn moved(heard_as: HeardAs, by: Move) -> HeardAs {
    match heard_as {
        HeardAs::Over(symbol) => {
            let read = symbol.parse::<ChordSymbol>().map(|chord| by.symbol(chord).to_string());
            HeardAs::Over(read.unwrap_or(symbol))
        }
        other => other,
    }
}
