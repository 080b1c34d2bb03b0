//! One run of a session, tick by tick.

use std::sync::Arc;

use super::ahead::Ahead;
use super::ear::{Ear, HeardInAll, InputChange};
use super::sound::Sound;
use crate::band::voices::Hearing;
use crate::band::{Arrangement, CountIn, Part, close};
use crate::live::clock::{ClockLine, Pace, TakeClock};
use crate::live::devices::Devices;
use crate::live::keep::KeeperEnd;
use crate::live::moment::{Ending, HeardSoFar, Moment, Place};
use crate::live::plan::{Dropped, Played, SessionPlan, Stopped};
use crate::live::silent::NobodyPlays;
use crate::live::stop_signal::StopSignal;
use crate::live::wires::{Cue, FromAudio, SessionEnd};
use crate::time::{Frames, NanoSpan, Nanos, TempoMap, TickSpan, Ticks};

/// How long a session rests between ticks.
pub(super) const TICK: NanoSpan = NanoSpan::millis(5);
/// How far ahead of what is rendered the band's notes are sent.
const HORIZON: NanoSpan = NanoSpan::millis(1000);
/// Time between the first news of the sound device and the first click: the line settles, the player breathes in.
const LEAD: NanoSpan = NanoSpan::millis(500);
/// How long sounding notes get to die away when the take is stopped at once.
const FADE: NanoSpan = NanoSpan::millis(200);

/// How often the keeper is told how far the take has gone on.
const TELL: NanoSpan = NanoSpan::millis(500);

/// A session under way.
pub(super) struct Run<'a> {
    plan: &'a SessionPlan,
    sound: Sound,
    ear: Ear,
    wires: SessionEnd,
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
    /// The frame up to which the device has taken sound.
    rendered: Frames,
    muted: Vec<Part>,
    notes: u32,
    dropped: Dropped,
    said: Arc<Vec<String>>,
    heard: Arc<HeardSoFar>,
    ending: Ending,
    stopped: Option<Stopped>,
}

impl<'a> Run<'a> {
    pub fn new(
        plan: &'a SessionPlan,
        arrangement: Arrangement,
        devices: Devices,
        wires: SessionEnd,
        keeper: KeeperEnd,
        (stop, now): (&'a StopSignal, Nanos),
    ) -> Self {
        let mut ahead = Ahead::new(arrangement.notes, plan.tempo());
        for &part in &plan.mutes {
            ahead.hear(part, Hearing::Muted);
        }
        let mut run = Self {
            sound: Sound::new(devices.sound, devices.open_again, now),
            ear: Ear::new(devices.notes, plan.foot, keeper),
            told: Nanos::ZERO,
            said: Arc::new(devices.said),
            heard: Arc::default(),
            tempo: plan.tempo(),
            count_in: plan.count_in(),
            end: arrangement.end,
            closing: arrangement.closing,
            muted: plan.mutes.clone(),
            clock: None,
            rendered: Frames::ZERO,
            notes: 0,
            dropped: Dropped::default(),
            ending: Ending::default(),
            stopped: None,
            plan,
            wires,
            stop,
            ahead,
        };
        run.set_up();
        run
    }

    /// Tells the device that plays now with what, and how loud each part. Until the first click there is half a second.
    fn set_up(&mut self) {
        let rate = self.sound.device_rate();
        let players = self.plan.sound_font.as_ref().map(|font| font.players(rate));
        if let Some(None) = players {
            self.say(format!(
                "The SoundFont cannot be played at {} frames a second: barwise's own voices play.",
                rate.hertz()
            ));
        }
        self.ahead.set_up(self.plan.levels, players.flatten());
    }

    /// Runs until the take is over.
    pub fn until_over(mut self, pace: &mut impl Pace) -> Played {
        let stopped = loop {
            if let Some(stopped) = self.tick(pace.now()) {
                break stopped;
            }
            pace.rest(TICK);
        };
        self.take_in(pace.now());
        if matches!(stopped, Stopped::Now(_) | Stopped::Interrupted(_)) {
            self.fade(pace);
        }
        self.dropped.underruns = self.sound.underruns();
        let ended = match stopped {
            Stopped::Now(at) | Stopped::Interrupted(at) => at,
            Stopped::AtTheEnd | Stopped::AfterChorus(_) => self.take_time(pace.now()),
        };
        let HeardInAll { messages, gaps, dropped, passed_over, used } =
            self.ear.close(ended.max(Nanos::ZERO));
        self.dropped.messages = dropped;
        if dropped > 0 {
            let sentence = format!("{dropped} MIDI messages found no room. The gap is marked.");
            Arc::make_mut(&mut self.said).push(sentence);
        }
        if passed_over > 0 {
            let times = if passed_over == 1 { "once".to_owned() } else { format!("{passed_over} times") };
            let sentence = format!(
                "The sound server passed over the MIDI input {times}: what was played in that moment is missing. \
                 The gap is marked."
            );
            Arc::make_mut(&mut self.said).push(sentence);
        }
        if let Some(sentence) = self.dropped.stumbled() {
            Arc::make_mut(&mut self.said).push(sentence);
        }
        Played {
            messages,
            count_in: self.count_in.length,
            tempo: self.tempo,
            dropped: self.dropped,
            gaps,
            used,
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
        self.listen(now);
        let place = self.place(now);
        self.note_barline(place);
        self.show(place);
        if place == Place::Over {
            let last = self.chorus_at(self.end - TickSpan(1)).filter(|&last| last < self.plan.choruses);
            return Some(last.map_or(Stopped::AtTheEnd, Stopped::AfterChorus));
        }
        self.stopped
    }

    fn hear_news(&mut self, now: Nanos) {
        while let Some(news) = self.sound.news(now) {
            let FromAudio { frame, frames, heard_at, late, lost, .. } = news;
            self.rendered = frame + frames;
            self.dropped.late_notes += u64::from(late);
            self.dropped.news += u64::from(lost);
            if self.clock.is_none() {
                self.sound.begin_to_count();
                let rate = self.sound.rate();
                let line = ClockLine::new(rate, frame, heard_at);
                // Inputs that took their time to open have let the news wait.
                let heard_now = Frames(line.frame_at(now) as i64);
                let start = self.rendered.max(heard_now) + rate.frames(LEAD);
                self.clock = Some(TakeClock::new(line, start, rate));
            }
            if let Some(clock) = &mut self.clock {
                clock.observe(news);
            }
        }
    }

    /// Lets silence stand in for a sound device that is gone, and the device come back.
    fn watch_sound(&mut self, now: Nanos) {
        if let Some(gone) = self.sound.watch(now, self.clock.as_mut()) {
            self.say(gone.said.clone());
            let until = self.take_time(gone.heard_until).max(Nanos::ZERO);
            let notes = self.ear.goes_with_sound().then(|| {
                let (notes, lost) = self.ear.replace(Box::new(NobodyPlays), until);
                if lost {
                    let at = self.bar_name(until);
                    self.say(format!("The MIDI input is gone with it {at}. The gap is marked."));
                }
                notes
            });
            if let Err(error) = self.sound.recover(gone, notes) {
                self.say(format!("It is not looked for again ({error})."));
            }
        }
        let Some(clock) = &self.clock else { return };
        let Some(back) = self.sound.welcome_back(now, clock) else { return };
        self.rendered = back.rendered;
        self.ahead.start_again(back.rendered, &self.muted, clock);
        self.set_up();
        let at = self.bar_name(self.take_time(now));
        self.say(format!("The sound is back {at}."));
        if let Some(notes) = back.notes {
            self.ear.replace(notes, self.take_time(now));
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
        let by_foot = self.ear.foot_cue(self.take_time(now));
        for cue in by_foot.into_iter().chain(self.wires.cues.try_iter().collect::<Vec<_>>()) {
            match cue {
                Cue::Stop => self.stop_soon(now),
                Cue::StopNow => self.stop_now(now),
                Cue::Hear(part, hearing) => self.hear(part, hearing),
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
        let last = self.ahead.last_of_bass_before(self.end);
        let closing = close(&super::call(self.plan), chorus.into(), (self.end, self.closing), last);
        self.ahead.end_at(self.end, closing, clock);
    }

    fn hear(&mut self, part: Part, hearing: Hearing) {
        self.muted.retain(|&muted| muted != part);
        if hearing == Hearing::Muted {
            self.muted.push(part);
        }
        self.ahead.hear(part, hearing);
    }

    fn send_ahead(&mut self) {
        if let Some(clock) = &self.clock {
            let until = self.rendered + self.sound.rate().frames(HORIZON);
            self.ahead.send(&mut self.sound, clock, until);
        }
    }

    /// Takes in what was played. Where the clock may have stepped it waits until that is known: the next few news tell.
    fn listen(&mut self, now: Nanos) {
        if self.clock.as_ref().is_some_and(|clock| !clock.line.is_in_doubt()) {
            self.take_in(now);
        }
    }

    /// Takes in what was played, and which inputs came and went.
    fn take_in(&mut self, now: Nanos) {
        let Some(clock) = &self.clock else { return };
        self.notes += self.ear.listen(clock, now, self.tempo.nanos(Ticks::ZERO + self.count_in.length));
        let reached = clock.take_time(now);
        if reached - self.told >= TELL {
            self.told = reached;
            self.ear.tell(reached);
        }
        while let Some(change) = self.ear.change(reached) {
            let at = self.bar_name(reached);
            match change {
                InputChange::Gone(name) => self.say(format!("{name} gone {at}; waiting. The gap is marked.")),
                InputChange::Back(name) => self.say(format!("{name} is back {at}.")),
                // Those that were there before the first click are no news.
                InputChange::New(name) if reached > Nanos::ZERO => self.say(format!("{name} is heard {at}.")),
                InputChange::New(_) => {}
            }
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
            _ if at >= self.end => {
                Place::Closing { chorus: self.chorus_at(self.end - TickSpan(1)).unwrap_or(1) }
            }
            Some((click, of)) => Place::CountIn { click, of },
            None => Place::Opening,
        }
    }

    /// Keeps what was played before the last barline, for whoever shows how the line stands.
    fn note_barline(&mut self, place: Place) {
        let Place::Playing { chorus, at } = place else { return };
        let bars = &self.plan.form.bars;
        let Some(bar) = bars[..bars.partition_point(|bar| bar.start <= at)].last() else { return };
        let before = self.plan.form.length().0 * (i64::from(chorus) - 1);
        let barline = bar.start + self.count_in.length + TickSpan(before);
        let until = self.tempo.nanos(barline);
        if until != self.heard.until {
            self.heard = Arc::new(HeardSoFar { until, messages: self.ear.before(until) });
        }
    }

    fn show(&self, place: Place) {
        let (said, heard) = (Arc::clone(&self.said), Arc::clone(&self.heard));
        self.wires.latest.show(Moment { place, ending: self.ending, notes: self.notes, said, heard });
    }
}
