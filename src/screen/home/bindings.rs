//! The keys of the home screen.

use ratatui::crossterm::event::KeyCode;

use crate::screen::bindings::{Bindings, also, listed, shown};

/// What a key of the home screen asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Action {
    /// To the row above.
    Up,
    /// To the row below.
    Down,
    /// To the first row.
    First,
    /// To the last row.
    Last,
    /// Open the row, or play it.
    Open,
    /// Play some bars of the chart.
    Bars,
    /// Two quarter notes a minute slower.
    Slower,
    /// Two quarter notes a minute faster.
    Faster,
    /// Read the chart.
    Read,
    /// Drills.
    Drill,
    /// Progress on the chart.
    Progress,
    /// The assignment.
    Assignment,
    /// The class.
    Class,
    /// Soundcheck.
    Soundcheck,
    /// Hide the list of all keys.
    Close,
    /// Leave the program.
    Quit,
    /// Show or hide the list of all keys.
    AllKeys,
}

/// Every key of the home screen; space and the other cues play the top row.
pub const HOME: Bindings<Action> = Bindings(&[
    shown(KeyCode::Enter, "enter", "play", Action::Open),
    shown(KeyCode::Char('r'), "r", "read", Action::Read),
    shown(KeyCode::Char('d'), "d", "drill", Action::Drill),
    shown(KeyCode::Char('p'), "p", "progress", Action::Progress),
    listed(KeyCode::Char('b'), "b", "play some bars only", Action::Bars),
    listed(KeyCode::Char('-'), "- +", "tempo down, up by 2", Action::Slower),
    also(KeyCode::Char('+'), Action::Faster),
    also(KeyCode::Char('='), Action::Faster),
    listed(KeyCode::Char('a'), "a", "assignment", Action::Assignment),
    listed(KeyCode::Char('c'), "c", "class", Action::Class),
    listed(KeyCode::Char('i'), "i", "soundcheck", Action::Soundcheck),
    listed(KeyCode::Up, "up, down", "choose a row", Action::Up),
    also(KeyCode::Down, Action::Down),
    also(KeyCode::Home, Action::First),
    also(KeyCode::End, Action::Last),
    listed(KeyCode::Char('q'), "q", "quit", Action::Quit),
    also(KeyCode::Esc, Action::Close),
    shown(KeyCode::Char('?'), "?", "all keys", Action::AllKeys),
]);

#[cfg(test)]
mod tests {
    use super::*;
    use crate::screen::bindings::tests::check_table;

    #[test]
    fn every_key_of_the_table_does_what_it_says() {
        check_table(HOME);
    }
}
