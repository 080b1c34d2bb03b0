//! Finding out whether, and how, channels are strings.

use super::{ChannelOrder, FRETS, StringMap};
use crate::take::clean::CleanSettings;
use crate::take::message::{Meaning, TimedMessage};
use crate::take::warning::Warning;
use crate::time::{NanoSpan, Nanos};

/// Fewest channels with notes that look like strings where no mode message says so.
const FEWEST_STRINGS: u32 = 3;
/// The same where mode messages do: notes on a single channel name no strings.
const FEWEST_DECLARED: u32 = 2;
/// Most channels in a row that can be the strings of one instrument.
const MOST_STRINGS: u32 = 8;
/// How long an old voice may sound into a new one of the same channel before the channel has two voices.
const LEGATO: NanoSpan = NanoSpan::millis(50);
/// Where channels are usually counted from: 1, and 11 so that the last is 16 (common practice).
const USUAL_BASIC_CHANNELS: [u8; 2] = [0, 10];
/// The share of notes, in quarters, that must lie on the strings of a tuning for it to be believed.
const BELIEVED_QUARTERS: usize = 3;

/// What the channels turned out to be.
#[derive(Debug, PartialEq, Eq)]
pub(in crate::take::clean) struct Layout {
    pub map: Option<StringMap>,
    /// The channels with one voice each, one bit a channel: a note there ends the one before.
    pub mono_channels: u16,
    pub warning: Option<Warning>,
}

/// What is found about the channels in one walk through the messages.
#[derive(Default)]
struct Survey {
    /// Channels with notes, with two voices at once, put in mono mode by CC126; one bit a channel.
    used: u16,
    poly: u16,
    declared: u16,
    mpe: bool,
    latest: [Voice; 16],
    selected_mpe: [bool; 16],
}

#[derive(Clone, Copy, Default)]
struct Voice {
    key: u8,
    since: Nanos,
}

/// Decides whether the channels of these messages are strings.
pub(in crate::take::clean) fn find(messages: &[TimedMessage], settings: &CleanSettings) -> Layout {
    let survey = Survey::of(messages, settings.tuning.len());
    let mut layout = Layout { map: None, mono_channels: survey.declared, warning: None };
    let Some((first, last)) = survey.group() else {
        return layout;
    };
    layout.map = best_map(messages, (first, last), survey.is_declared(), settings);
    if layout.map.is_some() {
        layout.mono_channels |= survey.used;
    } else {
        let (first, last) = (first + 1, last + 1);
        layout.warning = Some(Warning::TuningMismatch { first, last });
    }
    layout
}

impl Survey {
    fn of(messages: &[TimedMessage], strings: usize) -> Self {
        let mut survey = Self::default();
        for timed in messages {
            let channel = usize::from(timed.message.channel());
            match timed.message.meaning() {
                Meaning::NoteOn { key, .. } => {
                    survey.used |= 1 << channel;
                    survey.latest[channel] = Voice { key, since: timed.at };
                }
                Meaning::NoteOff { key } => survey.let_go(channel, key, timed.at),
                Meaning::Control { controller, value } => survey.control(channel, controller, value, strings),
                Meaning::Bend(_) | Meaning::Other => {}
            }
        }
        survey
    }

    /// A key let go long after another was struck on its channel: two voices.
    fn let_go(&mut self, channel: usize, key: u8, at: Nanos) {
        let latest = self.latest[channel];
        if latest.key != key && at - latest.since > LEGATO {
            self.poly |= 1 << channel;
        }
    }

    /// CC126 puts `value` channels from its own on in mono mode, 0 as many as there are voices (MIDI 1.0); CC127
    /// takes it back. RPN 6 opens an MPE zone, whose channels are fingers, not strings.
    fn control(&mut self, channel: usize, controller: u8, value: u8, strings: usize) {
        match controller {
            126 => {
                let voices = if value == 0 { strings } else { usize::from(value) };
                let voices = voices.min(16 - channel) as u32;
                let bits = ((1u32 << voices) - 1) as u16;
                self.declared |= bits << channel;
            }
            127 => self.declared &= !(1 << channel),
            100 => self.selected_mpe[channel] = value == 6,
            6 => self.mpe |= self.selected_mpe[channel],
            _ => {}
        }
    }

    /// Whether mode messages speak of more than one channel: a single one is a wind controller or a synthesizer.
    fn is_declared(&self) -> bool {
        self.declared.count_ones() > 1
    }

    /// The lowest and highest channel of what looks like an instrument with a channel for each string.
    fn group(&self) -> Option<(u8, u8)> {
        let one_voice_each = self.used & self.poly == 0 && !self.mpe;
        let (channels, fewest, plausible) = if self.is_declared() {
            (self.declared | self.used, FEWEST_DECLARED, true)
        } else {
            (self.used, FEWEST_STRINGS, one_voice_each)
        };
        let (first, last) = (channels.trailing_zeros(), 15u32.checked_sub(channels.leading_zeros())?);
        let enough = self.used.count_ones() >= fewest;
        (plausible && enough && last - first < MOST_STRINGS).then_some((first as u8, last as u8))
    }
}

/// The map that puts most notes on its strings; the usual one of several that do. Unless channel and order are asked
/// for, it must put three quarters of them there.
fn best_map(
    messages: &[TimedMessage],
    channels: (u8, u8),
    declared: bool,
    settings: &CleanSettings,
) -> Option<StringMap> {
    let orders = match settings.channel_order {
        ChannelOrder::Detect => &[ChannelOrder::HighFirst, ChannelOrder::LowFirst][..],
        ChannelOrder::HighFirst => &[ChannelOrder::HighFirst],
        ChannelOrder::LowFirst => &[ChannelOrder::LowFirst],
    };
    let mut best: Option<(Fit, StringMap)> = None;
    for basic in basic_channels(channels, declared, settings) {
        for &order in orders {
            let map = StringMap::new(basic, &settings.tuning, order);
            let fit = Fit::of(messages, &map);
            if best.as_ref().is_none_or(|(most, _)| fit.fitting > most.fitting) {
                best = Some((fit, map));
            }
        }
    }
    let asked_for = settings.basic_channel.is_some() && settings.channel_order != ChannelOrder::Detect;
    let believed = |fit: &Fit| asked_for || fit.fitting * 4 >= fit.notes * BELIEVED_QUARTERS;
    best.filter(|(fit, _)| believed(fit)).map(|(_, map)| map)
}

/// The channels that the first string may be on, the likeliest first.
fn basic_channels((first, last): (u8, u8), declared: bool, settings: &CleanSettings) -> Vec<u8> {
    if let Some(channel) = settings.basic_channel {
        return vec![channel];
    }
    if declared {
        return vec![first];
    }
    let reaches = |&basic: &u8| basic <= first && usize::from(last - basic) < settings.tuning.len();
    let all = USUAL_BASIC_CHANNELS.into_iter().chain((0..=first).rev());
    all.filter(reaches).collect()
}

/// How many of the notes lie on the strings of a map.
struct Fit {
    fitting: usize,
    notes: usize,
}

impl Fit {
    fn of(messages: &[TimedMessage], map: &StringMap) -> Self {
        let (mut fitting, mut notes) = (0, 0);
        for timed in messages {
            if let Meaning::NoteOn { key, .. } = timed.message.meaning() {
                notes += 1;
                let fret = map.fret(timed.message.channel(), key);
                fitting += usize::from(fret.is_some_and(|fret| fret <= FRETS));
            }
        }
        Self { fitting, notes }
    }
}
