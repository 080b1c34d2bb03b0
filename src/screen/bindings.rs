//! Bindings: one table a screen makes its keys, its bottom row and its list of all keys.

use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

use super::canvas::Canvas;
use super::theme::Role;

/// Where a binding is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Written {
    /// In the bottom row and in the list.
    BottomRow,
    /// In the list alone.
    ListOnly,
    /// Nowhere: a second key for what another does.
    Nowhere,
}

/// One row of a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Binding<A> {
    /// The key.
    pub code: KeyCode,
    /// Whether control is held with it.
    pub modifiers: KeyModifiers,
    /// The key as it is written.
    pub key: &'static str,
    /// What it does, in a word or two.
    pub does: &'static str,
    /// Where it is written.
    pub written: Written,
    /// What it asks for.
    pub action: A,
}

/// A key that is written in the bottom row.
pub const fn shown<A: Copy>(code: KeyCode, key: &'static str, does: &'static str, action: A) -> Binding<A> {
    Binding { code, modifiers: KeyModifiers::NONE, key, does, written: Written::BottomRow, action }
}

/// A key that is written in the list alone.
pub const fn listed<A: Copy>(code: KeyCode, key: &'static str, does: &'static str, action: A) -> Binding<A> {
    Binding { written: Written::ListOnly, ..shown(code, key, does, action) }
}

/// Another key for what one does that is written already.
pub const fn also<A: Copy>(code: KeyCode, action: A) -> Binding<A> {
    Binding { written: Written::Nowhere, ..shown(code, "", "", action) }
}

/// The same key, held with control.
pub const fn with_control<A: Copy>(binding: Binding<A>) -> Binding<A> {
    Binding { modifiers: KeyModifiers::CONTROL, ..binding }
}

/// Every key of a screen, in the order it is written. The last that is written in the bottom row always has its room.
#[derive(Clone, Copy, Debug)]
pub struct Bindings<A: 'static>(pub &'static [Binding<A>]);

impl<A: Copy> Bindings<A> {
    /// What a key press asks for. Releases ask for nothing: few terminals report them, and those that do report both.
    pub fn action(self, event: KeyEvent) -> Option<A> {
        if event.kind == KeyEventKind::Release {
            return None;
        }
        let control = event.modifiers & KeyModifiers::CONTROL;
        self.0
            .iter()
            .find(|binding| binding.code == event.code && binding.modifiers == control)
            .map(|binding| binding.action)
    }

    /// The bottom row: as many bindings as `width` holds, the last of them always among these.
    pub fn bottom_row(self, width: usize) -> String {
        let written: Vec<String> = self
            .0
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

    /// Writes the bottom row where it belongs.
    pub fn write_bottom_row(self, canvas: &mut Canvas<'_>) {
        let row = self.bottom_row(usize::from(canvas.width()));
        if let Some(last) = canvas.height().checked_sub(1) {
            canvas.write(0, last, &row, Role::Aside);
        }
    }

    /// Writes the list of all keys from row `top` on, in as many columns as it needs.
    pub fn write_list(self, top: u16, canvas: &mut Canvas<'_>) {
        let rows = canvas.height().saturating_sub(top + 1).max(1);
        let written = self.0.iter().filter(|binding| binding.written != Written::Nowhere);
        let all: Vec<String> = written.map(|binding| format!("{:11}{}", binding.key, binding.does)).collect();
        let columns = (all.len() as u16).div_ceil(rows).max(1);
        let wide = canvas.width().saturating_sub(3) / columns;
        for y in top..top.saturating_add(rows.min(all.len() as u16)) {
            canvas.clear_row(y);
        }
        for (nth, text) in all.iter().enumerate() {
            let (column, row) = (nth as u16 / rows, nth as u16 % rows);
            canvas.write_within(3 + column * wide, top + row, wide.saturating_sub(1), text, Role::Plain);
        }
    }
}

/// Checks for the table of every screen.
#[cfg(test)]
pub mod tests {
    use std::fmt::Debug;

    use super::*;

    /// Every key does what its row says, no two share one, and the bottom row fits.
    ///
    /// # Panics
    ///
    /// Where one of these does not hold.
    pub fn check_table<A: Copy + PartialEq + Debug>(table: Bindings<A>) {
        for (nth, binding) in table.0.iter().enumerate() {
            let event = KeyEvent::new(binding.code, binding.modifiers);
            assert_eq!(table.action(event), Some(binding.action), "{}", binding.key);
            let release = KeyEvent { kind: KeyEventKind::Release, ..event };
            assert_eq!(table.action(release), None);
            let same =
                |other: &Binding<A>| (other.code, other.modifiers) == (binding.code, binding.modifiers);
            assert!(!table.0[..nth].iter().any(same), "{} is bound twice", binding.key);
        }
        let last = table.0.iter().rfind(|binding| binding.written == Written::BottomRow);
        let last = last.map(|binding| format!("{} {}", binding.key, binding.does)).expect("a bottom row");
        for width in last.len() + 1..150 {
            let row = table.bottom_row(width);
            assert!(row.len() <= width && row.ends_with(&last), "{width}: {row}");
        }
    }

    #[test]
    fn control_tells_two_keys_apart_and_shift_does_not() {
        const TABLE: Bindings<u8> = Bindings(&[
            with_control(listed(KeyCode::Char('c'), "ctrl-c", "stop", 1)),
            shown(KeyCode::Char('?'), "?", "all keys", 2),
            also(KeyCode::Char('x'), 2),
        ]);
        check_table(TABLE);
        let action = |code, modifiers| TABLE.action(KeyEvent::new(KeyCode::Char(code), modifiers));
        assert_eq!(action('c', KeyModifiers::NONE), None);
        assert_eq!(action('c', KeyModifiers::CONTROL), Some(1));
        assert_eq!(action('?', KeyModifiers::SHIFT), Some(2));
    }
}
