//! One run of a session, tick by tick.

use std::sync::Arc;

use super::ahead::Ahead;
use crate::band::voices::Hearing;
use crate::band::{Arrangement, CountIn, Part, close, tonic};
use crate::live::clock::{ClockLine, Pace, TakeClock};
use crate::live::devices::{Devices, SoundState};
use crate::live::keep::{KeeperEnd, ToKeeper};
use crate::live::moment::{Ending, Moment, Place};
use crate::live::plan::{Dropped, Gap, Played, SessionPlan, Stopped};
use crate::live::silent::SilentSound;
use crate::live::stop_signal::StopSignal;
use crate::live::wires::{Cue, FromAudio, SessionEnd, StampedMessage};
use crate::time::{Frames, NanoSpan, Nanos, TempoMap, TickSpan, Ticks};

/// How long a session rests between ticks.
pub(super) const TICK: NanoSpan = NanoSpan::millis(5);
/// How far ahead of what is rendered the band's notes are sent.
const HORIZON: NanoSpan = NanoSpan::millis(1000);
/// Time between the first news of the sound device and the first click: the line settles, the player breathes in.
const LEAD: NanoSpan = NanoSpan::millis(500);
/// A sound device that gives no news for this long is taken for gone: some hosts say nothing when it is.
const WATCHDOG: NanoSpan = NanoSpan::millis(2000);
/// How long sounding notes get to die away when the take is stopped at once.
const FADE: NanoSpan = NanoSpan::millis(200);

/// How often the keeper is told how far the take has gone on.
const TELL: NanoSpan = NanoSpan::millis(500);

/// A session under way.
pub(super) struct Run<'a> {
    plan: &'a SessionPlan,
    devices: Devices,
    wires: SessionEnd,
    keeper: KeeperEnd,
    /// How far the take had gone on when the keeper was last told.
    told: Nanos,
    stop: &'a StopSignal,
    tempo: TempoMap,
    count_in: CountIn,
    ahead: Ahead,
    /// The end of the last bar to be played, and how long the tonic is held after it.
    end: Ticks,
    closing: TickSpan,
    /// Set by the first news of the sound device.
    clock: Option<TakeClock>,
    /// The frame up to which the device has taken sound, and when it last said so.
    rendered: Frames,
    last_news: Nanos,
    muted: Vec<Part>,
    messages: Vec<StampedMessage>,
    notes: u32,
    dropped: Dropped,
    gaps: Vec<Gap>,
    /// Since when no note can arrive any more.
    deaf_since: Option<Nanos>,
    /// The take's time at the last tick.
    last_tick: Nanos,
    said: Arc<Vec<String>>,
    ending: Ending,
    stopped: Option<Stopped>,
}

impl<'a> Run<'a> {
    pub fn new(
        plan: &'a SessionPlan,
        arrangement: Arrangement,
        mut devices: Devices,
        wires: SessionEnd,
        keeper: KeeperEnd,
        stop: &'a StopSignal,
    ) -> Self {
        let mut ahead = Ahead::new(arrangement.notes, plan.tempo());
        for &part in &plan.mutes {
            ahead.hear(part, Hearing::Muted);
        }
        Self {
            keeper,
            told: Nanos::ZERO,
            said: Arc::new(std::mem::take(&mut devices.said)),
            tempo: plan.tempo(),
            count_in: CountIn::of(&plan.form, plan.quarter()),
            end: arrangement.end,
            closing: arrangement.closing,
            muted: plan.mutes.clone(),
            clock: None,
            rendered: Frames::ZERO,
            last_news: Nanos::ZERO,
            messages: Vec::new(),
            notes: 0,
            gaps: Vec::new(),
            deaf_since: None,
            last_tick: Nanos::ZERO,
            dropped: Dropped::default(),
            ending: Ending::default(),
            stopped: None,
            plan,
            devices,
            wires,
            stop,
            ahead,
        }
    }

    /// Runs until the take is over.
    pub fn until_over(mut self, pace: &mut impl Pace) -> Played {
        self.last_news = pace.now();
        let stopped = loop {
            if let Some(stopped) = self.tick(pace.now()) {
                break stopped;
            }
            pace.rest(TICK);
        };
        if matches!(stopped, Stopped::Now(_) | Stopped::Interrupted(_)) {
            self.fade(pace);
        }
        self.dropped.underruns = self.devices.sound.underruns();
        self.gaps.extend(self.deaf_since.map(|from| Gap { from, until: self.last_tick }));
        if self.dropped.messages > 0 {
            self.say(format!("{} MIDI messages found no room. The gap is marked.", self.dropped.messages));
        }
        Played {
            messages: self.messages,
            count_in: self.count_in.length,
            tempo: self.tempo,
            dropped: self.dropped,
            gaps: self.gaps,
            said: Arc::unwrap_or_clone(self.said),
            stopped,
            view: Ok(()),
        }
    }

    /// One tick. Says how the take ended once it has.
    fn tick(&mut self, now: Nanos) -> Option<Stopped> {
        self.hear_news(now);
        self.watch_sound(now);
        self.obey_cues(now);
        self.send_ahead();
        self.take_notes(now);
        let place = self.place(now);
        self.show(place);
        if place == Place::Over {
            let last = self.chorus_at(self.end - TickSpan(1)).filter(|&last| last < self.plan.choruses);
            return Some(last.map_or(Stopped::AtTheEnd, Stopped::AfterChorus));
        }
        self.stopped
    }

    fn hear_news(&mut self, now: Nanos) {
        while let Some(news) = self.devices.sound.news(now) {
            let FromAudio { frame, frames, heard_at, late, lost, .. } = news;
            self.rendered = frame + frames;
            self.last_news = now;
            self.dropped.late_notes += u64::from(late);
            self.dropped.news += u64::from(lost);
            let rate = self.devices.sound.rate();
            let start = self.rendered + rate.frames(LEAD);
            let first = || TakeClock::new(ClockLine::new(rate, frame, heard_at), start, rate);
            self.clock.get_or_insert_with(first).observe(news);
        }
    }

    /// Puts silence in the place of a sound device that is gone; the take's clock runs on.
    fn watch_sound(&mut self, now: Nanos) {
        let lost = match self.devices.sound.state() {
            SoundState::Lost(why) => why,
            SoundState::Runs if now - self.last_news > WATCHDOG => "it fell silent".to_owned(),
            SoundState::Runs => return,
        };
        let heard_until = self.take_time(self.last_news).max(Nanos::ZERO);
        let rate = self.devices.sound.rate();
        let frame = self.clock.as_ref().map_or(0.0, |clock| clock.line.frame_at(now));
        self.devices.sound = Box::new(SilentSound::going_on(rate, Frames(frame.ceil() as i64), now));
        self.last_news = now;
        self.say(format!("The sound device is gone ({lost}): playing on with the visible beat."));
        if self.devices.notes.goes_with_sound() {
            let at = self.bar_name(heard_until);
            self.say(format!("The MIDI input is gone with it {at}. The gap is marked."));
            self.deaf_since = self.deaf_since.or(Some(heard_until));
        }
    }

    /// Where `at` is in the take: `at bar 7 of chorus 2`, the chorus where there are several.
    fn bar_name(&self, at: Nanos) -> String {
        let at = self.tempo.ticks(at);
        let Some(chorus) = self.chorus_at(at) else {
            return if at < self.end { "in the count-in" } else { "after the last bar" }.to_owned();
        };
        let bars = &self.plan.form.bars;
        let into = Ticks((at - Ticks::ZERO - self.count_in.length).0 % self.plan.form.length().0);
        let bar = bars[bars.partition_point(|bar| bar.start <= into).saturating_sub(1)].number;
        let which = if self.plan.choruses > 1 { format!(" of chorus {chorus}") } else { String::new() };
        format!("at bar {bar}{which}")
    }

    fn say(&mut self, sentence: String) {
        if !self.said.contains(&sentence) {
            Arc::make_mut(&mut self.said).push(sentence);
        }
    }

    fn obey_cues(&mut self, now: Nanos) {
        if self.stop.is_asked() {
            self.stopped = Some(Stopped::Interrupted(self.take_time(now)));
        }
        while let Ok(cue) = self.wires.cues.try_recv() {
            match cue {
                Cue::Stop => self.stop_soon(now),
                Cue::StopNow => self.stop_now(now),
                Cue::Mute(part) => self.mute(part),
            }
        }
    }

    fn stop_now(&mut self, now: Nanos) {
        self.stopped = self.stopped.or(Some(Stopped::Now(self.take_time(now))));
    }

    /// Ends the take with the chorus that runs; at once where none does, or where that was asked already.
    fn stop_soon(&mut self, now: Nanos) {
        let chorus = self.ticks(now).and_then(|at| self.chorus_at(at));
        let (Some(chorus), Some(clock), Ending::LastChorus) = (chorus, &self.clock, self.ending) else {
            return self.stop_now(now);
        };
        self.ending = Ending::ThisChorus;
        let length = TickSpan(self.plan.form.length().0 * i64::from(chorus));
        self.end = Ticks::ZERO + self.count_in.length + length;
        let tonic = tonic(&super::call(self.plan));
        let closing = tonic.map_or_else(Vec::new, |tonic| close(tonic, self.end, self.closing));
        self.ahead.end_at(self.end, closing, clock);
    }

    fn mute(&mut self, part: Part) {
        let hearing = if self.muted.contains(&part) { Hearing::Heard } else { Hearing::Muted };
        self.muted.retain(|&muted| muted != part);
        if hearing == Hearing::Muted {
            self.muted.push(part);
        }
        self.ahead.hear(part, hearing);
    }

    fn send_ahead(&mut self) {
        if let Some(clock) = &self.clock {
            let until = self.rendered + self.devices.sound.rate().frames(HORIZON);
            self.ahead.send(self.devices.sound.as_mut(), clock, until);
        }
    }

    /// Keeps what was played since the first click. What came before it is no part of the take.
    fn take_notes(&mut self, now: Nanos) {
        let Some(clock) = &self.clock else { return };
        let bar_one = self.tempo.nanos(Ticks::ZERO + self.count_in.length);
        while let Some(message) = self.devices.notes.next(clock, now) {
            if message.at >= Nanos::ZERO {
                self.notes += u32::from(message.message.starts_note() && message.at >= bar_one);
                self.keeper.give(ToKeeper::Message(message));
                self.messages.push(message);
            }
        }
        self.tell_how_far(now);
        self.mark_gap(now);
    }

    /// Tells the keeper now and then how far the take has gone on, so that a take without notes is known too.
    fn tell_how_far(&mut self, now: Nanos) {
        let reached = self.take_time(now);
        if reached - self.told >= TELL {
            self.told = reached;
            self.keeper.give(ToKeeper::Reached(reached));
        }
    }

    /// Marks the time since the last tick where messages were dropped in it.
    fn mark_gap(&mut self, now: Nanos) {
        let (from, until) = (self.last_tick, self.take_time(now).max(Nanos::ZERO));
        self.last_tick = until;
        let dropped = self.devices.notes.dropped();
        if dropped == self.dropped.messages {
            return;
        }
        self.dropped.messages = dropped;
        match self.gaps.last_mut() {
            Some(gap) if gap.until == from => gap.until = until,
            _ => self.gaps.push(Gap { from, until }),
        }
    }

    fn fade(&mut self, pace: &mut impl Pace) {
        self.ahead.release();
        self.send_ahead();
        pace.rest(FADE);
    }

    fn take_time(&self, now: Nanos) -> Nanos {
        self.clock.as_ref().map_or(Nanos::ZERO, |clock| clock.take_time(now))
    }

    fn ticks(&self, now: Nanos) -> Option<Ticks> {
        self.clock.as_ref().map(|clock| self.tempo.ticks(clock.take_time(now)))
    }

    /// Which time through sounds at `at`, from 1.
    fn chorus_at(&self, at: Ticks) -> Option<u16> {
        let into = at - Ticks::ZERO - self.count_in.length;
        let in_tune = into >= TickSpan::ZERO && at < self.end;
        in_tune.then(|| (into.0 / self.plan.form.length().0) as u16 + 1)
    }

    fn place(&self, now: Nanos) -> Place {
        let Some(at) = self.ticks(now) else {
            return Place::Opening;
        };
        if let Some(chorus) = self.chorus_at(at) {
            let into = at - Ticks::ZERO - self.count_in.length;
            return Place::Playing { chorus, at: Ticks(into.0 % self.plan.form.length().0) };
        }
        match self.count_in.count_at(at) {
            _ if at >= self.end + self.closing => Place::Over,
            _ if at >= self.end => Place::Closing,
            Some((click, of)) => Place::CountIn { click, of },
            None => Place::Opening,
        }
    }

    fn show(&self, place: Place) {
        let said = Arc::clone(&self.said);
        self.wires.latest.show(Moment { place, ending: self.ending, notes: self.notes, said });
    }
}
