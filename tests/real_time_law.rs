//! The real-time law, proved: the audio callback neither allocates nor frees, whatever it is asked to do.
//!
//! The allocator of this test program aborts it when either happens inside [`assert_no_alloc`].

use assert_no_alloc::{AllocDisabler, assert_no_alloc};
use barwise::band::Part;
use barwise::band::voices::{Hearing, Strike};
use barwise::live::callback::Callback;
use barwise::live::wires::{NEWS, ORDERS, ToAudio, wires};
use barwise::time::{FrameRate, FrameSpan, Frames, Nanos};

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
