//! Settings: what the trade disagrees about and what differs from player to player, each with a name and a default.
//!
//! [`Settings`] holds the values, typed. [`table`] names them and [`kind`] says which values they take; [`sources`] decides
//! which of flag, environment, file and default wins; [`mod@file`] reads and changes the settings file and [`bad_line`] says what
//! is not understood in it. The rooms that judge never see this one: they are handed the values they need.

pub mod choice;
pub mod file;
pub mod kind;
pub mod place;
pub mod rooms;
pub mod bad_line;
pub mod sources;
pub mod table;

pub use bad_line::Slip;
pub use choice::{Background, ColorUse};
pub use file::{SettingsFile, SettingsFileError};
pub use kind::Value;
pub use sources::{Flag, Origin, Resolved, Sources, SourcesError};
pub use table::{Setting, TABLE};

use crate::band::Levels;
use crate::neck::Tuning;
use crate::store::sound_font_file::SoundFontPath;
use crate::take::clean::ChannelOrder;
use crate::tally::settings::{Counting, ShareBy};
use crate::theory::Written;
use crate::theory::chord::BareSymbols;

/// Every named setting with its value.
///
/// The ranges of the numbers stand in [`TABLE`]; values that came through [`Sources::resolve`] keep to them.
#[expect(clippy::struct_excessive_bools, reason = "each is a switch of its own, typed on or off")]
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// Whether a note of another scale in use counts as scale.
    pub counting: Counting,
    /// Whether 9, 11 and 13 written in a symbol count as chord tones.
    pub named_colours: bool,
    /// Whether a verdict looks at counted notes or at how long they sound.
    pub share_by: ShareBy,
    /// Share of a note in a running line that must sound after a change for the note to belong to the new chord.
    pub run_share: f64,
    /// The same share for a note with space after it.
    pub space_share: f64,
    /// How far the two notes of an enclosure may lie from their target, in semitones.
    pub enclosure_semitones: u8,
    /// The longest time from the first note of an enclosure to its target, in beats.
    pub enclosure_beats: f64,
    /// Whether a note that resolves by step into another octave counts as an approach.
    pub octave_approach: bool,
    /// What `sus`, `sus4`, `11` and `dim` stand for when a chart writes no more than that.
    pub bare: BareSymbols,
    /// The open strings.
    pub tuning: Tuning,
    /// The channel of the first string, 1 to 16, where an instrument sends one string a channel; found out if `None`.
    pub first_string_channel: Option<u8>,
    /// Which string is the first.
    pub string_order: ChannelOrder,
    /// The bend range in semitones, whatever the instrument says; what it says if `None`.
    pub bend_range: Option<u8>,
    /// Whether misread notes are set aside.
    pub ghost_filter: bool,
    /// How much later than it was played a note arrives, in milliseconds; subtracted from every onset.
    pub offset_ms: f64,
    /// How many periods of its own pitch a note arrives later still: 2 or so for pitch trackers, none for keyboards.
    pub offset_periods: f64,
    /// How much of the swing that the tempo asks for the backing plays: 0 is straight.
    pub swing: f64,
    /// The file of bands that a take is to meet before a faster tempo is offered; none if `None`.
    pub assignment: Option<String>,
    /// How loud each part of the backing is.
    pub levels: Levels,
    /// What plays the backing; barwise's own voices if `None`.
    pub soundfont: Option<SoundFontPath>,
    /// The key that the player's instrument is pitched in: chords, names and keys are printed as they read them.
    pub written: Written,
    /// When to use colour.
    pub color: ColorUse,
    /// Which palette suits the terminal.
    pub background: Background,
    /// Whether only ASCII signs are printed.
    pub ascii: bool,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            counting: Counting::Strict,
            named_colours: false,
            share_by: ShareBy::Count,
            run_share: 0.7,
            space_share: 0.4,
            enclosure_semitones: 2,
            enclosure_beats: 2.0,
            octave_approach: false,
            bare: BareSymbols::default(),
            tuning: Tuning::standard(),
            first_string_channel: None,
            string_order: ChannelOrder::Detect,
            bend_range: None,
            ghost_filter: true,
            offset_ms: 0.0,
            offset_periods: 0.0,
            swing: 0.7,
            assignment: None,
            levels: Levels::default(),
            soundfont: None,
            written: Written::C,
            color: ColorUse::Auto,
            background: Background::Dark,
            ascii: false,
        }
    }
}

impl Settings {
    /// The settings that could change a figure, by name, as every review carries them.
    pub fn figures(&self) -> serde_json::Map<String, serde_json::Value> {
        let judging = TABLE.iter().filter(|setting| setting.changes_figures);
        judging.map(|setting| (setting.key.to_owned(), setting.value(self).into())).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_review_carries_what_could_change_a_figure_and_nothing_else() {
        let figures = Settings { counting: Counting::Lenient, ..Settings::default() }.figures();
        assert_eq!(figures["counting"], "lenient");
        assert_eq!(figures["run-share"], 0.7);
        assert_eq!(figures["named-colours"], false);
        assert!(!figures.contains_key("color") && !figures.contains_key("swing"));
    }
}
