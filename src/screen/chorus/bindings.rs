//! The keys of the chorus on its chart.

use ratatui::crossterm::event::KeyCode;

use crate::screen::bindings::{Bindings, also, listed, shown};

/// What a key asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Action {
    /// A suggestion, from 0.
    Next(usize),
    /// Bars and notes.
    Open,
    /// Another chorus, then the whole take.
    NextPart,
    /// Move between bars, so many.
    Move(isize),
    /// A line of the chart up.
    LineUp,
    /// A line of the chart down.
    LineDown,
    /// Hear these bars.
    Hear,
    /// Keep bars as a phrase.
    Keep,
    /// A note to self.
    NoteToSelf,
    /// What another scale would make of it.
    OtherScale,
    /// A note that is heard otherwise.
    Contest,
    /// What was left out.
    LeftOut,
    /// The page or the notes as a file.
    Export,
    /// Every key.
    AllKeys,
    /// Leave.
    Leave,
}

/// Every key of the screen. Space and foot are cues and stand in the row by themselves.
pub const CHORUS: Bindings<Action> = Bindings(&[
    shown(KeyCode::Char('1'), "1 2 3", "next", Action::Next(0)),
    also(KeyCode::Char('2'), Action::Next(1)),
    also(KeyCode::Char('3'), Action::Next(2)),
    shown(KeyCode::Enter, "enter", "bars and notes", Action::Open),
    shown(KeyCode::Char('v'), "v", "whole take", Action::NextPart),
    listed(KeyCode::Right, "arrows", "choose a bar", Action::Move(1)),
    also(KeyCode::Left, Action::Move(-1)),
    also(KeyCode::Up, Action::LineUp),
    also(KeyCode::Down, Action::LineDown),
    listed(KeyCode::Char('h'), "h", "hear the bar, or all", Action::Hear),
    listed(KeyCode::Char('k'), "k", "keep bars as a phrase", Action::Keep),
    listed(KeyCode::Char('e'), "e", "note to self", Action::NoteToSelf),
    listed(KeyCode::Char('s'), "s", "other scale", Action::OtherScale),
    listed(KeyCode::Char('c'), "c", "contest a note", Action::Contest),
    listed(KeyCode::Char('g'), "g", "what was left out", Action::LeftOut),
    listed(KeyCode::Char('x'), "x", "export", Action::Export),
    listed(KeyCode::Esc, "esc q", "leave", Action::Leave),
    also(KeyCode::Char('q'), Action::Leave),
    shown(KeyCode::Char('?'), "?", "keys", Action::AllKeys),
]);

#[cfg(test)]
mod tests {
    use super::*;
    use crate::screen::bindings::tests::check_table;

    #[test]
    fn every_key_of_the_table_does_what_it_says() {
        check_table(CHORUS);
    }
}
