//! What was heard so far, and which notes of it are settled: let go of, or long enough held to be known.

use crate::live::StampedMessage;
use crate::take::clean::{CleanSettings, Timeline, clean};
use crate::take::note::{LeftOut, Note};
use crate::take::{ChannelMessage, TimedMessage};
use crate::theory::NoteName;
use crate::theory::spelling::Accidental;
use crate::time::{NanoSpan, Nanos, TempoMap};

/// After this long a note that still sounds is shown all the same.
const LONG: NanoSpan = NanoSpan::millis(1_000);
/// Whether a note is a ghost may depend on what comes this soon after it.
const SOON: NanoSpan = NanoSpan::millis(100);
/// Messages after which what was heard is forgotten: an hour of dense playing.
const MOST: usize = 50_000;

/// Everything heard so far.
pub struct HeardSoFar {
    messages: Vec<TimedMessage>,
    settings: CleanSettings,
    /// How many note-ons came, and the first of them that was not given yet.
    struck: u32,
    next: u32,
}

impl HeardSoFar {
    /// Nothing heard yet; notes will be cleaned by `settings`.
    pub const fn new(settings: CleanSettings) -> Self {
        Self { messages: Vec::new(), settings, struck: 0, next: 0 }
    }

    /// Takes in a message.
    pub fn take(&mut self, stamped: &StampedMessage) {
        if self.messages.len() >= MOST {
            self.messages.clear();
            (self.struck, self.next) = (0, 0);
        }
        if let Some(message) = ChannelMessage::from_wire(stamped.message.bytes()) {
            let ticks = TempoMap::default().ticks(stamped.at);
            self.struck += u32::from(stamped.message.starts_note());
            self.messages.push(TimedMessage { at: stamped.at, ticks, message });
        }
    }

    /// The notes that are settled by `until` and were not given before, in the order they were struck.
    pub fn settled(&mut self, until: Nanos) -> Vec<Note> {
        if self.next >= self.struck {
            return Vec::new();
        }
        let timeline = Timeline { tempo: &TempoMap::default(), meters: &[], end: until };
        let mut notes = clean(&self.messages, timeline, &self.settings).notes;
        notes.retain(|note| note.index >= self.next);
        notes.sort_by_key(|note| note.index);
        let is_settled = |note: &Note| until - note.on > LONG || note.off < until && until - note.off > SOON;
        let settled = notes.iter().position(|note| !is_settled(note)).unwrap_or(notes.len());
        // The two parts of a bent note go together.
        let waits_for = notes.get(settled).map(|note| note.index);
        notes.truncate(settled);
        notes.retain(|note| Some(note.index) != waits_for);
        self.next = notes.last().map_or(self.next, |note| note.index + 1);
        notes
    }
}

/// The headings of a row.
pub const HEADINGS: [&str; 8] = ["ms", "channel", "string", "fret", "note", "velocity", "cents", "left out"];

/// A note as a row.
pub fn row(note: &Note) -> [String; 8] {
    let or_dash = |number: Option<u8>| number.map_or_else(|| "-".to_owned(), |number| number.to_string());
    let name = NoteName::plain(note.pitch.pitch_class(), Accidental::Flat);
    [
        format!("{:.0}", (note.on - Nanos::ZERO).in_millis()),
        (note.channel + 1).to_string(),
        or_dash(note.string),
        or_dash(note.fret),
        note.pitch.written(name).to_string(),
        note.velocity.to_string(),
        note.bend_cents.to_string(),
        note.left_out.map_or("", left_out).to_owned(),
    ]
}

/// Why a note is left out, in the words of the records.
const fn left_out(why: LeftOut) -> &'static str {
    match why {
        LeftOut::Ghost => "ghost",
        LeftOut::Ornament => "ornament",
        LeftOut::Retrigger => "retrigger",
        LeftOut::Between => "between",
        LeftOut::NoChord => "no-chord",
        LeftOut::CountIn => "count-in",
        LeftOut::Head => "head",
        LeftOut::NotYours => "not-yours",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::live::ShortMessage;

    fn heard(sent: &[(i64, [u8; 3])], until_ms: i64) -> (HeardSoFar, Vec<[String; 8]>) {
        let mut heard = HeardSoFar::new(CleanSettings::default());
        for &(ms, bytes) in sent {
            let message = ShortMessage::new(&bytes).expect("a message");
            heard.take(&StampedMessage { at: Nanos(ms * 1_000_000), message });
        }
        let rows = heard.settled(Nanos(until_ms * 1_000_000)).iter().map(row).collect();
        (heard, rows)
    }

    #[test]
    fn a_note_is_given_once_when_it_is_over() {
        let sent = [(10, [0x90, 58, 90]), (400, [0x80, 58, 0])];
        assert_eq!(heard(&sent[..1], 300).1, Vec::<[String; 8]>::new(), "it still sounds");
        let (mut so_far, rows) = heard(&sent, 600);
        assert_eq!(rows, [["10", "1", "-", "-", "Bb3", "90", "0", ""].map(str::to_owned)]);
        assert!(so_far.settled(Nanos(9_000_000_000)).is_empty());
        assert_eq!(heard(&sent[..1], 1_200).1.len(), 1, "held long, it is given all the same");
    }

    #[test]
    fn channels_tell_strings_and_ghosts_say_so() {
        let pluck = |at: i64, channel: u8, key: u8, velocity: u8, length: i64| {
            [(at, [0x90 | channel, key, velocity]), (at + length, [0x80 | channel, key, 0])]
        };
        let sent = [
            pluck(0, 0, 64, 90, 300),
            pluck(500, 1, 59, 90, 300),
            pluck(1000, 2, 57, 90, 300),
            pluck(1500, 2, 60, 10, 15),
        ];
        let (_, rows) = heard(&sent.concat(), 3_000);
        let told: Vec<String> = rows.iter().map(|row| [&row[2..5], &row[7..]].concat().join(" ")).collect();
        assert_eq!(told, ["1 0 E4 ", "2 0 B3 ", "3 2 A3 ", "3 5 C4 ghost"]);
    }
}
