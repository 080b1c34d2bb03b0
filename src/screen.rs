//! Screens: drawn from a snapshot, never from what makes it.
//!
//! One file a screen. Drawing is a pure function of page, moment and area; one table makes the keys, the bottom row and
//! the list of all keys. Nothing is counted here. Runs on the thread that started the program.

pub mod foot;
pub mod input;
pub mod listen;
pub mod neck;
pub mod bindings;
pub mod assignment;
pub mod ask;
pub mod canvas;
pub mod chorus;
pub mod class;
pub mod drill;
pub mod entry_line;
pub mod home;
pub mod one_sheet;
pub mod page;
pub mod plain;
pub mod playing;
pub mod report;
pub mod progress;
pub mod reading;
pub mod sheet;
pub mod soundcheck;
pub mod still;
pub mod terminal;
pub mod theme;

pub use page::{Heading, Page};
pub use theme::{Glyphs, Ink, Theme};
