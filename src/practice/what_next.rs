//! What next: what to practise after a take, from what was found in it.
//!
//! At most three suggestions in a fixed order, each with the counts it comes from. Where nothing stands out there is none.

use std::collections::BTreeMap;

use crate::tally::landing::Landing;
use crate::tally::verdict::{FEWEST_NOTES, Finding};
use crate::tally::{Stage, Tag, Tally};

/// The most suggestions that are made.
const MOST: usize = 3;

/// Fewest open notes over one chord that make it worth a drill of its own.
const FEWEST_OPEN: usize = 2;

/// Fewest slips (open notes and missed landings) in two neighbouring bars that make them worth a loop.
const FEWEST_SLIPS: usize = 2;

/// How much of the tempo a loop is practised at.
const LOOP_TEMPO: f64 = 7.0 / 8.0;

/// How often a loop is gone through.
pub const LOOP_TIMES: usize = 4;

/// Bars without a rest from which resting is worth practising.
const LONG_RUN_BARS: f64 = 8.0;

/// How many bars apart the rests then are.
pub const REST_EVERY_BARS: usize = 4;

/// One thing to do next.
#[derive(Clone, Debug, PartialEq)]
pub enum Suggestion {
    /// The arpeggio of a chord over which half of the open notes fell, or more.
    Arpeggio {
        /// The symbol as written.
        symbol: String,
        /// Open notes over it.
        open: usize,
        /// Open notes of the whole take.
        of: usize,
        /// The lowest and the highest fret of the line over it, where strings are known.
        frets: Option<(u8, u8)>,
    },
    /// Two neighbouring bars, slower, a few times over.
    Loop {
        /// Their numbers in the form.
        bars: (usize, usize),
        /// Quarter notes a minute, a whole number.
        tempo: f64,
        /// Open notes in them, all choruses together.
        open: usize,
        /// Changes in them that a note met and did not land on.
        missed: usize,
    },
    /// Another chorus: what there is does not tell yet.
    AnotherChorus {
        /// Notes counted.
        counted: f64,
        /// Whether there are too few of them for any verdict; else a verdict was asked for and is undecided.
        too_few: bool,
    },
    /// A chorus with rests in it.
    Rests {
        /// The longest stretch without a rest, in bars.
        bars_without: f64,
    },
}

/// What to practise next; `asked` is what a verdict found, where one was asked for.
pub fn what_next(tally: &Tally, stage: &Stage<'_>, asked: Option<Finding>) -> Vec<Suggestion> {
    let found = [arpeggio(tally, stage), two_bars(tally, stage), another(tally, asked), rests(tally, stage)];
    found.into_iter().flatten().take(MOST).collect()
}

/// Indices of the notes left open, with the index of the chord of the form that each belongs to.
fn open_notes<'a>(tally: &'a Tally, stage: &'a Stage<'_>) -> impl Iterator<Item = (usize, usize)> + 'a {
    let open = |tag| matches!(tag, Some(Tag::Open | Tag::HeldOutside));
    let notes = tally.notes.iter().enumerate().filter(move |(_, note)| note.is_counted() && open(note.tag));
    notes.filter_map(|(index, note)| Some((index, stage.visits()[note.visit?].chord)))
}

fn arpeggio(tally: &Tally, stage: &Stage<'_>) -> Option<Suggestion> {
    let chords = &stage.laid().form.chords;
    let mut by_symbol: BTreeMap<&str, usize> = BTreeMap::new();
    for (_, chord) in open_notes(tally, stage) {
        *by_symbol.entry(chords[chord].text.as_str()).or_default() += 1;
    }
    let of = by_symbol.values().sum();
    // Of two alike the one that comes first in the form.
    let symbols = chords.iter().map(|chord| chord.text.as_str());
    let open_over = |symbol: &&str| by_symbol.get(symbol).copied().unwrap_or(0);
    let symbol = symbols.rev().max_by_key(open_over)?;
    let open = open_over(&symbol);
    (open >= FEWEST_OPEN && open * 2 >= of).then(|| Suggestion::Arpeggio {
        symbol: symbol.to_owned(),
        open,
        of,
        frets: frets_over(symbol, tally, stage),
    })
}

/// The frets between which the line over a chord lay.
fn frets_over(symbol: &str, tally: &Tally, stage: &Stage<'_>) -> Option<(u8, u8)> {
    let chords = &stage.laid().form.chords;
    let over = tally.notes.iter().filter(|note| {
        let chord = note.visit.map(|visit| stage.visits()[visit].chord);
        note.is_counted() && chord.is_some_and(|chord| chords[chord].text == symbol)
    });
    let frets: Option<Vec<u8>> = over.map(|note| note.note.fret).collect();
    let frets = frets?;
    Some((frets.iter().copied().min()?, frets.iter().copied().max()?))
}

fn two_bars(tally: &Tally, stage: &Stage<'_>) -> Option<Suggestion> {
    let form = stage.laid().form;
    let mut open = vec![0; form.bars.len()];
    for (_, chord) in open_notes(tally, stage) {
        open[form.chords[chord].bar] += 1;
    }
    let mut missed = vec![0; form.bars.len()];
    for (visit, landing) in stage.visits().iter().zip(&tally.landings.by_visit) {
        if matches!(landing, Landing::Note { hit: false, .. }) {
            missed[form.chords[visit.chord].bar] += 1;
        }
    }
    let slips = |&first: &usize| (open[first] + open[first + 1]) + (missed[first] + missed[first + 1]);
    let first = (0..form.bars.len().saturating_sub(1)).rev().max_by_key(slips)?;
    let bpm = 60e9 / stage.laid().tempo.quarter(stage.laid().start).0 as f64;
    (slips(&first) >= FEWEST_SLIPS).then(|| Suggestion::Loop {
        bars: (form.bars[first].number, form.bars[first + 1].number),
        tempo: (bpm * LOOP_TEMPO).round(),
        open: open[first] + open[first + 1],
        missed: missed[first] + missed[first + 1],
    })
}

fn another(tally: &Tally, asked: Option<Finding>) -> Option<Suggestion> {
    let counted = tally.mix.total.counted().notes();
    let too_few = counted < FEWEST_NOTES;
    let undecided = matches!(asked, Some(Finding::Undecided | Finding::NoVerdict));
    (too_few || undecided).then_some(Suggestion::AnotherChorus { counted, too_few })
}

fn rests(tally: &Tally, stage: &Stage<'_>) -> Option<Suggestion> {
    let bars = &stage.laid().form.bars;
    let beats: f64 = bars.iter().map(|bar| f64::from(bar.meter.beats())).sum();
    let bars_without = tally.rests.longest_run * bars.len() as f64 / beats;
    (bars_without >= LONG_RUN_BARS).then_some(Suggestion::Rests { bars_without })
}
