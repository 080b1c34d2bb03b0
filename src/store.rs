//! What stays on disk: the player's settings and takes, and what was entered about them.
//!
//! It knows no music beyond the words a setting may have, and no statistics. This room touches files; it runs on the
//! thread that asks.

pub mod device_facts;
pub mod error_words;
pub mod probe;
pub mod replace;
pub mod settings;
pub mod raw_log;
pub mod sound_font_file;
pub mod takes;
pub mod journal;
pub mod kept_scales;
pub mod index;
pub mod everything;
