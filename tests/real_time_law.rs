//! The real-time law, proved: the audio callback neither allocates nor frees, whatever it is asked to do.
//!
//! The allocator of this test program aborts it when either happens inside [`assert_no_alloc`].

#[path = "support/full_band.rs"]
mod full_band;

use assert_no_alloc::{AllocDisabler, assert_no_alloc};
use barwise::band::Part;
use barwise::band::voices::{Hearing, Strike};
use barwise::live::callback::Callback;
use barwise::live::wires::{NEWS, ORDERS, ToAudio, wires};
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

#[test]
fn five_minutes_of_a_full_band_allocate_nothing_and_no_note_is_late() {
    let (mut session, audio) = wires().audio;
    let mut callback = Callback::new(audio, RATE);
    let strikes = strikes(5);
    let mut left = strikes.as_slice();
    let mut block = [0.0; BLOCK];
    let (mut frame, mut loudest, mut late) = (Frames::ZERO, 0.0_f32, 0);
    while frame < Frames(5 * 60 * i64::from(RATE.hertz())) {
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
    let played = strikes.len() - left.len();
    assert!(played > 5_000, "a full band plays more than {played} notes");
    assert!((0.1..=1.0).contains(&loudest), "sound comes out, and none is clipped: {loudest}");
    assert_eq!(late, 0);
}
