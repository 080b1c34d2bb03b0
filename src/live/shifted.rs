//! A sound device in the place of another: its frames counted on as the lost one's were.
//!
//! A take's times are frames since its first click. A device that is opened in mid-take counts from a zero of its own and
//! may run at another rate; here its frames become the take's, and the take's orders become its own.

use super::devices::{SoundOut, SoundState};
use super::wires::{FromAudio, ToAudio};
use crate::band::voices::Strike;
use crate::time::{FrameRate, FrameSpan, Frames, Nanos};

/// A device whose first frame is another frame of the take.
pub struct Shifted {
    device: Box<dyn SoundOut>,
    /// The take's frame that is the device's first.
    from: Frames,
    /// Frames a second of the take.
    rate: FrameRate,
}

impl Shifted {
    /// The `device`, its frame `own` being the take's frame `frame`, of `rate` frames a second.
    pub fn new(device: Box<dyn SoundOut>, own: Frames, frame: Frames, rate: FrameRate) -> Self {
        let mut shifted = Self { device, from: Frames::ZERO, rate };
        shifted.from = frame + (Frames::ZERO - shifted.of_take(own));
        shifted
    }

    /// The take's frame that is the device's `own`.
    pub fn of_take(&self, own: Frames) -> Frames {
        self.from + scaled(own - Frames::ZERO, self.device.rate(), self.rate)
    }

    fn own(&self, frame: Frames) -> Frames {
        Frames::ZERO + scaled(frame - self.from, self.rate, self.device.rate())
    }
}

/// The same length at another rate.
fn scaled(span: FrameSpan, from: FrameRate, to: FrameRate) -> FrameSpan {
    if from == to { span } else { to.frames(from.nanos(span)) }
}

impl SoundOut for Shifted {
    fn rate(&self) -> FrameRate {
        self.rate
    }

    fn device_rate(&self) -> FrameRate {
        self.device.device_rate()
    }

    fn send(&mut self, order: ToAudio) -> Result<(), ToAudio> {
        match order {
            ToAudio::Strike { at, strike } => {
                let length = scaled(strike.length, self.rate, self.device.rate());
                let own = ToAudio::Strike { at: self.own(at), strike: Strike { length, ..strike } };
                self.device.send(own).map_err(|_| ToAudio::Strike { at, strike })
            }
            ToAudio::DropFrom(frame) => {
                let own = ToAudio::DropFrom(self.own(frame));
                self.device.send(own).map_err(|_| ToAudio::DropFrom(frame))
            }
            order => self.device.send(order),
        }
    }

    fn news(&mut self, now: Nanos) -> Option<FromAudio> {
        let news = self.device.news(now)?;
        let frames = scaled(news.frames, self.device.rate(), self.rate);
        Some(FromAudio { frame: self.of_take(news.frame), frames, ..news })
    }

    fn state(&mut self) -> SoundState {
        self.device.state()
    }

    fn underruns(&self) -> Option<u64> {
        self.device.underruns()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::live::silent::SilentSound;

    fn rate(hertz: u32) -> FrameRate {
        FrameRate::new(hertz).expect("a rate")
    }

    /// Where in the take the device's frame at `at` lies.
    fn told(device_hertz: u32, at: Nanos) -> i64 {
        let device = SilentSound::going_on(rate(device_hertz), Frames::ZERO, Nanos::ZERO);
        let mut shifted = Shifted::new(Box::new(device), Frames(4_800), Frames(100_000), rate(48_000));
        shifted.news(at).expect("news").frame.0
    }

    #[test]
    fn frames_count_on_where_the_lost_device_stopped() {
        assert_eq!(told(48_000, Nanos(100_000_000)), 100_000);
        assert_eq!(told(48_000, Nanos(1_100_000_000)), 148_000);
    }

    #[test]
    fn a_device_of_another_rate_keeps_the_time_of_the_take() {
        let own_start = 4_800.0 / 44_100.0;
        let second_later = Nanos(((own_start + 1.0) * 1e9) as i64);
        assert!((told(44_100, second_later) - 148_000).abs() <= 2, "{}", told(44_100, second_later));
    }

    #[test]
    fn orders_go_to_the_frames_of_the_device() {
        let device = SilentSound::going_on(rate(96_000), Frames::ZERO, Nanos::ZERO);
        let shifted = Shifted::new(Box::new(device), Frames(0), Frames(48_000), rate(48_000));
        assert_eq!(
            shifted.own(Frames(96_000)),
            Frames(96_000),
            "a second of the take is a second of the device"
        );
        assert_eq!(shifted.own(Frames(48_000)), Frames::ZERO);
    }
}
