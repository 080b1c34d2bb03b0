//! The keys of the playing screen.

use ratatui::crossterm::event::KeyCode;

use crate::screen::bindings::{Bindings, also, listed, shown, with_control};

/// What a key of the playing screen asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Action {
    /// Stop at the end of the chorus, then now.
    Stop,
    /// Stop now.
    StopNow,
    /// Write chord tones as degrees or as note names.
    SwapNaming,
    /// Draw the layers on the neck, the keys or both.
    SwapInstrument,
    /// Show one position or the whole neck.
    SwapWindow,
    /// Take layers away, one after the other; then all again.
    NextLayers,
    /// Show the tally at barlines, or hide it.
    SwapTally,
    /// Mute the parts of the band, one after the other; then none.
    NextMute,
    /// Show or hide the list of all keys.
    AllKeys,
    /// Hide the list of all keys.
    Close,
    /// Draw everything anew.
    Redraw,
    /// Give the terminal back until the program is called up again.
    Suspend,
}

/// Every key of the playing screen.
pub const PLAYING: Bindings<Action> = Bindings(&[
    shown(KeyCode::Char(' '), "space", "stop", Action::Stop),
    shown(KeyCode::Char('d'), "d", "degree/name", Action::SwapNaming),
    shown(KeyCode::Char('w'), "w", "window", Action::SwapWindow),
    shown(KeyCode::Char('l'), "l", "layers", Action::NextLayers),
    shown(KeyCode::Char('k'), "k", "neck, keys", Action::SwapInstrument),
    shown(KeyCode::Char('t'), "t", "tally", Action::SwapTally),
    shown(KeyCode::Char('m'), "m", "mute", Action::NextMute),
    also(KeyCode::Esc, Action::Close),
    listed(KeyCode::Char('q'), "q", "stop now", Action::StopNow),
    with_control(listed(KeyCode::Char('c'), "ctrl-c", "stop now", Action::StopNow)),
    with_control(listed(KeyCode::Char('l'), "ctrl-l", "draw anew", Action::Redraw)),
    with_control(listed(KeyCode::Char('z'), "ctrl-z", "to the shell", Action::Suspend)),
    shown(KeyCode::Char('?'), "?", "all keys", Action::AllKeys),
]);

#[cfg(test)]
mod tests {
    use super::*;
    use crate::screen::bindings::tests::check_table;

    #[test]
    fn every_key_of_the_table_does_what_it_says() {
        check_table(PLAYING);
    }
}
