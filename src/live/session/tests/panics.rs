//! A panic in any thread of a take ends it, and what was played until then was handed over.

use std::panic::{AssertUnwindSafe, catch_unwind};

use super::*;
use crate::live::keep::{ToKeeper, keeper};

/// Strikes ten notes in the count-in, then panics.
struct Slipping(u8);

impl NotesIn for Slipping {
    fn next(&mut self, clock: &TakeClock, now: Nanos) -> Option<StampedMessage> {
        let at = Nanos(i64::from(self.0) * 1_000_000);
        (clock.take_time(now) >= at).then(|| {
            assert!(self.0 < 10, "a slip of the pen");
            self.0 += 1;
            StampedMessage { at, message: note(60 + self.0) }
        })
    }
    fn dropped(&self) -> u64 {
        0
    }
}

#[test]
fn the_session_breaks_off_and_what_was_played_was_handed_over() {
    let plan = plan("Dm7 | G7", 99);
    let (end, orders) = keeper();
    let open = |_, _, clock: HostClock| silent(clock.now(), Box::new(Slipping(0)));
    let broken = play_on(&plan, end, headless, open).expect_err("it broke off");
    assert!(matches!(broken, LiveError::Broken), "{broken}");
    let struck = orders.iter().filter(|order| matches!(order, ToKeeper::Message(_))).count();
    assert_eq!(struck, 10, "and the writer sees the end of it");
}

#[test]
fn a_view_that_panics_ends_the_take_before_it_ends_the_program() {
    let plan = plan("Dm7 | G7", 99);
    let (end, orders) = keeper();
    let open = |_, _, clock: HostClock| silent(clock.now(), Box::new(NobodyPlays));
    let view = |_: &ViewEnd| -> std::io::Result<()> { panic!("a slip of the pen") };
    let ended = catch_unwind(AssertUnwindSafe(|| play_on(&plan, end, view, open)));
    assert!(ended.is_err(), "99 choruses of two bars were not waited for");
    assert!(orders.iter().count() < 4, "nobody hands anything over any more");
}
