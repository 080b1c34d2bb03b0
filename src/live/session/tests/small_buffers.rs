//! A device that runs dry with small buffers is opened again with larger ones until it does not.

use super::*;
use crate::live::buffer::{Buffer, BufferWatch};

/// A device that runs dry five times a second until its buffer has 2,048 frames.
struct Hungry {
    sound: Pumped,
    watch: BufferWatch,
    frames: u32,
    now: Nanos,
}

impl Hungry {
    fn open(buffer: &Arc<Buffer>, now: Nanos, heard: &Samples) -> Self {
        let sound = Pumped::new(wires().audio, now, Arc::clone(heard));
        let watch = BufferWatch::new(Arc::clone(buffer), u32::MAX);
        Self { sound, watch, frames: buffer.frames(), now }
    }
}

impl SoundOut for Hungry {
    fn rate(&self) -> FrameRate {
        RATE
    }
    fn send(&mut self, order: ToAudio) -> Result<(), ToAudio> {
        self.sound.send(order)
    }
    fn news(&mut self, now: Nanos) -> Option<FromAudio> {
        self.now = now;
        self.sound.news(now)
    }
    fn state(&mut self) -> SoundState {
        let underruns = self.underruns().unwrap_or_default();
        self.watch.state(self.now, underruns)
    }
    fn underruns(&self) -> Option<u64> {
        let since = self.now - self.sound.start;
        Some(if self.frames < 2048 { (since.0 / 200_000_000) as u64 } else { 0 })
    }
}

/// Opens the device again as soon as anybody asks, at the time that the session has come to.
struct AtOnce {
    buffer: Arc<Buffer>,
    opened: Arc<Mutex<Vec<(u32, Nanos, Samples)>>>,
    now: Arc<Mutex<Nanos>>,
}

impl Opening for AtOnce {
    fn opened(&mut self) -> Option<Pair> {
        let (now, heard) = (*self.now.lock().expect("whole"), Samples::default());
        let sound = Hungry::open(&self.buffer, now, &heard);
        self.opened.lock().expect("whole").push((sound.frames, now, heard));
        Some(Pair { sound: Box::new(sound), notes: None })
    }
}

#[test]
fn a_device_that_runs_dry_is_opened_with_larger_buffers_until_it_does_not_and_plays_on_in_time() {
    let plan = clicks_only(plan("Dm7 | G7 | Cmaj7 | A7", 2));
    let (buffer, opened, first) = (Arc::new(Buffer::default()), Arc::default(), Samples::default());
    let now = Arc::new(Mutex::new(Nanos(77)));
    let passing = Arc::clone(&now);
    let mut clock = Counting::doing(move |at| *passing.lock().expect("whole") = at);
    let sound = Box::new(Hungry::open(&buffer, clock.now, &first));
    let again = Arc::clone(&opened);
    let open_again: OpenAgain = Box::new(move |_| {
        let (buffer, opened, now) = (Arc::clone(&buffer), Arc::clone(&again), Arc::clone(&now));
        Ok(Box::new(AtOnce { buffer, opened, now }))
    });
    let devices = Devices { sound, notes: Box::new(NobodyPlays), said: Vec::new(), open_again };
    let stop = StopSignal::never();
    let run = Run::new(
        &plan,
        arrangement(&plan),
        devices,
        wires().session,
        KeeperEnd::nobody(),
        (&stop, Nanos(77)),
    );
    let played = run.until_over(&mut clock);

    assert_eq!(played.stopped, Stopped::AtTheEnd);
    let stutters: Vec<&String> = played.said.iter().filter(|said| said.contains("stutters")).collect();
    assert_eq!(
        stutters,
        [
            "The sound stutters: opening it again with 1024 frames a buffer.",
            "The sound stutters: opening it again with 2048 frames a buffer.",
        ]
    );
    let opened = opened.lock().expect("whole");
    assert_eq!(opened.iter().map(|&(frames, ..)| frames).collect::<Vec<_>>(), [1024, 2048]);
    // Five are one too many, twice; a device runs dry while its clock settles, too.
    assert!(played.dropped.underruns.is_some_and(|times| (10..15).contains(&times)), "{:?}", played.dropped);
    assert_eq!(played.dropped.late_notes, 0);

    // Clicks alone sound, on all three devices, on the beats of the first of them.
    let first_click = onsets(&first.lock().expect("whole"))[0];
    for (_, start, heard) in opened.iter() {
        let onsets = onsets(&heard.lock().expect("whole"));
        assert!(onsets.len() > 3, "{} clicks", onsets.len());
        for onset in onsets {
            let off = (RATE.frames(*start - Nanos(77)).0 + onset - first_click).rem_euclid(12_000);
            assert!(off.min(12_000 - off) <= 1, "{off} frames from a beat");
        }
    }
}
