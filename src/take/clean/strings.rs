//! Channels as strings: a guitar that sends each string on a channel of its own (MIDI mode 4, omni off and mono).
//!
//! Found out, not assumed: by the mode messages (CC126), or by notes on three or more channels of at most eight in a
//! row, one voice each; and the notes must fit the tuning. Notes on a single channel name no strings.

mod layout;

pub(super) use layout::find;

use super::stroke::Stroke;
use crate::theory::Pitch;
use crate::time::Nanos;

/// Frets a string is taken to have (common practice: 24 at most).
const FRETS: u8 = 24;

/// Which way the channels run over the strings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub enum ChannelOrder {
    /// Whichever fits the tuning; string 1 on the lowest channel where both fit.
    #[default]
    Detect,
    /// String 1, the highest, on the lowest channel (usual with converters: common practice).
    HighFirst,
    /// The lowest string on the lowest channel.
    LowFirst,
}

/// Which channel is which string.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StringMap {
    basic_channel: u8,
    /// The open strings in the order of their channels.
    opens: Vec<Pitch>,
    /// Whether the first of them is string 1.
    high_first: bool,
}

impl StringMap {
    fn new(basic_channel: u8, tuning: &[Pitch], order: ChannelOrder) -> Self {
        let high_first = order != ChannelOrder::LowFirst;
        let mut opens = tuning.to_vec();
        if high_first {
            opens.reverse();
        }
        Self { basic_channel, opens, high_first }
    }

    /// The channel (0 to 15) of the first string in the order of channels.
    pub fn basic_channel(&self) -> u8 {
        self.basic_channel
    }

    /// The way the channels run over the strings: high first or low first.
    pub fn order(&self) -> ChannelOrder {
        if self.high_first { ChannelOrder::HighFirst } else { ChannelOrder::LowFirst }
    }

    /// The string of a channel, 1 the highest; `None` for channels beyond the strings.
    pub fn string(&self, channel: u8) -> Option<u8> {
        let place = self.place(channel)?;
        let strings = self.opens.len();
        let string = if self.high_first { place + 1 } else { strings - place };
        u8::try_from(string).ok()
    }

    /// The pitch of a channel's open string.
    pub fn open(&self, channel: u8) -> Option<Pitch> {
        self.place(channel).map(|place| self.opens[place])
    }

    /// The fret of a key on a channel's string; `None` below the open string.
    pub fn fret(&self, channel: u8, key: u8) -> Option<u8> {
        key.checked_sub(self.open(channel)?.key())
    }

    fn place(&self, channel: u8) -> Option<usize> {
        let place = usize::from(channel.checked_sub(self.basic_channel)?);
        (place < self.opens.len()).then_some(place)
    }
}

/// Ends each note of a one-voice channel where the next note that counts begins: a string sounds one note at a time.
pub(super) fn damp(strokes: &mut [Stroke], mono_channels: u16) {
    let mut next_on: [Option<Nanos>; 16] = [None; 16];
    for stroke in strokes.iter_mut().rev() {
        let channel = usize::from(stroke.channel);
        if mono_channels >> channel & 1 == 0 {
            continue;
        }
        if let Some(next) = next_on[channel] {
            stroke.off = stroke.off.min(next);
        }
        if stroke.left_out.is_none() {
            next_on[channel] = Some(stroke.on);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::take::clean::CleanSettings;

    #[test]
    fn strings_and_frets_follow_the_channel_either_way() {
        let tuning = CleanSettings::default().tuning;
        let high_first = StringMap::new(0, &tuning, ChannelOrder::HighFirst);
        assert_eq!(high_first.string(0), Some(1));
        assert_eq!(high_first.string(5), Some(6));
        assert_eq!(high_first.string(6), None);
        assert_eq!(high_first.fret(1, 62), Some(3), "D4 on the B string");
        assert_eq!(high_first.fret(1, 58), None, "below the open string");
        let low_first = StringMap::new(10, &tuning, ChannelOrder::LowFirst);
        assert_eq!(low_first.string(10), Some(6));
        assert_eq!(low_first.fret(10, 43), Some(3));
        assert_eq!(low_first.string(9), None);
    }
}
