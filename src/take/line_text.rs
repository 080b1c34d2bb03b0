//! A line as plain text: its messages on their ticks, to travel in files that people mail and read.
//!
//! `0/903c54 5040/803c00` is a strike of key 60 at once and its end a quarter of a quarter note later: ticks since the
//! message before (20,160 to the quarter note), then the bytes of the wire in hexadecimal. Blanks and line ends separate.
//! Nothing but channel messages fits in: no text, no clock, no name.

use crate::time::{TickSpan, Ticks};

use super::message::{ChannelMessage, TimedMessage};

/// The longest line of text, in characters.
const WIDTH: usize = 100;

/// The most messages that are read: an hour of dense bends.
pub const MOST_MESSAGES: usize = 400_000;

/// The latest tick that is read: as long as the longest MIDI file.
const LATEST: i64 = 1_000_000 * crate::time::TICKS_PER_QUARTER;

/// Says why a text is no line.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoLine {
    /// A word that is no message.
    #[error(
        "message {number} of the notes, \"{word}\", is none: ticks, a stroke, the bytes, as in 5040/903c54"
    )]
    Message {
        /// Which, from 1.
        number: usize,
        /// The word, cut short.
        word: String,
    },
    /// More messages than are read.
    #[error("the notes have more than {MOST_MESSAGES} messages, the most that is read")]
    TooMany,
    /// A take longer than any that is read.
    #[error("message {number} of the notes comes later than any take that is read")]
    TooLate {
        /// Which, from 1.
        number: usize,
    },
}

/// Messages in order of time, as text.
pub fn write(messages: &[TimedMessage]) -> String {
    let mut text = String::new();
    let mut column = 0;
    let mut last = Ticks::ZERO;
    for message in messages {
        let wire = message.message.wire().iter();
        let word: String = [format!("{}/", (message.ticks - last).0)]
            .into_iter()
            .chain(wire.map(|byte| format!("{byte:02x}")))
            .collect();
        last = message.ticks;
        if column > 0 {
            let fits = column + 1 + word.len() <= WIDTH;
            text.push(if fits { ' ' } else { '\n' });
            column = if fits { column + 1 } else { 0 };
        }
        column += word.len();
        text.push_str(&word);
    }
    text
}

/// The messages of a text, each on its tick, in order.
pub fn read(text: &str) -> Result<Vec<(Ticks, ChannelMessage)>, NoLine> {
    let mut at = Ticks::ZERO;
    let mut messages = Vec::new();
    for (index, word) in text.split_ascii_whitespace().enumerate() {
        let number = index + 1;
        if number > MOST_MESSAGES {
            return Err(NoLine::TooMany);
        }
        let (since, message) =
            message(word).ok_or_else(|| NoLine::Message { number, word: word.chars().take(20).collect() })?;
        at += since;
        if at.0 > LATEST {
            return Err(NoLine::TooLate { number });
        }
        messages.push((at, message));
    }
    Ok(messages)
}

fn message(word: &str) -> Option<(TickSpan, ChannelMessage)> {
    let (ticks, hex) = word.split_once('/')?;
    let ticks = ticks.parse().ok().filter(|ticks| (0..=LATEST).contains(ticks))?;
    let mut wire = [0; 3];
    if hex.len() % 2 == 1 || hex.len() > 2 * wire.len() || !hex.bytes().all(|byte| byte.is_ascii_hexdigit()) {
        return None;
    }
    let bytes = hex.len() / 2;
    for (index, byte) in wire.iter_mut().take(bytes).enumerate() {
        *byte = u8::from_str_radix(hex.get(2 * index..2 * index + 2)?, 16).ok()?;
    }
    Some((TickSpan(ticks), ChannelMessage::from_wire(&wire[..bytes])?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::Nanos;
    use proptest::prelude::*;

    fn timed(at: i64, wire: &[u8]) -> TimedMessage {
        let message = ChannelMessage::from_wire(wire).expect("a message");
        TimedMessage { at: Nanos::ZERO, ticks: Ticks(at), message }
    }

    #[test]
    fn a_strike_and_its_end_are_written_plainly() {
        let text = write(&[timed(0, &[0x90, 60, 84]), timed(5040, &[0x80, 60, 0]), timed(5040, &[0xC1, 7])]);
        assert_eq!(text, "0/903c54 5040/803c00 0/c107");
    }

    #[test]
    fn what_is_no_line_is_said_by_its_place() {
        let check = |text: &str, expect: &str| {
            let message = read(text).expect_err("no line").to_string();
            assert!(message.contains(expect), "{message}");
        };
        check("0/903c54 x", "message 2 of the notes, \"x\", is none");
        check("-1/903c54", "message 1");
        check("0/f8", "message 1");
        check("0/903c5", "message 1");
        check("0/ä3c54", "message 1");
        check("0/903c54ff", "message 1");
        check(&format!("{LATEST}/903c54 {LATEST}/903c54"), "message 2 of the notes comes later");
        check(&"9".repeat(400), "\"99999999999999999999\"");
    }

    proptest! {
        #[test]
        fn what_is_written_is_read(line in prop::collection::vec((0i64..100_000, 0x80u8..0xF0, 0u8..128, 0u8..128), 0..60)) {
            let mut at = 0;
            let messages: Vec<TimedMessage> = line.iter().map(|&(since, status, first, second)| {
                at += since;
                let wire = [status, first, second];
                let bytes = if matches!(status, 0xC0..=0xDF) { 2 } else { 3 };
                timed(at, &wire[..bytes])
            }).collect();
            let text = write(&messages);
            prop_assert!(text.lines().all(|line| line.len() <= WIDTH));
            let expect: Vec<_> = messages.iter().map(|timed| (timed.ticks, timed.message)).collect();
            prop_assert_eq!(read(&text), Ok(expect));
        }

        #[test]
        fn any_text_is_read_or_refused(text in ".{0,80}") {
            let _ = read(&text);
        }
    }
}
