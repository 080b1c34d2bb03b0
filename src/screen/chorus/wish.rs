//! What leaving a screen after a take wishes for. Whoever opened it carries it out, and mostly comes back.

use std::ops::RangeInclusive;

use crate::report::review::chorus_words::Part;
use crate::store::journal::entry::HeardAs;

/// A wish.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Wish {
    /// Play again.
    Again,
    /// A suggestion, from 0.
    Next(usize),
    /// Leave the take.
    Leave,
    /// Bars and notes in order.
    Bars(Opened),
    /// Back to the chorus on its chart.
    Chorus,
    /// Hear some bars of the take over the backing; all of them where none are named.
    Hear {
        /// In which chorus.
        part: Part,
        /// Bars of the form.
        bars: Option<RangeInclusive<usize>>,
    },
    /// Keep bars as a phrase.
    KeepBars {
        /// Times through, from 1.
        chorus: u32,
        /// Bars of the form.
        bars: RangeInclusive<usize>,
    },
    /// A note to self.
    NoteToSelf(String),
    /// See what other scales would make of a chord.
    OtherScales {
        /// Times through, from 1.
        chorus: u32,
        /// Number of the chord in the form, from 1.
        chord_index: usize,
    },
    /// Keep a scale, as a chart writes it, for a chord.
    KeepScale {
        /// Number of the chord in the form, from 1.
        chord_index: usize,
        /// `altered`
        scale: String,
    },
    /// A note is heard otherwise.
    Contest {
        /// Its index.
        note: usize,
        /// What it is heard as.
        heard_as: HeardAs,
        /// Why.
        reason: String,
    },
    /// Have a note that was left out counted, or a brought back one left out again.
    SwapLeftOut(usize),
    /// Write a file into the current folder.
    Export(Export),
}

/// How bars and notes open.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Opened {
    /// On a bar.
    Bar(usize),
    /// To choose a note that is heard otherwise.
    ToContest,
    /// On what was left out.
    LeftOut,
}

/// What can be exported.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Export {
    /// The report as a page of HTML.
    Page,
    /// Every note, as rows that spreadsheets read.
    Notes,
}
