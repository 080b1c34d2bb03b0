//! What begins a take while the clock stands: the foot, or a low note struck twice. In a take a note is music.

use super::foot::{Foot, FootSwitch};
use super::wires::{Cue, StampedMessage};
use crate::theory::spelling::Accidental;
use crate::theory::{NoteName, Pitch};
use crate::time::{NanoSpan, Nanos};

/// Two strokes within this are one cue.
const TWICE: NanoSpan = NanoSpan::millis(1000);
/// Two strokes this close are one, struck once and spoken twice (a string that is picked up again): our own bound.
const ONE: NanoSpan = NanoSpan::millis(80);

/// What was struck of late, as far as two strokes of one note go.
#[derive(Clone, Copy, Debug, Default)]
pub struct StruckTwice {
    last: Option<(Pitch, Nanos)>,
}

impl StruckTwice {
    /// The note that this message strikes for the second time within a second, no other between.
    pub fn hear(&mut self, message: &StampedMessage) -> Option<Pitch> {
        if !message.message.starts_note() {
            return None;
        }
        let pitch = Pitch::new(*message.message.bytes().get(1)?)?;
        let now = (pitch, message.at);
        let (before, at) = self.last.replace(now).filter(|(before, _)| *before == pitch)?;
        let since = message.at - at;
        if since < ONE {
            self.last = Some((before, at));
            return None;
        }
        let is_cue = since <= TWICE;
        if is_cue {
            self.last = None;
        }
        is_cue.then_some(pitch)
    }
}

/// The cues that begin a take.
#[derive(Clone, Debug, Default)]
pub struct BeginCues {
    foot: Option<Foot>,
    low_notes: Vec<Pitch>,
    struck: StruckTwice,
}

impl BeginCues {
    /// A press of `foot` begins a take, and each of `low_notes` struck twice; without any nothing does.
    pub fn new(foot: Option<FootSwitch>, low_notes: Vec<Pitch>) -> Self {
        Self { foot: foot.map(|switch| Foot::new(Some(switch))), low_notes, struck: StruckTwice::default() }
    }

    /// The cues there are, in words: `the foot`, `E2 twice`.
    pub fn words(&self) -> Vec<String> {
        let foot = self.foot.is_some().then(|| "the foot".to_owned());
        let name = |pitch: &Pitch| NoteName::plain(pitch.pitch_class(), Accidental::Flat);
        let notes = self.low_notes.iter().map(|pitch| format!("{} twice", pitch.written(name(pitch))));
        foot.into_iter().chain(notes).collect()
    }

    /// Whether this message is the cue.
    pub fn hear(&mut self, message: &StampedMessage) -> bool {
        let by_note = self.struck.hear(message).is_some_and(|pitch| self.low_notes.contains(&pitch));
        let by_foot = self.foot.as_mut().is_some_and(|foot| {
            foot.hear(message);
            foot.cue(message.at) == Some(Cue::Stop)
        });
        by_note || by_foot
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::live::wires::ShortMessage;

    fn check(sent: &[(i64, [u8; 3])], expect: &[(i64, u8)]) {
        let mut struck = StruckTwice::default();
        let cues = sent.iter().filter_map(|&(ms, wire)| {
            let message = ShortMessage::new(&wire).expect("a message");
            let heard = struck.hear(&StampedMessage { at: Nanos(ms * 1_000_000), message });
            heard.map(|pitch| (ms, pitch.key()))
        });
        assert_eq!(cues.collect::<Vec<_>>(), expect);
    }

    #[test]
    fn one_note_struck_twice_within_a_second_is_a_cue_on_whatever_channel() {
        check(&[(0, [0x95, 40, 90]), (200, [0x85, 40, 0]), (900, [0x95, 40, 70])], &[(900, 40)]);
        check(&[(0, [0x95, 40, 90]), (1_000, [0x90, 40, 70])], &[(1_000, 40)]);
        check(&[(0, [0x95, 40, 90]), (1_001, [0x95, 40, 70])], &[]);
    }

    #[test]
    fn another_note_between_is_playing_and_a_stroke_that_speaks_twice_is_one() {
        check(&[(0, [0x95, 40, 90]), (300, [0x94, 45, 90]), (600, [0x95, 40, 70])], &[]);
        check(&[(0, [0x95, 40, 90]), (50, [0x95, 40, 20])], &[]);
        check(&[(0, [0x95, 40, 90]), (50, [0x95, 40, 20]), (500, [0x95, 40, 90])], &[(500, 40)]);
    }

    #[test]
    fn the_foot_and_the_low_note_begin_a_take_and_other_notes_do_not() {
        use crate::live::foot::FootAction;
        let switch = FootSwitch { channel: 0, controller: 64, action: FootAction::Momentary };
        let begins = |foot: Option<FootSwitch>, low: &[u8], sent: &[(i64, [u8; 3])]| {
            let low = low.iter().filter_map(|&key| Pitch::new(key)).collect();
            let mut cues = BeginCues::new(foot, low);
            sent.iter().any(|&(ms, wire)| {
                let message = ShortMessage::new(&wire).expect("a message");
                cues.hear(&StampedMessage { at: Nanos(ms * 1_000_000), message })
            })
        };
        let low = [(0, [0x90, 40, 90]), (500, [0x90, 40, 90])];
        assert!(begins(None, &[40], &low));
        assert!(!begins(None, &[], &low), "not until it is learnt");
        assert!(!begins(None, &[28], &low), "another was learnt");
        assert!(begins(Some(switch), &[], &[(0, [0xb0, 64, 127])]));
        assert!(!begins(Some(switch), &[], &[(0, [0xb0, 64, 0])]), "a pedal that comes up");
        let words = |foot, keys: &[u8]| {
            BeginCues::new(foot, keys.iter().filter_map(|&key| Pitch::new(key)).collect()).words()
        };
        assert_eq!(words(Some(switch), &[40]), ["the foot", "E2 twice"]);
        assert!(words(None, &[]).is_empty());
    }

    #[test]
    fn a_third_stroke_begins_anew() {
        let strokes = [0, 300, 600, 900].map(|ms| (ms, [0x90, 28, 80]));
        check(&strokes, &[(300, 28), (900, 28)]);
    }
}
