//! How far each channel is bent: the pitch wheel, and its range as RPN 0 sets it.
//!
//! MIDI 1.0: CC101 = 0 and CC100 = 0 choose the pitch-bend range, CC6 sets its semitones, CC38 its cents, 127/127
//! chooses nothing. CC98 and CC99 choose a non-registered parameter: what CC6 then sets is never the bend range.

use crate::time::Nanos;

/// The pitch wheel at rest.
const CENTRE: u16 = 8192;
/// Semitones each way where no message says otherwise (MIDI 1.0 practice).
const DEFAULT_RANGE: u8 = 2;
/// Semitones each way on the member channels of an MPE zone (MPE specification 1.0, from memory).
const MPE_MEMBER_RANGE: u8 = 48;

/// A change of a channel's bend.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct CurvePoint {
    pub at: Nanos,
    /// Cents from then on.
    pub cents: f32,
}

/// The parameter that data entry (CC6, CC38) sets.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Selected {
    Registered { msb: u8, lsb: u8 },
    NonRegistered,
}

const NOTHING: Selected = Selected::Registered { msb: 127, lsb: 127 };
const BEND_RANGE: Selected = Selected::Registered { msb: 0, lsb: 0 };
const MPE_ZONE: Selected = Selected::Registered { msb: 0, lsb: 6 };

struct Channel {
    wheel: u16,
    range_cents: u16,
    selected: Selected,
    curve: Vec<CurvePoint>,
}

impl Channel {
    fn cents(&self) -> f32 {
        (f32::from(self.wheel) - f32::from(CENTRE)) * f32::from(self.range_cents) / f32::from(CENTRE)
    }

    /// Notes the bend as it is from `at` on, where it changed.
    fn mark(&mut self, at: Nanos) {
        let cents = self.cents();
        let unchanged = self.curve.last().map_or(0.0, |last| last.cents).to_bits() == cents.to_bits();
        if !unchanged {
            self.curve.push(CurvePoint { at, cents });
        }
    }
}

/// The bends of all channels while a take is walked through.
pub(super) struct BendState {
    channels: [Channel; 16],
    /// A range in semitones that no message changes.
    fixed: Option<u8>,
}

impl BendState {
    pub(super) fn new(fixed: Option<u8>) -> Self {
        let range_cents = u16::from(fixed.unwrap_or(DEFAULT_RANGE)) * 100;
        let channels = std::array::from_fn(|_| Channel {
            wheel: CENTRE,
            range_cents,
            selected: NOTHING,
            curve: Vec::new(),
        });
        Self { channels, fixed }
    }

    /// Cents a channel is bent by, and how many points its curve has so far.
    pub(super) fn now(&self, channel: u8) -> (f32, u32) {
        let channel = &self.channels[usize::from(channel)];
        (channel.cents(), channel.curve.len() as u32)
    }

    pub(super) fn bend(&mut self, at: Nanos, channel: u8, wheel: u16) {
        let channel = &mut self.channels[usize::from(channel)];
        channel.wheel = wheel;
        channel.mark(at);
    }

    pub(super) fn control(&mut self, at: Nanos, channel: u8, controller: u8, value: u8) {
        let state = &mut self.channels[usize::from(channel)];
        let (msb, lsb) = match state.selected {
            Selected::Registered { msb, lsb } => (msb, lsb),
            Selected::NonRegistered => (127, 127),
        };
        match controller {
            101 => state.selected = Selected::Registered { msb: value, lsb },
            100 => state.selected = Selected::Registered { msb, lsb: value },
            98 | 99 => state.selected = Selected::NonRegistered,
            // Reset all controllers: the wheel returns and nothing stays chosen, the range stays (MIDI RP-015).
            121 => {
                state.selected = NOTHING;
                self.bend(at, channel, CENTRE);
            }
            6 if state.selected == BEND_RANGE => self.set_range(at, channel, u16::from(value) * 100),
            38 if state.selected == BEND_RANGE => {
                let semitones = state.range_cents / 100 * 100;
                self.set_range(at, channel, semitones + u16::from(value.min(99)));
            }
            6 if state.selected == MPE_ZONE => self.open_zone(at, channel, value),
            _ => {}
        }
    }

    fn set_range(&mut self, at: Nanos, channel: u8, range_cents: u16) {
        if self.fixed.is_none() {
            let channel = &mut self.channels[usize::from(channel)];
            channel.range_cents = range_cents;
            channel.mark(at);
        }
    }

    /// An MPE zone: the lower one counts up from channel 1, the upper one down from channel 16.
    fn open_zone(&mut self, at: Nanos, master: u8, members: u8) {
        let range_cents = u16::from(MPE_MEMBER_RANGE) * 100;
        for step in 1..=members.min(15) {
            match master {
                0 => self.set_range(at, step, range_cents),
                15 => self.set_range(at, 15 - step, range_cents),
                _ => {}
            }
        }
    }

    pub(super) fn into_curves(self) -> [Vec<CurvePoint>; 16] {
        self.channels.map(|channel| channel.curve)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Cents that channel 0 is bent by after these controllers and wheel positions.
    fn check(controls: &[(u8, u8)], wheel: u16, cents: f32) {
        let mut state = BendState::new(None);
        for &(controller, value) in controls {
            state.control(Nanos::ZERO, 0, controller, value);
        }
        state.bend(Nanos::ZERO, 0, wheel);
        let (found, _) = state.now(0);
        assert!((found - cents).abs() < 0.01, "{controls:?} {wheel}: {found} for {cents}");
    }

    fn rounded_cents(state: &BendState, channel: u8) -> i32 {
        state.now(channel).0.round() as i32
    }

    #[test]
    fn the_wheel_moves_two_semitones_unless_told_otherwise() {
        check(&[], 12288, 100.0);
        check(&[], 0, -200.0);
        check(&[], 10240, 50.0);
        check(&[], 8192, 0.0);
        check(&[(101, 0), (100, 0), (6, 12)], 9557, 199.95);
        check(&[(101, 0), (100, 0), (6, 12), (38, 50)], 0, -1250.0);
    }

    #[test]
    fn a_non_registered_parameter_or_none_is_never_the_bend_range() {
        check(&[(99, 0), (98, 0), (6, 12)], 12288, 100.0);
        check(&[(101, 0), (100, 0), (99, 1), (98, 8), (6, 12)], 12288, 100.0);
        check(&[(101, 0), (100, 0), (6, 12), (101, 127), (100, 127), (6, 5)], 12288, 600.0);
        check(&[(101, 0), (100, 1), (6, 12)], 12288, 100.0);
        check(&[(6, 12)], 12288, 100.0);
    }

    #[test]
    fn reset_all_controllers_keeps_the_range() {
        check(&[(101, 0), (100, 0), (6, 12), (121, 0)], 12288, 600.0);
        let mut state = BendState::new(None);
        state.bend(Nanos::ZERO, 3, 0);
        state.control(Nanos::ZERO, 3, 121, 0);
        assert_eq!(rounded_cents(&state, 3), 0);
    }

    #[test]
    fn a_range_asked_for_outweighs_the_messages() {
        let mut state = BendState::new(Some(24));
        for (controller, value) in [(101, 0), (100, 0), (6, 12)] {
            state.control(Nanos::ZERO, 0, controller, value);
        }
        state.bend(Nanos::ZERO, 0, 0);
        assert_eq!(rounded_cents(&state, 0), -2400);
    }

    #[test]
    fn members_of_an_mpe_zone_bend_by_48_semitones() {
        let mut state = BendState::new(None);
        for (controller, value) in [(101, 0), (100, 6), (6, 3)] {
            state.control(Nanos::ZERO, 0, controller, value);
        }
        for channel in 0..6 {
            state.bend(Nanos::ZERO, channel, 0);
        }
        assert_eq!([0, 1, 3, 4].map(|channel| rounded_cents(&state, channel)), [-200, -4800, -4800, -200]);
    }
}
