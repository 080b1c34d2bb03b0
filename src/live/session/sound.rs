//! The sound of a session: the device that plays, the silence that stands in for it, and the way back.
//!
//! While a device is gone the take's clock runs on by the monotonic one. A device that comes back is listened to for a
//! moment, until its own clock has settled, and then takes its place in the take's frames.

use crate::live::clock::{ClockLine, Fit, TakeClock};
use crate::live::devices::{NotesIn, SoundOut, SoundState};
use crate::live::reopen::{OpenAgain, Opening, Pair};
use crate::live::shifted::Shifted;
use crate::live::silent::SilentSound;
use crate::live::wires::{FromAudio, ToAudio};
use crate::time::{FrameRate, Frames, NanoSpan, Nanos};

/// A sound device that gives no news for this long is taken for gone: some hosts say nothing when it is.
const WATCHDOG: NanoSpan = NanoSpan::millis(2000);
/// How long a device that came back must have kept to one line before it sounds: its first reports are the least exact, and
/// a server may learn only then how long its sound takes. One that never does is taken after [`WATCHDOG`].
const SETTLE: NanoSpan = NanoSpan::millis(400);

/// The sound output of a session.
pub(super) struct Sound {
    out: Box<dyn SoundOut>,
    open_again: OpenAgain,
    way_back: WayBack,
    last_news: Nanos,
    /// Of devices that are gone.
    underruns_before: Option<u64>,
    /// Those that nobody heard: before the take began.
    unheard: u64,
}

/// How far the way back is.
enum WayBack {
    /// Nothing is lost, or nothing can be done.
    None,
    /// It is being opened.
    Opening(Box<dyn Opening>),
    /// It is open, and its clock settles.
    Settling(Settling),
}

/// A device that is gone.
pub(super) struct Gone {
    /// What has to be said of it.
    pub said: String,
    again: Again,
    /// When it was last heard of, on the host's clock.
    pub heard_until: Nanos,
    device: Box<dyn SoundOut>,
}

/// Whether what is gone is looked for again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Again {
    /// It is.
    LookFor,
    /// It would be no better.
    Leave,
}

impl Sound {
    pub fn new(out: Box<dyn SoundOut>, open_again: OpenAgain, now: Nanos) -> Self {
        Self { out, open_again, way_back: WayBack::None, last_news: now, underruns_before: None, unheard: 0 }
    }

    pub fn rate(&self) -> FrameRate {
        self.out.rate()
    }

    /// Frames a second of the device that plays now.
    pub fn device_rate(&self) -> FrameRate {
        self.out.device_rate()
    }

    pub fn send(&mut self, order: ToAudio) -> Result<(), ToAudio> {
        self.out.send(order)
    }

    pub fn news(&mut self, now: Nanos) -> Option<FromAudio> {
        let news = self.out.news(now)?;
        self.last_news = now;
        Some(news)
    }

    /// Counts no underrun before this moment: while devices were opened there was nothing to hear.
    pub fn begin_to_count(&mut self) {
        self.unheard = self.underruns_in_all().unwrap_or(0);
    }

    /// How often the devices ran out of sound; `None` where none told.
    pub fn underruns(&self) -> Option<u64> {
        self.underruns_in_all().map(|count| count.saturating_sub(self.unheard))
    }

    fn underruns_in_all(&self) -> Option<u64> {
        match (self.underruns_before, self.out.underruns()) {
            (Some(before), Some(now)) => Some(before + now),
            (before, now) => before.or(now),
        }
    }

    /// Puts silence in the place of a device that is gone; the take's clock runs on as it ran before its last words.
    pub fn watch(&mut self, now: Nanos, clock: Option<&mut TakeClock>) -> Option<Gone> {
        let state = match self.out.state() {
            SoundState::Runs if now - self.last_news > WATCHDOG => {
                SoundState::Lost("it fell silent".to_owned())
            }
            state => state,
        };
        let (said, again) = what_follows(&state)?;
        self.underruns_before = self.underruns_in_all();
        let frame = clock.map_or(0.0, |clock| {
            clock.forget_last_news();
            clock.line.frame_at(now)
        });
        let silence = SilentSound::going_on(self.rate(), Frames(frame.ceil() as i64), now);
        let device = std::mem::replace(&mut self.out, Box::new(silence));
        let heard_until = std::mem::replace(&mut self.last_news, now);
        Some(Gone { said, again, heard_until, device })
    }

    /// Begins to open again what is gone, with the input that goes with it. Says why it cannot, if so.
    pub fn recover(&mut self, gone: Gone, notes: Option<Box<dyn NotesIn>>) -> std::io::Result<()> {
        if gone.again == Again::Leave {
            return Ok(());
        }
        let dead = Pair { sound: gone.device, notes };
        self.way_back = WayBack::Opening((self.open_again)(dead)?);
        Ok(())
    }

    /// Puts a device that is back, and has settled, in its place.
    pub fn welcome_back(&mut self, now: Nanos, clock: &TakeClock) -> Option<Back> {
        if let WayBack::Opening(reopening) = &mut self.way_back {
            self.way_back = WayBack::Settling(Settling::new(reopening.opened()?, now));
        }
        let WayBack::Settling(settling) = &mut self.way_back else { return None };
        settling.listen(now);
        if !settling.is_over(now) {
            return None;
        }
        let runs = settling.pair.sound.state();
        if runs == SoundState::Outruns {
            self.way_back = WayBack::None;
            return None;
        }
        match std::mem::replace(&mut self.way_back, WayBack::None) {
            WayBack::Settling(Settling { pair, line: Some(line), rendered, .. })
                if runs == SoundState::Runs =>
            {
                let own = Frames(line.frame_at(now) as i64);
                let frame = Frames(clock.line.frame_at(line.heard_at(own)).round() as i64);
                let device = Shifted::new(pair.sound, own, frame, self.rate());
                let rendered = device.of_take(rendered);
                self.out = Box::new(device);
                self.last_news = now;
                Some(Back { notes: pair.notes, rendered })
            }
            WayBack::Settling(Settling { pair, .. }) => {
                // It opened and never said a word, or died: as good as gone. Without a thread to open it there is no way back.
                let again = (self.open_again)(pair);
                self.way_back = again.map_or(WayBack::None, WayBack::Opening);
                None
            }
            WayBack::Opening(_) | WayBack::None => None,
        }
    }
}

/// What is said of a device that is not to be played on, and whether it is looked for again; `None` of one that runs.
fn what_follows(state: &SoundState) -> Option<(String, Again)> {
    match state {
        SoundState::Runs => None,
        SoundState::Lost(why) => {
            let said = format!("The sound device is gone ({why}): playing on with the visible beat.");
            Some((said, Again::LookFor))
        }
        SoundState::Stutters(frames) => Some((
            format!("The sound stutters: opening it again with {frames} frames a buffer."),
            Again::LookFor,
        )),
        SoundState::Outruns => {
            let said = "The sound device takes sound much faster than it could be heard, so it is none: \
                        playing on with the visible beat.";
            Some((said.to_owned(), Again::Leave))
        }
    }
}

/// A device that is open again and is listened to.
struct Settling {
    pair: Pair,
    line: Option<ClockLine>,
    /// The device's frame up to which it has taken sound.
    rendered: Frames,
    opened: Nanos,
    /// When its line last stepped.
    steady_since: Nanos,
}

impl Settling {
    const fn new(pair: Pair, opened: Nanos) -> Self {
        Self { pair, line: None, rendered: Frames::ZERO, opened, steady_since: opened }
    }

    fn listen(&mut self, now: Nanos) {
        let rate = self.pair.sound.rate();
        while let Some(FromAudio { frame, frames, heard_at, .. }) = self.pair.sound.news(now) {
            self.rendered = frame + frames;
            let line = self.line.get_or_insert_with(|| ClockLine::new(rate, frame, heard_at));
            if line.observe(frame, heard_at) == Fit::Step {
                self.steady_since = now;
            }
        }
    }

    fn is_over(&self, now: Nanos) -> bool {
        let is_settled = |line: &ClockLine| !line.is_in_doubt() && now - self.steady_since > SETTLE;
        self.line.as_ref().is_some_and(is_settled) || now - self.opened > WATCHDOG
    }
}

/// A device that is back.
pub(super) struct Back {
    /// The input that goes with it.
    pub notes: Option<Box<dyn NotesIn>>,
    /// The take's frame up to which it has taken sound: none of ours, so far.
    pub rendered: Frames,
}
