//! Cleaning: from a track's raw messages to notes, each note-on listed, with a reason for every one set aside.
//!
//! The rules stand one a file and run in this order: strokes and their ends (`stroke`), strings by channel
//! (`strings`), ghosts and re-triggers (`ghost`), bends (`bend`, `bend_range`), latency (`latency`), double stops
//! (`event`), ornaments (`ornament`). Cleaning knows no chords; which notes fall outside the form is the tally's.

mod bend;
mod bend_range;
mod event;
mod ghost;
mod latency;
mod ornament;
mod strings;
mod stroke;

pub use latency::Latency;
pub use strings::{ChannelOrder, StringMap};

use crate::theory::Pitch;
use crate::time::{Meter, Nanos, TempoMap, Ticks};

use super::message::TimedMessage;
use super::note::Note;
use super::warning::Warning;

/// MIDI keys of the open strings in standard tuning, lowest first: E2 A2 D3 G3 B3 E4 (common practice).
pub const STANDARD_TUNING: [u8; 6] = [40, 45, 50, 55, 59, 64];

/// How a take is cleaned; stored with the take, since each of these can change a figure.
#[derive(Clone, Debug, PartialEq)]
pub struct CleanSettings {
    /// The open strings, lowest first; default [`STANDARD_TUNING`]. Used where each string has a channel of its own.
    pub tuning: Vec<Pitch>,
    /// Which way the channels run over the strings; default: found out, string 1 on the lowest channel if both fit.
    pub channel_order: ChannelOrder,
    /// The channel (0 to 15) of the first string, where it is known; default: found out.
    pub basic_channel: Option<u8>,
    /// Pitch-bend range in semitones instead of what the messages say (RPN 0; 2 semitones where they say nothing,
    /// MIDI 1.0 practice).
    pub bend_range: Option<u8>,
    /// Whether misread notes are set aside; default on.
    pub ghost_filter: GhostFilter,
    /// What is taken off every onset and end; default none.
    pub latency: Latency,
}

/// Whether misread notes are set aside.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub enum GhostFilter {
    /// Ghosts and re-triggers are left out of every count.
    #[default]
    On,
    /// Every note counts.
    Off,
}

impl Default for CleanSettings {
    fn default() -> Self {
        Self {
            tuning: STANDARD_TUNING.iter().filter_map(|&key| Pitch::new(key)).collect(),
            channel_order: ChannelOrder::default(),
            basic_channel: None,
            bend_range: None,
            ghost_filter: GhostFilter::default(),
            latency: Latency::default(),
        }
    }
}

/// The musical time a take was played in.
#[derive(Clone, Copy, Debug)]
pub struct Timeline<'a> {
    /// Its tempo map.
    pub tempo: &'a TempoMap,
    /// Its meters and where each begins, in order; 4/4 before the first.
    pub meters: &'a [(Ticks, Meter)],
    /// Its end.
    pub end: Nanos,
}

impl Timeline<'_> {
    /// The meter at `at`.
    pub fn meter(&self, at: Ticks) -> Meter {
        let after = self.meters.partition_point(|&(from, _)| from <= at);
        let meter = after.checked_sub(1).map(|index| self.meters[index].1);
        meter.unwrap_or(Meter::FOUR_FOUR)
    }
}

/// A cleaned take.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cleaned {
    /// Every note-on in the order they came, so in the order of their onsets; a bent note may give two
    /// ([`BendPart`](super::note::BendPart)), the second at its own onset. Where latency is corrected by pitch, in
    /// the order of the corrected onsets ([`Note::index`] keeps the order they came in).
    pub notes: Vec<Note>,
    /// Which channel is which string, where each string has one.
    pub strings: Option<StringMap>,
    /// What was odd.
    pub warnings: Vec<Warning>,
}

/// Cleans the messages of one track, which stand in order of time.
pub fn clean(messages: &[TimedMessage], timeline: Timeline<'_>, settings: &CleanSettings) -> Cleaned {
    let mut warnings = Vec::new();
    let layout = strings::find(messages, settings);
    warnings.extend(layout.warning);
    let (mut strokes, curves) = stroke::collect(messages, settings);
    warnings.extend(stroke::close(&mut strokes, layout.mono_channels, timeline));
    if settings.ghost_filter == GhostFilter::On {
        ghost::set_aside(&mut strokes, layout.map.as_ref());
    }
    strings::damp(&mut strokes, layout.mono_channels);
    let mut notes = bend::sound(&strokes, &curves, layout.map.as_ref());
    settings.latency.correct(&mut notes);
    let events = event::group(&mut notes, layout.map.is_some());
    ornament::set_aside(&mut notes, &events);
    Cleaned { notes, strings: layout.map, warnings }
}

#[cfg(test)]
mod fixture;
#[cfg(test)]
mod tests;
