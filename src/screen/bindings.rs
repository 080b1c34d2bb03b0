//! The keys of the playing screen: one table makes the bindings, the bottom row and the list of all keys.

use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

/// What a key asks for.
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
    /// Show or hide the list of all keys.
    AllKeys,
    /// Draw everything anew.
    Redraw,
}

/// Where a binding is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Written {
    /// In the bottom row and in the list.
    BottomRow,
    /// In the list alone.
    ListOnly,
}

/// One row of the table.
#[derive(Clone, Copy, Debug)]
pub struct Binding {
    code: KeyCode,
    modifiers: KeyModifiers,
    /// The key as it is written.
    pub key: &'static str,
    /// What it does, in a word or two.
    pub does: &'static str,
    /// Where it is written.
    pub written: Written,
    action: Action,
}

const fn binding(
    code: KeyCode,
    key: &'static str,
    does: &'static str,
    written: Written,
    action: Action,
) -> Binding {
    Binding { code, modifiers: KeyModifiers::NONE, key, does, written, action }
}

const fn with_control(binding: Binding) -> Binding {
    Binding { modifiers: KeyModifiers::CONTROL, ..binding }
}

/// Every key of the playing screen, in the order it is written.
pub const PLAYING: [Binding; 9] = [
    binding(KeyCode::Char(' '), "space", "stop", Written::BottomRow, Action::Stop),
    binding(KeyCode::Char('d'), "d", "degree/name", Written::BottomRow, Action::SwapNaming),
    binding(KeyCode::Char('w'), "w", "window", Written::BottomRow, Action::SwapWindow),
    binding(KeyCode::Char('l'), "l", "layers", Written::BottomRow, Action::NextLayers),
    binding(KeyCode::Char('k'), "k", "neck, keys", Written::BottomRow, Action::SwapInstrument),
    binding(KeyCode::Char('q'), "q", "quit", Written::BottomRow, Action::StopNow),
    binding(KeyCode::Char('?'), "?", "all keys", Written::BottomRow, Action::AllKeys),
    with_control(binding(KeyCode::Char('c'), "ctrl-c", "stop now", Written::ListOnly, Action::StopNow)),
    with_control(binding(KeyCode::Char('l'), "ctrl-l", "draw anew", Written::ListOnly, Action::Redraw)),
];

/// What a key press asks for. Releases ask for nothing: few terminals report them, and those that do report both.
pub fn action(event: KeyEvent) -> Option<Action> {
    if event.kind == KeyEventKind::Release {
        return None;
    }
    let control = event.modifiers & KeyModifiers::CONTROL;
    PLAYING
        .iter()
        .find(|binding| binding.code == event.code && binding.modifiers == control)
        .map(|binding| binding.action)
}

/// The bottom row: as many bindings as `width` holds, the last of them always among these.
pub fn bottom_row(width: usize) -> String {
    let written: Vec<String> = PLAYING
        .iter()
        .filter(|binding| binding.written == Written::BottomRow)
        .map(|binding| format!("{} {}", binding.key, binding.does))
        .collect();
    let Some((last, others)) = written.split_last() else {
        return String::new();
    };
    let mut row = String::from(" ");
    for text in others {
        if row.len() + text.len() + 3 + last.len() <= width {
            row = row + text + "   ";
        }
    }
    row + last
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_of_the_table_does_what_it_says() {
        for binding in PLAYING {
            let event = KeyEvent::new(binding.code, binding.modifiers);
            assert_eq!(action(event), Some(binding.action), "{}", binding.key);
            let release = KeyEvent { kind: KeyEventKind::Release, ..event };
            assert_eq!(action(release), None);
        }
        assert_eq!(action(KeyEvent::new(KeyCode::Char('c'), KeyModifiers::NONE)), None);
        assert_eq!(action(KeyEvent::new(KeyCode::Char('?'), KeyModifiers::SHIFT)), Some(Action::AllKeys));
    }

    #[test]
    fn no_two_bindings_share_a_key() {
        let mut keys: Vec<&str> = PLAYING.iter().map(|binding| binding.key).collect();
        keys.sort_unstable();
        keys.dedup();
        assert_eq!(keys.len(), PLAYING.len());
    }

    #[test]
    fn the_bottom_row_fits_and_ends_with_all_keys() {
        for width in 12..120 {
            let row = bottom_row(width);
            assert!(row.len() <= width && row.ends_with("? all keys"), "{width}: {row}");
        }
    }
}
