//! The real-time law, proved: the audio callback neither allocates nor frees, whatever it is asked to do.
//!
//! The allocator of this test program aborts it when either happens inside [`assert_no_alloc`].

#[path = "support/full_band.rs"]
mod full_band;
#[path = "support/sound_font.rs"]
mod made;

use assert_no_alloc::{AllocDisabler, assert_no_alloc};
use std::io::Cursor;

use barwise::band::Part;
use barwise::band::voices::sound_font::{Players, SoundFont};
use barwise::band::voices::{Hearing, Strike};
use barwise::live::callback::Callback;
use barwise::live::wires::{GARBAGE, NEWS, ORDERS, ToAudio, ToAudioEnd, wires};
use barwise::time::{FrameRate, FrameSpan, Frames, Nanos};
use full_band::{BLOCK, RATE, send_ahead, strikes};

#[global_allocator]
static ALLOCATOR: AllocDisabler = AllocDisabler;

fn strike(i: i64) -> ToAudio {
    let part = Part::ALL[(i % 6) as usize];
    let strike = Strike { part, key: (i % 128) as u8, velocity: 1 + (i % 127) as u8, length: FrameSpan(900) };
    ToAudio::Strike { at: Frames(i * 37), strike }
}

#[test]
fn the_callback_allocates_nothing_from_silence_to_more_than_it_can_hold() {
    let (mut session, audio) = wires().audio;
    let mut callback = Callback::new(audio, FrameRate::new(48_000).expect("a rate"));
    let mut block = [0.0; 300];
    let mut run = |callbacks: usize| {
        for i in 0..callbacks {
            assert_no_alloc(|| {
                callback.tell(FrameSpan(300), Nanos(i as i64));
                callback.fill(&mut block);
            });
        }
    };
    run(3);
    // More notes than may wait, and more news than the ring holds: nobody listens.
    let sent = (0..2 * ORDERS as i64).filter(|&i| session.orders.push(strike(i)).is_ok()).count();
    assert_eq!(sent, ORDERS);
    run(NEWS + 10);
    for order in [
        ToAudio::Hear(Part::Bass, Hearing::Muted),
        strike(1_000_000),
        ToAudio::DropFrom(Frames(1000)),
        strike(0),
        ToAudio::Release,
        strike(0),
    ] {
        session.orders.push(order).expect("room: the callback took the notes");
        run(2);
    }
}

/// A SoundFont with every sound the band takes, each of two sides.
fn players(rate: u32) -> Box<Players> {
    let bytes = made::file(&[made::sine(), made::sine()], &[(0, 32), (0, 4), (0, 26), (128, 0)]);
    let font = SoundFont::read(&mut Cursor::new(bytes)).expect("a SoundFont");
    font.players(FrameRate::new(rate).expect("a rate")).expect("a rate it plays at")
}

#[test]
fn a_sound_font_comes_and_goes_and_is_never_freed_by_the_callback() {
    let (mut session, audio) = wires().audio;
    let mut callback = Callback::new(audio, RATE);
    let mut block = [0.0; 300];
    let mut run = |session: &mut ToAudioEnd, players: Box<Players>, at: i64| {
        session.orders.push(ToAudio::PlayBy(players)).expect("room");
        session.orders.push(strike(at)).expect("room");
        for i in 0..3 {
            assert_no_alloc(|| {
                callback.tell(FrameSpan(300), Nanos(i));
                callback.fill(&mut block);
            });
        }
    };
    // One more than there is room for garbage, and one that is kept: the next waits in the ring of orders.
    for i in 0..GARBAGE as i64 + 2 {
        run(&mut session, players(48_000), i);
    }
    assert_eq!(session.orders.slots(), ORDERS - 2, "the last order, and the note behind it");
    assert_eq!(session.free_garbage(), GARBAGE);
    run(&mut session, players(48_000), 9);
    assert_eq!(session.orders.slots(), ORDERS);
    assert_eq!(session.free_garbage(), 2);
}

/// Plays ten minutes of a full band through the callback, at a low rate, for they are the same orders and the same work at
/// any; gives back the loudest sample, how many notes were played, and
/// how many of them late.
fn ten_minutes(rate: FrameRate, mut prepare: impl FnMut(&mut ToAudioEnd)) -> (f32, usize, u32) {
    let (mut session, audio) = wires().audio;
    let mut callback = Callback::new(audio, rate);
    prepare(&mut session);
    let strikes = strikes(rate, 10);
    let mut left = strikes.as_slice();
    let mut block = [0.0; BLOCK];
    let (mut frame, mut loudest, mut late) = (Frames::ZERO, 0.0_f32, 0);
    while frame < Frames(10 * 60 * i64::from(rate.hertz())) {
        left = send_ahead(left, frame, &mut session);
        assert_no_alloc(|| {
            callback.tell(FrameSpan(BLOCK as i64), Nanos(frame.0));
            callback.fill(&mut block);
        });
        while let Ok(news) = session.news.pop() {
            late += news.late;
        }
        loudest = block.iter().fold(loudest, |loudest, sample| loudest.max(sample.abs()));
        frame += FrameSpan(BLOCK as i64);
    }
    (loudest, strikes.len() - left.len(), late)
}

fn check_ten_minutes(rate: u32, prepare: impl FnMut(&mut ToAudioEnd)) {
    let rate = FrameRate::new(rate).expect("a rate");
    let (loudest, played, late) = ten_minutes(rate, prepare);
    assert!(played > 10_000, "a full band plays more than {played} notes");
    assert!((0.1..=0.8913).contains(&loudest), "sound comes out, and none is beyond -1 dBFS: {loudest}");
    assert_eq!(late, 0);
}

#[test]
fn ten_minutes_of_a_full_band_allocate_nothing_and_no_note_is_late() {
    check_ten_minutes(8_000, |_| ());
}

#[test]
fn ten_minutes_of_a_sound_font_allocate_nothing_and_no_note_is_late() {
    // The lowest rate a SoundFont is played at.
    let lowest = 16_000;
    check_ten_minutes(lowest, |session| {
        session.orders.push(ToAudio::PlayBy(players(lowest))).expect("room");
    });
}
