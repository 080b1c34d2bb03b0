//! Devices whose clocks drift, jitter and step: no note is moved by it.

use super::*;

/// The crystal of a simulated device: when its frames are truly heard, on the host's clock.
#[derive(Clone, Copy, Debug)]
struct Crystal {
    /// When its first frame is heard.
    start: Nanos,
    /// How much slower than its rate it runs, in millionths.
    ppm: f64,
    /// From which frame on everything is heard later (or, below nothing, earlier) by how much.
    step: (Frames, NanoSpan),
}

impl Crystal {
    fn heard_at(self, frame: Frames) -> Nanos {
        let nanos = frame.0 as f64 * 1e9 / f64::from(RATE.hertz()) * (1.0 + self.ppm * 1e-6);
        let stepped = if frame >= self.step.0 { self.step.1 } else { NanoSpan::ZERO };
        self.start + NanoSpan(nanos.round() as i64) + stepped
    }
}

const BLOCK: i64 = 256;
/// How long before it is heard a block is asked for: two blocks.
const LATENCY: NanoSpan = NanoSpan(10_666_667);

/// A device that tells, with jitter of up to 0.6 ms, when its crystal lets each block be heard.
struct Drifting {
    crystal: Crystal,
    block: i64,
}

impl SoundOut for Drifting {
    fn rate(&self) -> FrameRate {
        RATE
    }
    fn send(&mut self, _: ToAudio) -> Result<(), ToAudio> {
        Ok(())
    }
    fn news(&mut self, now: Nanos) -> Option<FromAudio> {
        let frame = Frames(self.block * BLOCK);
        let heard_at = self.crystal.heard_at(frame);
        if heard_at - LATENCY > now {
            return None;
        }
        let jitter = NanoSpan(((self.block * 7919) % 13 - 6) * 100_000);
        self.block += 1;
        let heard_at = heard_at + jitter;
        Some(FromAudio { frame, frames: FrameSpan(BLOCK), heard_at, told_at: heard_at, late: 0, lost: 0 })
    }
    fn state(&mut self) -> SoundState {
        SoundState::Runs
    }
    fn underruns(&self) -> Option<u64> {
        None
    }
}

/// A player who strikes a note each 37 ms, exactly with what is heard then.
struct InTime {
    crystal: Crystal,
    next: i64,
}

const EVERY: NanoSpan = NanoSpan::millis(37);

impl NotesIn for InTime {
    fn next(&mut self, clock: &TakeClock, now: Nanos) -> Option<StampedMessage> {
        let frame = clock.frame(Nanos::ZERO + EVERY * self.next);
        let played = self.crystal.heard_at(frame);
        (played <= now).then(|| {
            self.next += 1;
            StampedMessage { at: clock.take_time(played), message: note((self.next % 128) as u8) }
        })
    }
    fn dropped(&self) -> u64 {
        0
    }
}

/// The furthest that a note of ten seconds or more is from where it was played, and how many there are.
fn furthest(ppm: f64, step: (Frames, NanoSpan)) -> (f64, usize) {
    let plan = plan("Dm7 | G7 | Cmaj7 | A7", 2);
    let wires = wires();
    let mut clock = Counting::new();
    let crystal = Crystal { start: clock.now, ppm, step };
    let devices = Devices {
        sound: Box::new(Drifting { crystal, block: 0 }),
        notes: Box::new(InTime { crystal, next: 1 }),
        said: Vec::new(),
        open_again: never(),
    };
    let stop = StopSignal::never();
    let keeper = KeeperEnd::nobody();
    let run = Run::new(&plan, arrangement(&plan), devices, wires.session, keeper, (&stop, clock.now));
    let struck = struck(&run.until_over(&mut clock));
    let off = struck.iter().zip(1..).map(|(note, i)| (note.at - (Nanos::ZERO + EVERY * i)).in_millis().abs());
    (off.fold(0.0, f64::max), struck.len())
}

#[test]
fn a_drifting_crystal_moves_no_note() {
    for ppm in [-300.0, 0.0, 300.0] {
        let (apart, notes) = furthest(ppm, (Frames(i64::MAX), NanoSpan::ZERO));
        assert!(apart < 2.0 && notes > 280, "{ppm} ppm: {apart} ms, {notes} notes");
    }
}

#[test]
fn a_step_of_the_device_moves_no_note_before_in_or_after_it() {
    for ms in [20, -20, 5, 300] {
        for ppm in [-300.0, 300.0] {
            let (apart, notes) = furthest(ppm, (Frames(4 * 48_000), NanoSpan::millis(ms)));
            assert!(apart < 2.0 && notes > 270, "{ms} ms, {ppm} ppm: {apart} ms, {notes} notes");
        }
    }
}

#[test]
fn a_server_that_learns_late_how_long_its_sound_takes_moves_no_note_after_the_return() {
    /// Strikes by the host's clock, each half second, from the first click on.
    struct Metronome(i64);
    impl NotesIn for Metronome {
        fn next(&mut self, clock: &TakeClock, now: Nanos) -> Option<StampedMessage> {
            let played = Nanos(700_000_000 + self.0 * 500_000_000);
            (played <= now).then(|| {
                self.0 += 1;
                StampedMessage { at: clock.take_time(played), message: note(60) }
            })
        }
        fn dropped(&self) -> u64 {
            0
        }
    }
    /// As [`Drifting`], open half a second after it is asked for.
    struct Late(Crystal, u32);
    impl Opening for Late {
        fn opened(&mut self) -> Option<Pair> {
            self.1 += 1;
            let sound = Drifting { crystal: self.0, block: 0 };
            (self.1 == 100).then(|| Pair { sound: Box::new(sound), notes: None })
        }
    }
    // The first device dies at 6 s and is missed two seconds later; the next has run since 5.5 s. It tells of everything
    // one period (10.67 ms) too early, until 330, 390 or 1,500 ms after it was opened: that last is not waited for.
    for (after_ms, moves) in [(330, false), (390, false), (1_500, true)] {
        let start = Nanos(5_500_000_000);
        let frame = Frames::ZERO + RATE.frames(NanoSpan::millis(3_000 + after_ms));
        let crystal = Crystal { start, ppm: 0.0, step: (frame, NanoSpan(10_666_667)) };
        let open_again: OpenAgain = Box::new(move |_| Ok(Box::new(Late(crystal, 0))));
        let played = dying_at_six(Box::new(Metronome(0)), open_again, Arc::default());
        assert!(played.said.iter().any(|said| said.starts_with("The sound is back")), "{:?}", played.said);
        let times: Vec<Nanos> = struck(&played).iter().map(|note| note.at).collect();
        let first = times[0];
        let apart =
            times.iter().zip(0..).map(|(&at, i)| (at - first - NanoSpan::millis(500) * i).in_millis().abs());
        let apart = apart.fold(0.0, f64::max);
        assert_eq!(apart > 1.0, moves, "{after_ms}: {apart} ms");
    }
}
