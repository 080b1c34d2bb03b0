//! The foot: a switch or pedal that stops a take while both hands play.

use super::wires::{Cue, StampedMessage};
use crate::time::{NanoSpan, Nanos};

/// How long the foot stays down to stop at once.
const HELD: NanoSpan = NanoSpan::millis(1000);
/// The controller's value from which on a switch is down (MIDI 1.0: 64 and more is on).
const DOWN: u8 = 64;

/// A foot switch, by what it sends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FootSwitch {
    /// Its channel, 0 to 15.
    pub channel: u8,
    /// Its controller, 0 to 119.
    pub controller: u8,
    /// How it works.
    pub action: FootAction,
}

/// How a foot switch works.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FootAction {
    /// Down while the foot is.
    Momentary,
    /// Each press turns it over: there is no holding it.
    Latching,
}

impl FootSwitch {
    /// The controller, and whether it is down, that a message tells of; `None` for any other. Channel mode messages, from
    /// 120 on, are no switch.
    pub fn told(message: &[u8]) -> Option<(u8, u8, bool)> {
        match *message {
            [status, controller, value] if status & 0xf0 == 0xb0 && controller < 120 => {
                Some((status & 0x0f, controller, value >= DOWN))
            }
            _ => None,
        }
    }
}

/// What the foot does in a take.
#[derive(Clone, Copy, Debug)]
pub(super) struct Foot {
    switch: Option<FootSwitch>,
    down_since: Option<Nanos>,
    /// Whether a press waits to be told.
    pressed: bool,
}

impl Foot {
    pub const fn new(switch: Option<FootSwitch>) -> Self {
        Self { switch, down_since: None, pressed: false }
    }

    /// Takes in a message that was played.
    pub fn hear(&mut self, message: &StampedMessage) {
        let Some(switch) = self.switch else { return };
        let Some((channel, controller, down)) = FootSwitch::told(message.message.bytes()) else { return };
        if (channel, controller) != (switch.channel, switch.controller) {
            return;
        }
        match switch.action {
            FootAction::Latching => self.pressed = true,
            // A pedal may send many values on its way down.
            FootAction::Momentary if down && self.down_since.is_none() => {
                self.pressed = true;
                self.down_since = Some(message.at);
            }
            FootAction::Momentary if !down => self.down_since = None,
            FootAction::Momentary => {}
        }
    }

    /// What the foot asks for by `now` of the take, each thing once.
    pub fn cue(&mut self, now: Nanos) -> Option<Cue> {
        if std::mem::take(&mut self.pressed) {
            return Some(Cue::Stop);
        }
        let held = self.down_since.is_some_and(|since| now - since >= HELD);
        held.then(|| {
            self.down_since = None;
            Cue::StopNow
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::live::wires::ShortMessage;

    fn cues(action: FootAction, sent: &[(i64, u8, u8)], until: i64) -> Vec<(i64, Cue)> {
        let mut foot = Foot::new(Some(FootSwitch { channel: 2, controller: 64, action }));
        let mut given = Vec::new();
        for ms in 0..until {
            let at = Nanos(ms * 1_000_000);
            for &(_, controller, value) in sent.iter().filter(|(when, ..)| *when == ms) {
                let message = ShortMessage::new(&[0xb2, controller, value]).expect("a message");
                foot.hear(&StampedMessage { at, message });
            }
            given.extend(foot.cue(at).map(|cue| (ms, cue)));
        }
        given
    }

    #[test]
    fn a_press_stops_after_the_chorus_and_a_long_one_at_once() {
        let tapped = cues(FootAction::Momentary, &[(10, 64, 127), (200, 64, 0)], 3000);
        assert_eq!(tapped, [(10, Cue::Stop)]);
        let held = cues(FootAction::Momentary, &[(10, 64, 70), (20, 64, 100), (30, 64, 127)], 3000);
        assert_eq!(held, [(10, Cue::Stop), (1010, Cue::StopNow)]);
    }

    #[test]
    fn a_switch_that_stays_where_it_was_put_is_never_held() {
        let turned = cues(FootAction::Latching, &[(10, 64, 127), (2000, 64, 0)], 4000);
        assert_eq!(turned, [(10, Cue::Stop), (2000, Cue::Stop)]);
    }

    #[test]
    fn other_controllers_and_channels_are_music() {
        assert_eq!(cues(FootAction::Momentary, &[(10, 65, 127)], 2000), []);
        assert_eq!(FootSwitch::told(&[0xb2, 123, 0]), None, "all notes off is no switch");
        assert_eq!(FootSwitch::told(&[0x90, 64, 127]), None);
        assert_eq!(FootSwitch::told(&[0xb5, 11, 63]), Some((5, 11, false)));
    }
}
