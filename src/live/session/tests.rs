//! Whole takes with made-up time: a clock that only counts, devices that only listen.

mod moved_clocks;
mod panics;
mod small_buffers;
#[path = "../../../tests/support/sound_font.rs"]
mod made;

use std::collections::VecDeque;
use std::io::Cursor;
use std::sync::{Arc, Mutex};

use proptest::prelude::*;

use super::*;
use crate::band::tests::{form, reading};
use crate::band::voices::Strike;
use crate::band::voices::sound_font::SoundFont;
use crate::band::{Accompaniment, ClickOn, Levels, Part, Seed};
use crate::chart::{Feel, Turns};
use crate::harmony::Changes;
use crate::live::callback::Callback;
use crate::live::clock::{Pace, TakeClock};
use crate::live::devices::{Devices, InputNews, NotesIn, SoundOut, SoundState};
use crate::live::foot::{FootAction, FootSwitch};
use crate::live::midi_from_file::MidiFromFile;
use crate::live::plan::{Gap, NotesChoice, SoundChoice, Stopped};
use crate::live::reopen::{OpenAgain, Opening, Pair};
use crate::live::silent::{NobodyPlays, SilentSound};
use crate::live::wires::{AudioEnd, FromAudio, ShortMessage, StampedMessage, ToAudio, ToAudioEnd};
use crate::time::{FrameRate, FrameSpan, Frames, NanoSpan, Nanos, TempoMap, TickSpan};

/// A clock that only counts, and may do something each time it rests.
struct Counting<'a> {
    now: Nanos,
    at_rest: Box<dyn FnMut(Nanos) + 'a>,
}

impl<'a> Counting<'a> {
    fn new() -> Self {
        Self::doing(|_| ())
    }

    fn doing(at_rest: impl FnMut(Nanos) + 'a) -> Self {
        Self { now: Nanos(77), at_rest: Box::new(at_rest) }
    }
}

impl Pace for Counting<'_> {
    fn now(&self) -> Nanos {
        self.now
    }

    fn rest(&mut self, span: NanoSpan) {
        self.now += span;
        (self.at_rest)(self.now);
    }
}

fn plan(chords: &str, choruses: u16) -> SessionPlan {
    let form = form(chords);
    SessionPlan {
        reading: reading(&form),
        form,
        keys: Vec::new(),
        bpm: 240.0,
        choruses,
        feel: Feel::Swing,
        swing_percent: crate::band::feel::USUAL_SWING_PERCENT,
        seed: Seed(9),
        mutes: Vec::new(),
        levels: Levels::default(),
        sound_font: None,
        accompaniment: Accompaniment::default(),
        sound: SoundChoice::Silent,
        notes: NotesChoice::Nobody,
        foot: None,
        line: Vec::new(),
        turns: Turns::default(),
    }
}

/// What is lost stays lost.
fn never() -> OpenAgain {
    struct Never;
    impl Opening for Never {
        fn opened(&mut self) -> Option<Pair> {
            None
        }
    }
    Box::new(|_| Ok(Box::new(Never)))
}

fn silent(now: Nanos, notes: Box<dyn NotesIn>) -> Devices {
    Devices { sound: Box::new(SilentSound::new(now)), notes, said: Vec::new(), open_again: never() }
}

fn note(key: u8) -> ShortMessage {
    ShortMessage::new(&[0x90, key, 90]).expect("a message")
}

/// Runs a plan on silent devices; `at_rest` sees the view's end and the time.
fn run(plan: &SessionPlan, notes: Box<dyn NotesIn>, mut at_rest: impl FnMut(&ViewEnd, Nanos)) -> Played {
    let wires = wires();
    let view = wires.view;
    let mut clock = Counting::doing(|now| at_rest(&view, now));
    let devices = silent(clock.now, notes);
    let stop = StopSignal::never();
    Run::new(plan, arrangement(plan), devices, wires.session, KeeperEnd::nobody(), (&stop, Nanos(77)))
        .until_over(&mut clock)
}

/// The notes struck. Those that sound at the end are let go then, by nobody.
fn struck(played: &Played) -> Vec<StampedMessage> {
    played.messages.iter().copied().filter(|message| message.message.starts_note()).collect()
}

fn seconds(nanos: Nanos) -> f64 {
    nanos.0 as f64 / 1e9
}

#[test]
fn a_take_runs_from_count_in_to_tonic() {
    let plan = plan("Dm7 | G7 | Cmaj7 | A7", 3);
    let mut places: Vec<Place> = Vec::new();
    let played = run(&plan, Box::new(NobodyPlays), |view, _| {
        places.push(view.latest().get().place);
    });
    assert_eq!(played.stopped, Stopped::AtTheEnd);
    assert_eq!(played.count_in, TickSpan::quarters(8));
    let clicks: Vec<usize> = places
        .iter()
        .filter_map(|place| if let Place::CountIn { click, .. } = place { Some(*click) } else { None })
        .collect();
    assert!(clicks.is_sorted() && clicks.first() == Some(&1) && clicks.last() == Some(&6));
    let choruses: Vec<u16> = places
        .iter()
        .filter_map(|place| if let Place::Playing { chorus, .. } = place { Some(*chorus) } else { None })
        .collect();
    assert!(choruses.is_sorted() && choruses.first() == Some(&1) && choruses.last() == Some(&3));
    assert_eq!(places.last(), Some(&Place::Closing { chorus: 3 }));
}

#[test]
fn notes_from_a_file_keep_their_exact_times_though_they_arrive_in_real_time() {
    let plan = plan("Dm7 | G7", 1);
    let bar_one = 2_000_000_000;
    let given: Vec<_> = [0, 1, 333_333_333, 333_333_334, 1_999_999_999]
        .into_iter()
        .zip(60..)
        .map(|(at, key)| (Nanos(at), note(key)))
        .collect();
    let mut heard_at = Vec::new();
    let notes = MidiFromFile::new(&given, NanoSpan(bar_one));
    let played = run(&plan, Box::new(notes), |view, now| {
        let notes = view.latest().get().notes;
        heard_at.extend((notes as usize > heard_at.len()).then_some(now));
    });
    let kept: Vec<_> = struck(&played).iter().map(|m| (Nanos(m.at.0 - bar_one), m.message)).collect();
    assert_eq!(kept, given);
    assert!(seconds(heard_at[0]) > 2.5, "the first waits for count-in and lead: {}", seconds(heard_at[0]));
    assert!(seconds(*heard_at.last().expect("notes")) > 4.4, "the last waits for its bar");
}

#[test]
fn stop_ends_with_the_chorus_and_stop_again_ends_now() {
    let plan = plan("Dm7 | G7 | Cmaj7 | A7", 5);
    let stop_in_chorus_2 = |presses: usize| {
        let mut left = presses;
        run(&plan, Box::new(NobodyPlays), move |view, _| {
            let in_second = matches!(view.latest().get().place, Place::Playing { chorus: 2, .. });
            if in_second && left > 0 {
                left -= 1;
                view.give(Cue::Stop);
            }
        })
    };
    assert_eq!(stop_in_chorus_2(1).stopped, Stopped::AfterChorus(2));
    let at_once = stop_in_chorus_2(2).stopped;
    let chorus_2 = 2.0 + 4.0;
    let soon = |at: Nanos| (chorus_2..chorus_2 + 0.1).contains(&seconds(at));
    assert!(matches!(at_once, Stopped::Now(at) if soon(at)), "{at_once:?}");
}

#[test]
fn stop_in_the_count_in_is_at_once() {
    let plan = plan("Dm7 | G7", 1);
    let played = run(&plan, Box::new(NobodyPlays), |view, _| {
        if matches!(view.latest().get().place, Place::CountIn { click: 2, .. }) {
            view.give(Cue::Stop);
        }
    });
    assert!(matches!(played.stopped, Stopped::Now(_)), "{:?}", played.stopped);
}

#[test]
fn a_signal_keeps_what_was_played() {
    let plan = plan("Dm7 | G7", 9);
    let wires = wires();
    let stop = StopSignal::never();
    let mut clock = Counting::doing(|now| {
        if now > Nanos(4_000_000_000) {
            stop.ask();
        }
    });
    let notes =
        MidiFromFile::new(&[(Nanos(100), note(60)), (Nanos(30_000_000_000), note(61))], NanoSpan::ZERO);
    let devices = silent(clock.now, Box::new(notes));
    let played =
        Run::new(&plan, arrangement(&plan), devices, wires.session, KeeperEnd::nobody(), (&stop, Nanos(77)))
            .until_over(&mut clock);
    assert!(matches!(played.stopped, Stopped::Interrupted(_)));
    assert_eq!(struck(&played).len(), 1);
}

/// What a device was given to sound.
type Samples = Arc<Mutex<Vec<f32>>>;

/// A sound device made of the real callback, pumped by the session's own clock in blocks of 256.
struct Pumped {
    wires: ToAudioEnd,
    callback: Callback,
    start: Nanos,
    frame: i64,
    heard: Samples,
    /// After this instant it is gone, without a word.
    dies_at: Nanos,
}

const RATE: FrameRate = FrameRate::new(48_000).expect("a rate");

impl Pumped {
    fn new((wires, audio): (ToAudioEnd, AudioEnd), start: Nanos, heard: Samples) -> Self {
        let callback = Callback::new(audio, RATE);
        Self { wires, callback, start, frame: 0, heard, dies_at: Nanos(i64::MAX) }
    }
}

impl SoundOut for Pumped {
    fn rate(&self) -> FrameRate {
        RATE
    }

    fn send(&mut self, order: ToAudio) -> Result<(), ToAudio> {
        self.wires.orders.push(order).map_err(|rtrb::PushError::Full(order)| order)
    }

    fn news(&mut self, now: Nanos) -> Option<FromAudio> {
        let due = RATE.frames(now.min(self.dies_at) - self.start).0;
        while self.frame + 256 <= due {
            let heard_at = self.start + RATE.nanos(FrameSpan(self.frame));
            self.callback.tell(FrameSpan(256), heard_at);
            let mut block = [0.0; 256];
            self.callback.fill(&mut block);
            self.heard.lock().expect("whole").extend(block);
            self.frame += 256;
        }
        self.wires.news.pop().ok()
    }

    fn state(&mut self) -> SoundState {
        SoundState::Runs
    }
    fn underruns(&self) -> Option<u64> {
        None
    }
}

/// The same plan with a click on every beat and nothing else.
fn clicks_only(plan: SessionPlan) -> SessionPlan {
    let mutes = vec![Part::Bass, Part::Comp, Part::Ride, Part::Hat, Part::Kick];
    let accompaniment = Accompaniment { click: ClickOn::EveryPulse, ..plan.accompaniment };
    SessionPlan { mutes, accompaniment, ..plan }
}

/// The frames at which sound begins after silence.
fn onsets(heard: &[f32]) -> Vec<i64> {
    let mut onsets = Vec::new();
    let mut silence = usize::MAX;
    for (frame, sample) in heard.iter().enumerate() {
        if *sample != 0.0 && silence > 2000 {
            onsets.push(frame as i64);
        }
        silence = if *sample == 0.0 { silence.saturating_add(1) } else { 0 };
    }
    onsets
}

fn sounded(plan: &SessionPlan, dies_at: Nanos) -> (Played, Vec<f32>) {
    let wires = wires();
    let mut clock = Counting::new();
    let heard = Arc::new(Mutex::new(Vec::new()));
    let sound = Pumped { dies_at, ..Pumped::new(wires.audio, clock.now, Arc::clone(&heard)) };
    let devices = Devices {
        sound: Box::new(sound),
        notes: Box::new(NobodyPlays),
        said: Vec::new(),
        open_again: never(),
    };
    let stop = StopSignal::never();
    let played =
        Run::new(plan, arrangement(plan), devices, wires.session, KeeperEnd::nobody(), (&stop, Nanos(77)))
            .until_over(&mut clock);
    let frames = std::mem::take(&mut *heard.lock().expect("whole"));
    (played, frames)
}

#[test]
fn each_click_sounds_on_its_frame_and_none_is_late() {
    let (played, frames) = sounded(&clicks_only(plan("Dm7 | G7", 1)), Nanos(i64::MAX));
    assert_eq!(played.dropped.late_notes, 0);
    let onsets = onsets(&frames);
    let quarter = 12_000;
    let places: Vec<i64> = onsets.iter().map(|frame| frame - onsets[0]).collect();
    let wanted: Vec<i64> = [0, 2, 4, 5, 6, 7].into_iter().chain(8..16).map(|pulse| pulse * quarter).collect();
    assert_eq!(places, wanted);
}

#[test]
fn a_sound_font_plays_from_the_first_click_and_levels_hold() {
    let bytes = made::file(&[made::sine()], &[(128, 0)]);
    let font = SoundFont::read(&mut Cursor::new(bytes)).expect("a SoundFont");
    let own = clicks_only(plan("Dm7 | G7", 1));
    let by_font = SessionPlan { sound_font: Some(font), ..own.clone() };
    let softer = SessionPlan { levels: "click=-12".parse().expect("levels"), ..by_font.clone() };
    let [own, by_font, softer] = [own, by_font, softer].map(|plan| sounded(&plan, Nanos(i64::MAX)).1);
    let clicks = [&own, &by_font].map(|frames| onsets(frames));
    assert_eq!(clicks.each_ref().map(Vec::len), [14, 14]);
    // A thousandth of a second of its envelope and a block of its synthesizer, no more.
    assert!(clicks[0].iter().zip(&clicks[1]).all(|(own, by_font)| (0..=56).contains(&(by_font - own))));
    let first = |frames: &[f32]| frames[clicks[1][0] as usize..][..480].to_vec();
    assert_ne!(first(&own), first(&by_font), "the first click is the font's");
    let ratio = first(&softer)[300] / first(&by_font)[300];
    assert!((ratio - 0.2512).abs() < 0.001, "12 dB less: {ratio}");
}

#[test]
fn a_device_that_falls_silent_is_replaced_and_the_take_goes_on() {
    let plan = plan("Dm7 | G7 | Cmaj7 | A7", 2);
    let (played, _) = sounded(&plan, Nanos(3_000_000_000));
    assert_eq!(played.stopped, Stopped::AtTheEnd);
    assert_eq!(played.said.len(), 1, "{:?}", played.said);
    assert!(played.said[0].contains("it fell silent"));
}

/// An input of the server that the sound goes to: its news, and messages as they are due.
struct OfTheServer {
    news: VecDeque<InputNews>,
    line: MidiFromFile,
}

impl OfTheServer {
    fn with(line: &[(Nanos, ShortMessage)]) -> Self {
        let news = VecDeque::from([InputNews::Come("keys".to_owned())]);
        Self { news, line: MidiFromFile::new(line, NanoSpan::ZERO) }
    }
}

impl NotesIn for OfTheServer {
    fn next(&mut self, clock: &TakeClock, now: Nanos) -> Option<StampedMessage> {
        self.line.next(clock, now)
    }
    fn dropped(&self) -> u64 {
        0
    }
    fn input_news(&mut self) -> Option<InputNews> {
        self.news.pop_front()
    }
    fn goes_with_sound(&self) -> bool {
        true
    }
}

/// A take over four bars, twice, whose sound dies at 6 s: half a second before the first click, two of count-in, a second
/// a bar, so after 3.5 s of the tune.
fn dying_at_six(notes: Box<dyn NotesIn>, open_again: OpenAgain, heard: Samples) -> Played {
    let plan = clicks_only(plan("Dm7 | G7 | Cmaj7 | A7", 2));
    let wires = wires();
    let mut clock = Counting::new();
    let sound = Pumped { dies_at: Nanos(6_000_000_000), ..Pumped::new(wires.audio, clock.now, heard) };
    let devices = Devices { sound: Box::new(sound), notes, said: Vec::new(), open_again };
    let stop = StopSignal::never();
    let keeper = KeeperEnd::nobody();
    let run = Run::new(&plan, arrangement(&plan), devices, wires.session, keeper, (&stop, clock.now));
    run.until_over(&mut clock)
}

/// A device that takes 700 seconds of sound in each, as one without a pace does.
struct Racing(Frames);

impl SoundOut for Racing {
    fn rate(&self) -> FrameRate {
        RATE
    }
    fn send(&mut self, _: ToAudio) -> Result<(), ToAudio> {
        Ok(())
    }
    fn news(&mut self, now: Nanos) -> Option<FromAudio> {
        let (frame, frames) = (self.0, FrameSpan(48_000));
        let due = frame.0 < RATE.frames(now - Nanos::ZERO).0 * 700;
        due.then(|| {
            self.0 = frame + frames;
            FromAudio { frame, frames, heard_at: now, told_at: now, late: 0, lost: 0 }
        })
    }
    fn state(&mut self) -> SoundState {
        if self.0 > Frames(190_000) { SoundState::Outruns } else { SoundState::Runs }
    }
    fn underruns(&self) -> Option<u64> {
        None
    }
}

#[test]
fn a_device_without_a_pace_is_left_and_the_take_keeps_its_own() {
    let plan = plan("Dm7 | G7", 1);
    let wires = wires();
    let mut clock = Counting::new();
    let open_again: OpenAgain = Box::new(|_| panic!("it is not opened again"));
    let sound = Box::new(Racing(Frames::ZERO));
    let devices = Devices { sound, notes: Box::new(NobodyPlays), said: Vec::new(), open_again };
    let stop = StopSignal::never();
    let keeper = KeeperEnd::nobody();
    let run = Run::new(&plan, arrangement(&plan), devices, wires.session, keeper, (&stop, clock.now));
    let played = run.until_over(&mut clock);
    assert_eq!(played.stopped, Stopped::AtTheEnd);
    assert_eq!(played.said.len(), 1, "{:?}", played.said);
    assert!(played.said[0].contains("much faster than it could be heard"), "{:?}", played.said);
    // Half a second of lead, two bars of count-in, two of the tune, a tonic of a bar: a second each.
    assert!((5.0..8.0).contains(&seconds(clock.now)), "{:?}", clock.now);
}

#[test]
fn the_foot_ends_the_take_with_the_chorus_and_held_at_once() {
    let switch = FootSwitch { channel: 0, controller: 64, action: FootAction::Momentary };
    let plan = SessionPlan { foot: Some(switch), ..plan("Dm7 | G7", 3) };
    let pedal =
        |at: i64, value| (Nanos(at * 1_000_000), ShortMessage::new(&[0xb0, 64, value]).expect("a message"));
    let stopped = |sent: &[(Nanos, ShortMessage)]| {
        run(&plan, Box::new(MidiFromFile::new(sent, NanoSpan::ZERO)), |_, _| ()).stopped
    };
    // Two bars of count-in and two bars a chorus, a second each.
    assert_eq!(stopped(&[pedal(2_500, 127), pedal(2_700, 0)]), Stopped::AfterChorus(1));
    let Stopped::Now(at) = stopped(&[pedal(2_500, 127)]) else { panic!("held it stops at once") };
    assert!((3.49..3.52).contains(&seconds(at)), "{at:?}");
}

#[test]
fn an_input_that_goes_with_the_sound_leaves_a_gap_to_the_end_of_the_take() {
    let held = [(Nanos(5_000_000_000), note(62))];
    let played = dying_at_six(Box::new(OfTheServer::with(&held)), never(), Arc::default());
    assert_eq!(played.said.len(), 2, "{:?}", played.said);
    assert_eq!(played.said[1], "The MIDI input is gone with it at bar 4 of chorus 1. The gap is marked.");
    let [Gap { from, until }] = played.gaps[..] else { panic!("one gap: {:?}", played.gaps) };
    assert!((5.4..5.6).contains(&seconds(from)), "{from:?}");
    assert!((10.9..11.1).contains(&seconds(until)), "to the end of the closing tonic: {until:?}");
    let let_go = played.messages[1];
    assert_eq!((let_go.at, let_go.message.bytes()), (from, [0x80, 62, 0].as_slice()), "nobody else could");
    assert_eq!(played.used.as_deref(), Some("keys"), "the only one that was there");
}

#[test]
fn a_sound_that_comes_back_plays_on_in_time_and_brings_its_input() {
    /// Opens, half a second after it was begun, a device that has run for three seconds already.
    struct Soon {
        polls: u32,
        heard: Samples,
    }
    impl Opening for Soon {
        fn opened(&mut self) -> Option<Pair> {
            self.polls += 1;
            let start = Nanos(5_500_000_000);
            let sound = || Pumped::new(wires().audio, start, Arc::clone(&self.heard));
            let line = [(Nanos(8_000_000_000), note(64))];
            (self.polls == 100)
                .then(|| Pair { sound: Box::new(sound()), notes: Some(Box::new(OfTheServer::with(&line))) })
        }
    }
    let (first, second) = (Samples::default(), Samples::default());
    let heard = Arc::clone(&second);
    let open_again: OpenAgain = Box::new(move |_| Ok(Box::new(Soon { polls: 0, heard: Arc::clone(&heard) })));
    let played = dying_at_six(Box::new(OfTheServer::with(&[])), open_again, Arc::clone(&first));

    let said: Vec<&str> = played.said.iter().map(String::as_str).collect();
    let [_, _, "The sound is back at bar 3 of chorus 2.", "keys is back at bar 3 of chorus 2."] = said[..]
    else {
        panic!("{said:?}")
    };
    assert_eq!(played.stopped, Stopped::AtTheEnd);
    let [Gap { from, until }] = played.gaps[..] else { panic!("one gap: {:?}", played.gaps) };
    // The watchdog waits two seconds, the opening half a second, the settling 0.4.
    assert!(
        (5.4..5.6).contains(&seconds(from)) && (8.3..8.5).contains(&seconds(until)),
        "{from:?} {until:?}"
    );
    assert_eq!(struck(&played).len(), 1, "what is played after the return is heard");

    // Clicks alone sound, on both devices, a quarter of a second apart from the first to the last.
    let clicks = |heard: &Samples, start: Nanos| -> Vec<i64> {
        let onsets = onsets(&heard.lock().expect("whole"));
        onsets.into_iter().map(|frame| RATE.frames(start - Nanos::ZERO).0 + frame).collect()
    };
    let (before, after) = (clicks(&first, Nanos(77)), clicks(&second, Nanos(5_500_000_000)));
    assert!(!after.is_empty(), "nothing sounds on the second device");
    let quarter = 12_000;
    for click in after {
        let off = (click - before[0]).rem_euclid(quarter);
        assert!(off.min(quarter - off) <= 1, "{off} frames from a beat");
    }
    assert_eq!(played.dropped.late_notes, 0);
}

#[test]
fn an_input_that_is_unplugged_and_comes_back_leaves_a_gap_between() {
    /// Goes at 3 s and is back at 4 s.
    struct Unplugged(VecDeque<(Nanos, InputNews)>, Nanos);
    impl NotesIn for Unplugged {
        fn next(&mut self, clock: &TakeClock, now: Nanos) -> Option<StampedMessage> {
            self.1 = clock.take_time(now);
            None
        }
        fn dropped(&self) -> u64 {
            0
        }
        fn input_news(&mut self) -> Option<InputNews> {
            let due = self.0.front().is_some_and(|(at, _)| *at <= self.1);
            if due { self.0.pop_front().map(|(_, news)| news) } else { None }
        }
    }
    let at = |millis: i64, news: fn(String) -> InputNews, name: &str| {
        (Nanos(millis * 1_000_000), news(name.to_owned()))
    };
    let news = [
        at(-9_000, InputNews::Come, "guitar"),
        at(3_000, InputNews::Gone, "guitar"),
        at(3_500, InputNews::Come, "pad"),
        at(4_000, InputNews::Come, "guitar"),
    ];
    let input = Unplugged(VecDeque::from(news), Nanos(i64::MIN));
    let played = run(&plan("Dm7 | G7 | Cmaj7 | A7", 1), Box::new(input), |_, _| ());
    let said = [
        "guitar gone at bar 2; waiting. The gap is marked.",
        "pad is heard at bar 2.",
        "guitar is back at bar 3.",
    ];
    assert_eq!(played.said, said);
    let [Gap { from, until }] = played.gaps[..] else { panic!("one gap: {:?}", played.gaps) };
    assert!(
        (2.99..3.02).contains(&seconds(from)) && (3.99..4.02).contains(&seconds(until)),
        "{from:?} {until:?}"
    );
}

#[test]
fn a_stopped_chorus_closes_on_the_tonic_though_later_notes_were_sent() {
    // A device that only remembers its orders.
    #[derive(Clone, Default)]
    struct Ledger(Arc<Mutex<Vec<(Frames, Strike)>>>);
    struct Remembering(SilentSound, Ledger);
    impl SoundOut for Remembering {
        fn rate(&self) -> FrameRate {
            self.0.rate()
        }
        fn send(&mut self, order: ToAudio) -> Result<(), ToAudio> {
            let mut orders = self.1.0.lock().expect("whole");
            match order {
                ToAudio::Strike { at, strike } => orders.push((at, strike)),
                ToAudio::DropFrom(frame) => orders.retain(|(at, _)| *at < frame),
                ToAudio::Hear(..) | ToAudio::Set(_) | ToAudio::PlayBy(_) | ToAudio::Release => {}
            }
            Ok(())
        }
        fn news(&mut self, now: Nanos) -> Option<FromAudio> {
            self.0.news(now)
        }
        fn state(&mut self) -> SoundState {
            SoundState::Runs
        }
        fn underruns(&self) -> Option<u64> {
            None
        }
    }
    let changes = |(key, chords): &(&str, &str)| {
        let form = form(chords);
        Arc::new(Changes { key: key.parse().expect("a key"), reading: reading(&form), form })
    };
    let keys = [("C", "Dm7 | G7"), ("F", "Gm7 | C7")].iter().map(changes).collect();
    let plan = SessionPlan { keys, ..plan("Dm7 | G7", 8) };
    let wires = wires();
    let view = wires.view;
    let ledger = Ledger::default();
    let mut given = false;
    let mut clock = Counting::doing(|_| {
        // Half a bar before the end of the first chorus: the next bar's notes are long sent.
        let late = Ticks::ZERO + TickSpan::quarters(6);
        if matches!(view.latest().get().place, Place::Playing { chorus: 1, at } if at > late) && !given {
            given = true;
            view.give(Cue::Stop);
        }
    });
    let sound = Box::new(Remembering(SilentSound::new(clock.now), ledger.clone()));
    let devices = Devices { sound, notes: Box::new(NobodyPlays), said: Vec::new(), open_again: never() };
    let stop = StopSignal::never();
    let played =
        Run::new(&plan, arrangement(&plan), devices, wires.session, KeeperEnd::nobody(), (&stop, Nanos(77)))
            .until_over(&mut clock);
    assert_eq!(played.stopped, Stopped::AfterChorus(1));
    let orders = ledger.0.lock().expect("whole");
    let bass: Vec<_> = orders.iter().filter(|(_, strike)| strike.part == Part::Bass).collect();
    let (last, before) = (bass[bass.len() - 1], bass[bass.len() - 2]);
    assert_eq!(bass.len(), 9, "two bars of four, then the tonic");
    assert_eq!(last.1.key % 12, 2, "the tonic of the key that sounded");
    assert!(last.1.key.abs_diff(before.1.key) <= 6, "as near as it can be");
    assert!(before.0 < last.0 && last.1.length == FrameSpan(48_000), "held for a bar");
}

#[test]
fn plans_that_cannot_be_played_say_why() {
    let check = |plan: &SessionPlan| plan.check().expect_err("refused").to_string();
    let mut empty = plan("Dm7", 1);
    empty.choruses = 0;
    assert!(check(&empty).contains("no bars"));
    let mut fast = plan("Dm7", 1);
    fast.bpm = f64::NAN;
    assert!(check(&fast).contains("out of range"));
    let mut long = plan("Dm7 | G7", 1);
    long.choruses = u16::MAX;
    assert!(check(&long).contains("too many"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn whatever_the_file_holds_the_take_keeps_it_in_order(times in prop::collection::vec(0i64..6_000_000_000, 0..60)) {
        let plan = plan("Dm7 | G7 | Cmaj7 | A7", 1);
        let given: Vec<_> = times.iter().map(|&at| (Nanos(at), note((at % 128) as u8))).collect();
        let played = run(&plan, Box::new(MidiFromFile::new(&given, NanoSpan::ZERO)), |_, _| ());
        let mut wanted = given;
        wanted.sort_by_key(|(at, _)| *at);
        let kept: Vec<_> = struck(&played).iter().map(|m| (m.at, m.message)).collect();
        prop_assert_eq!(kept, wanted);
        prop_assert_eq!(played.tempo, TempoMap::at_bpm(240.0));
    }
}

#[test]
fn messages_that_found_no_room_are_counted_and_their_time_is_marked() {
    /// Loses two messages two seconds into the take.
    struct Losing(Nanos);
    impl NotesIn for Losing {
        fn next(&mut self, clock: &TakeClock, now: Nanos) -> Option<StampedMessage> {
            self.0 = clock.take_time(now);
            None
        }
        fn dropped(&self) -> u64 {
            if self.0 < Nanos(2_000_000_000) { 0 } else { 2 }
        }
    }
    let played = run(&plan("Dm7 | G7", 1), Box::new(Losing(Nanos::ZERO)), |_, _| ());
    assert_eq!(played.dropped.messages, 2);
    assert_eq!(played.gaps.len(), 1);
    let Gap { from, until } = played.gaps[0];
    assert!(
        from < until && (1.85..2.0).contains(&seconds(from)) && seconds(until) >= 2.0,
        "{from:?} to {until:?}"
    );
}
