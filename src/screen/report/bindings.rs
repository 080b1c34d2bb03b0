//! The keys of bars and notes in order.

use ratatui::crossterm::event::KeyCode;

use crate::screen::bindings::{Bindings, also, listed, shown};

/// What a key asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Action {
    /// A suggestion, from 0.
    Next(usize),
    /// A row up or down, so many.
    Row(isize),
    /// A note on or back.
    Note(isize),
    /// A screenful of rows up or down.
    Page(isize),
    /// The first row.
    First,
    /// The last row.
    Last,
    /// Have what is under the cursor: in the list of what was left out, count the note again.
    Enter,
    /// Hear the bar.
    Hear,
    /// Keep bars as a phrase.
    Keep,
    /// Another chorus, then the whole take.
    NextPart,
    /// A note to self.
    NoteToSelf,
    /// What another scale would make of it.
    OtherScale,
    /// The note is heard otherwise.
    Contest,
    /// What was left out.
    LeftOut,
    /// The page or the notes as a file.
    Export,
    /// Every key.
    AllKeys,
    /// Back to the chorus on its chart.
    Back,
    /// Leave the take.
    Leave,
}

/// Every key of the screen.
pub const REPORT: Bindings<Action> = Bindings(&[
    shown(KeyCode::Down, "arrows", "bar, note", Action::Row(1)),
    also(KeyCode::Up, Action::Row(-1)),
    also(KeyCode::Right, Action::Note(1)),
    also(KeyCode::Left, Action::Note(-1)),
    also(KeyCode::PageDown, Action::Page(1)),
    also(KeyCode::PageUp, Action::Page(-1)),
    also(KeyCode::Home, Action::First),
    also(KeyCode::End, Action::Last),
    also(KeyCode::Enter, Action::Enter),
    shown(KeyCode::Char('h'), "h", "hear", Action::Hear),
    shown(KeyCode::Char('k'), "k", "keep", Action::Keep),
    shown(KeyCode::Char('s'), "s", "other scale", Action::OtherScale),
    shown(KeyCode::Char('c'), "c", "contest", Action::Contest),
    shown(KeyCode::Char('g'), "g", "left out", Action::LeftOut),
    listed(KeyCode::Char('v'), "v", "other choruses, take", Action::NextPart),
    listed(KeyCode::Char('e'), "e", "note to self", Action::NoteToSelf),
    listed(KeyCode::Char('1'), "1 2 3", "what next", Action::Next(0)),
    also(KeyCode::Char('2'), Action::Next(1)),
    also(KeyCode::Char('3'), Action::Next(2)),
    listed(KeyCode::Char('x'), "x", "export", Action::Export),
    listed(KeyCode::Esc, "esc", "the chorus on its chart", Action::Back),
    listed(KeyCode::Char('q'), "q", "leave", Action::Leave),
    shown(KeyCode::Char('?'), "?", "all keys", Action::AllKeys),
]);

/// The bottom row where a list is open in which one thing is chosen.
pub const CHOOSING: &str = " arrows choose   enter have it   esc back";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::screen::bindings::tests::check_table;

    #[test]
    fn every_key_of_the_table_does_what_it_says() {
        check_table(REPORT);
    }
}
