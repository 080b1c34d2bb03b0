//! The audio callback beside its deadline: a block of 256 frames at 48 kHz must be full in 5,333 microseconds.
//!
//! `cargo bench --bench callback`. Prints the worst block of five minutes of a full band first, with voices of our own and
//! with a SoundFont: a deadline is kept by the worst block, not by the mean. The same five minutes are played several
//! times: a block's own work is in every one of them, what else the machine does is not. The SoundFont is made in code:
//! two sides of four seconds that go round for ever, so that no note is ever through before it is let go.

#[path = "../tests/support/full_band.rs"]
mod full_band;
#[path = "../tests/support/sound_font.rs"]
mod made;

use std::io::Cursor;
use std::time::{Duration, Instant};

use barwise::band::voices::Strike;
use barwise::band::voices::sound_font::SoundFont;
use barwise::live::callback::Callback;
use barwise::live::wires::{ToAudio, ToAudioEnd, wires};
use barwise::time::{FrameSpan, Frames, Nanos};
use divan::{Bencher, black_box};
use full_band::{BLOCK, RATE, send_ahead, strikes};

/// Five minutes.
const MINUTES: u16 = 5;
/// How often they are played.
const TIMES: usize = 5;
/// Blocks of ten seconds, after which every part plays.
const INTO: usize = 10 * 48_000 / BLOCK;

/// A band on its way through the callback, block by block.
struct Playing<'s> {
    session: ToAudioEnd,
    callback: Callback,
    left: &'s [(Frames, Strike)],
    frame: Frames,
    block: [f32; BLOCK],
}

/// What plays.
#[derive(Clone, Copy, Debug)]
enum By {
    OwnVoices,
    SoundFont,
}

impl<'s> Playing<'s> {
    fn new(strikes: &'s [(Frames, Strike)], by: By) -> Self {
        let (mut session, audio) = wires().audio;
        let callback = Callback::new(audio, RATE);
        if let By::SoundFont = by {
            let players = sound_font().players(RATE).expect("a rate it plays at");
            session.orders.push(ToAudio::PlayBy(players)).expect("room");
        }
        Self { session, callback, left: strikes, frame: Frames::ZERO, block: [0.0; BLOCK] }
    }

    /// What a session does between two callbacks.
    fn prepare(&mut self) {
        self.left = send_ahead(self.left, self.frame, &mut self.session);
        while self.session.news.pop().is_ok() {}
    }

    /// One callback.
    fn fill(&mut self) {
        let frames = FrameSpan(BLOCK as i64);
        self.callback.tell(frames, Nanos(self.frame.0));
        self.callback.fill(&mut self.block);
        black_box(&self.block);
        self.frame += frames;
    }
}

/// A SoundFont whose sounds are two sides of four seconds, for every part.
fn sound_font() -> SoundFont {
    let sine = made::sine();
    let four_seconds = sine.samples.iter().copied().cycle().take(4 * sine.hertz as usize).collect();
    let side = made::Sound { samples: four_seconds, round_from: sine.hertz, ..sine };
    let bytes = made::file(&[side.clone(), side], &[(0, 32), (0, 4), (0, 26), (128, 0)]);
    SoundFont::read(&mut Cursor::new(bytes)).expect("a SoundFont")
}

fn main() {
    worst_of_five_minutes(By::OwnVoices);
    worst_of_five_minutes(By::SoundFont);
    divan::main();
}

/// How long each block of the five minutes took.
fn five_minutes(strikes: &[(Frames, Strike)], by: By) -> Vec<Duration> {
    let mut playing = Playing::new(strikes, by);
    let blocks = usize::from(MINUTES) * 60 * RATE.hertz() as usize / BLOCK;
    let timed = |_| {
        playing.prepare();
        let began = Instant::now();
        playing.fill();
        began.elapsed()
    };
    (0..blocks).map(timed).collect()
}

fn worst_of_five_minutes(by: By) {
    let strikes = strikes(RATE, MINUTES);
    let runs: Vec<Vec<Duration>> = (0..TIMES).map(|_| five_minutes(&strikes, by)).collect();
    let blocks = runs[0].len();
    let fastest = |block: usize| runs.iter().map(|run| run[block]).min().unwrap_or_default();
    let mut own: Vec<Duration> = (0..blocks).map(fastest).collect();
    own.sort_unstable();
    let with_all_else = runs.iter().flatten().max().copied().unwrap_or_default();
    let micros = |duration: Duration| duration.as_secs_f64() * 1e6;
    let deadline = BLOCK as f64 * 1e6 / f64::from(RATE.hertz());
    let worst = micros(own[blocks - 1]);
    println!(
        "{by:?}: {blocks} blocks of {BLOCK} frames, each at its fastest of {TIMES} runs: median {:.1} us, \
         worst {worst:.1} us of {deadline:.0}, which is {:.2} %; \
         the slowest of all runs, with what else the machine did: {:.1} us",
        micros(own[blocks / 2]),
        100.0 * worst / deadline,
        micros(with_all_else),
    );
}

/// One block in the midst of a full band.
#[divan::bench(sample_count = 5_000, sample_size = 1, args = [By::OwnVoices, By::SoundFont])]
fn a_block_of_full_band(bencher: Bencher, by: By) {
    let strikes = strikes(RATE, MINUTES);
    let mut playing = Playing::new(&strikes, by);
    for _ in 0..INTO {
        playing.prepare();
        playing.fill();
    }
    bencher.bench_local(|| {
        playing.prepare();
        playing.fill();
    });
}

/// The time there is for it, slept through: what the other is to be held against.
#[divan::bench(sample_count = 20, sample_size = 1)]
fn b_its_deadline() {
    std::thread::sleep(Duration::from_nanos(BLOCK as u64 * 1_000_000_000 / u64::from(RATE.hertz())));
}
