//! `soundcheck --learn-strings`: which channel is which string, from open strings plucked one after the other.

use crate::command::exit_status::{Ending, Failure};
use crate::command::output::Output;
use crate::live::listening::Heard;
use crate::neck::Tuning;
use crate::store::device_facts::{DeviceFacts, StringsFact};
use crate::store::settings::Settings;
use crate::store::settings::choice::Choice;
use crate::store::takes::FOLDER_VARIABLE;
use crate::take::clean::ChannelOrder;
use crate::theory::spelling::Accidental;
use crate::theory::{NoteName, Pitch};
use crate::time::{NanoSpan, Nanos};

use super::SoundcheckArgs;
use super::listen::{begin_with, device_of};

/// How long the strings are waited for.
const PATIENCE: NanoSpan = NanoSpan::millis(60_000);

/// A string that was plucked: its channel, 0 to 15, and what it sounded.
type Plucked = (u8, Pitch);

/// Says why strings and channels could not be matched, and what to do.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
enum NotLearnt {
    /// Fewer strings than the tuning has.
    #[error(
        "{heard} of {of} strings were heard. Pluck each open string once, the lowest first, and let it ring"
    )]
    TooFew {
        /// Strings heard.
        heard: usize,
        /// Strings of the tuning.
        of: usize,
    },
    /// A string that sounds otherwise than its tuning.
    #[error(
        "string {string} sounds {sounds}, the tuning says {tuned}. Tune it, or name your tuning with barwise settings tuning"
    )]
    Tuning {
        /// Which, 1 the highest.
        string: usize,
        /// What it sounds.
        sounds: String,
        /// What it should.
        tuned: String,
    },
    /// All on one channel.
    #[error(
        "all strings come on channel {channel}: switch the instrument to one channel a string (mono mode, mode 4)"
    )]
    OneChannel {
        /// Which, 1 to 16.
        channel: u8,
    },
    /// No run of channels.
    #[error(
        "the strings come on channels {channels}, which are not in a row. Damp the other strings and try again"
    )]
    NoRow {
        /// The channels, from the lowest string on.
        channels: String,
    },
}

/// Carries it out.
pub fn learn_strings(
    args: &SoundcheckArgs,
    settings: &Settings,
    out: &mut Output,
) -> Result<Ending, Failure> {
    let mut facts = DeviceFacts::of_user(std::env::var_os(FOLDER_VARIABLE))?;
    let device = device_of(args, &facts)?;
    let mut listening = begin_with(&device, args, out)?;
    let strings = settings.tuning.strings().len();
    out.remark(&format!("Pluck the {strings} open strings one after the other, the lowest first."));
    let mut plucked: Vec<Plucked> = Vec::new();
    while plucked.len() < strings && listening.now() < Nanos::ZERO + PATIENCE {
        match listening.hear() {
            Heard::Message(stamped) if stamped.message.starts_note() => {
                let [status, key, _] = *stamped.message.bytes() else { continue };
                let pluck = Pitch::new(key).map(|pitch| (status & 0x0f, pitch));
                // A string that speaks twice is one string.
                plucked.extend(pluck.filter(|pluck| plucked.last() != Some(pluck)));
            }
            Heard::Over => break,
            _ => {}
        }
    }
    match learnt(&plucked, &settings.tuning) {
        Ok(fact) => {
            facts.learn(&device, |known| known.strings = Some(fact.clone()))?;
            out.remark(&format!(
                "Learnt for {device}: one channel a string from channel {}, {}.",
                fact.first_channel, fact.order
            ));
            Ok(Ending::Fine)
        }
        Err(why) => {
            out.remark(&format!("{why}. Nothing is kept."));
            Ok(Ending::NoVerdict)
        }
    }
}

/// What the plucked strings tell, the lowest first.
fn learnt(plucked: &[Plucked], tuning: &Tuning) -> Result<StringsFact, NotLearnt> {
    let of = tuning.strings().len();
    if plucked.len() < of {
        return Err(NotLearnt::TooFew { heard: plucked.len(), of });
    }
    let pairs = plucked.iter().zip(tuning.strings()).enumerate();
    for (index, (&(_, sounds), &tuned)) in pairs {
        if sounds != tuned {
            return Err(NotLearnt::Tuning { string: of - index, sounds: name(sounds), tuned: name(tuned) });
        }
    }
    let channels: Vec<u8> = plucked.iter().map(|&(channel, _)| channel).collect();
    let steps = |up: bool| {
        channels.windows(2).all(|pair| if up { pair[0] + 1 == pair[1] } else { pair[1] + 1 == pair[0] })
    };
    let (lowest, highest) = (channels[0], channels[channels.len() - 1]);
    let fact = |first: u8, order: ChannelOrder| StringsFact {
        first_channel: first + 1,
        order: order.word().to_owned(),
    };
    match () {
        () if of > 1 && channels.iter().all(|&channel| channel == lowest) => {
            Err(NotLearnt::OneChannel { channel: lowest + 1 })
        }
        () if steps(false) => Ok(fact(highest, ChannelOrder::HighFirst)),
        () if steps(true) => Ok(fact(lowest, ChannelOrder::LowFirst)),
        () => {
            let channels: Vec<String> = channels.iter().map(|channel| (channel + 1).to_string()).collect();
            Err(NotLearnt::NoRow { channels: channels.join(", ") })
        }
    }
}

fn name(pitch: Pitch) -> String {
    pitch.written(NoteName::plain(pitch.pitch_class(), Accidental::Flat)).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    const STANDARD: [u8; 6] = [40, 45, 50, 55, 59, 64];

    fn check(channels: &[u8], keys: &[u8], expect: Result<(u8, &str), &str>) {
        let plucked: Vec<Plucked> = channels
            .iter()
            .zip(keys)
            .map(|(&channel, &key)| (channel, Pitch::new(key).expect("a key")))
            .collect();
        let found = learnt(&plucked, &Tuning::standard());
        match (found, expect) {
            (Ok(fact), Ok((first, order))) => {
                assert_eq!((fact.first_channel, fact.order.as_str()), (first, order));
            }
            (Err(why), Err(words)) => assert!(why.to_string().contains(words), "{why}"),
            (found, expect) => panic!("{found:?}, not {expect:?}"),
        }
    }

    #[test]
    fn channels_run_over_the_strings_either_way() {
        check(&[5, 4, 3, 2, 1, 0], &STANDARD, Ok((1, "high-first")));
        check(&[10, 11, 12, 13, 14, 15], &STANDARD, Ok((11, "low-first")));
    }

    #[test]
    fn what_does_not_fit_is_said_with_what_to_do() {
        check(&[0; 6], &STANDARD, Err("all strings come on channel 1: switch"));
        check(&[0, 1, 2, 4, 5, 6], &STANDARD, Err("channels 1, 2, 3, 5, 6, 7"));
        check(&[0, 1, 2], &STANDARD, Err("3 of 6 strings"));
        check(&[5, 4, 3, 2, 1, 0], &[38, 45, 50, 55, 59, 64], Err("string 6 sounds D2, the tuning says E2"));
    }
}
