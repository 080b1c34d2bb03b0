//! The session: one take from count-in to closing tonic.
//!
//! [`play`] starts the session's thread and runs the view on the caller's. The session never waits for anybody: each
//! tick it hears the audio thread's news, obeys cues, sends the band's notes ahead, takes in what was played and shows
//! a [`Moment`]. All times come from the sound device's frames through one fitted line.

mod ahead;
mod ear;
mod run;
mod sound;
#[cfg(test)]
mod tests;

use std::sync::Arc;
use std::thread;
use std::time::Duration;

use super::clock::HostClock;
use super::devices::{self, Devices};
use super::keep::KeeperEnd;
use super::moment::{Latest, Moment, Place};
use super::plan::{LiveError, Played, SessionPlan, ViewBroke};
use super::stop_signal::StopSignal;
use super::wires::{AudioEnd, Cue, DriverEnd, MessagesEnd, ToAudioEnd, ViewEnd, Wires, wires};
use crate::band::{Arrangement, BandNote, Call, arrange};
use crate::time::{NanoSpan, Nanos, Ticks};

use run::Run;

/// Plays one take and gives back what was played.
///
/// `keeper` is handed every message as it comes. `view` runs on the caller's thread until it sees [`Place::Over`]; what it does wrong ends the take but does not lose
/// it. Devices that are missing do not stop a session: it goes on silently and says so.
pub fn play(
    plan: &SessionPlan,
    keeper: KeeperEnd,
    view: impl FnOnce(&ViewEnd) -> std::io::Result<()>,
) -> Result<Played, LiveError> {
    play_on(plan, keeper, view, |count_in, ends, clock| {
        devices::open(&plan.sound, &plan.notes, count_in, ends, clock)
    })
}

/// The ends of the wires that go to devices.
type DeviceEnds = ((ToAudioEnd, AudioEnd), (MessagesEnd, DriverEnd));

/// The same on the devices that `open` opens; it is given how long the count-in lasts, and called on the session's thread.
fn play_on(
    plan: &SessionPlan,
    keeper: KeeperEnd,
    view: impl FnOnce(&ViewEnd) -> std::io::Result<()>,
    open: impl FnOnce(NanoSpan, DeviceEnds, HostClock) -> Devices + Send,
) -> Result<Played, LiveError> {
    plan.check()?;
    let stop = StopSignal::listen().map_err(LiveError::Signals)?;
    let Wires { session: end, view: view_end, audio, midi } = wires();
    let latest = Arc::clone(&end.latest);
    thread::scope(|scope| {
        let session = thread::Builder::new().name("session".to_owned()).spawn_scoped(scope, || {
            let _over = OverAtLast(latest);
            let mut clock = HostClock::start();
            let arrangement = arrangement(plan);
            let count_in = plan.tempo().nanos(Ticks::ZERO + arrangement.count_in) - Nanos::ZERO;
            let devices = open(count_in, (audio, midi), clock);
            Run::new(plan, arrangement, devices, end, keeper, (&stop, clock.now())).until_over(&mut clock)
        });
        let session = session.map_err(LiveError::Thread)?;
        let shown = {
            let _stop = StopOnPanic(&view_end);
            view(&view_end)
        };
        if shown.is_err() {
            view_end.give(Cue::StopNow);
        }
        let played = session.join().map_err(|_| LiveError::Broken)?;
        Ok(Played { view: shown.map_err(ViewBroke::from), ..played })
    })
}

/// A view that shows nothing and waits for the end.
pub fn headless(end: &ViewEnd) -> std::io::Result<()> {
    while end.latest().get().place != Place::Over {
        thread::sleep(Duration::from_millis(20));
    }
    Ok(())
}

/// The band's notes, and the line that sounds over them.
fn arrangement(plan: &SessionPlan) -> Arrangement {
    let mut arrangement = arrange(&call(plan));
    let count_in = arrangement.count_in;
    arrangement.notes.extend(plan.line.iter().map(|note| BandNote { at: note.at + count_in, ..*note }));
    arrangement.notes.sort_by_key(|note| (note.at, note.part));
    arrangement
}

fn call(plan: &SessionPlan) -> Call<'_> {
    Call {
        form: &plan.form,
        reading: &plan.reading,
        keys: &plan.keys,
        choruses: plan.choruses,
        feel: plan.feel,
        swing_percent: plan.swing_percent,
        quarter: plan.quarter(),
        accompaniment: plan.accompaniment,
        seed: plan.seed,
        turns: plan.turns,
    }
}

/// Stops the take when the view panics: nobody would see it end, and its thread is waited for.
struct StopOnPanic<'a>(&'a ViewEnd);

impl Drop for StopOnPanic<'_> {
    fn drop(&mut self) {
        if thread::panicking() {
            self.0.give(Cue::StopNow);
        }
    }
}

/// Shows the end of the take when the session's thread is done, however it is done.
struct OverAtLast(Arc<Latest>);

impl Drop for OverAtLast {
    fn drop(&mut self) {
        let last = self.0.get();
        self.0.show(Moment { place: Place::Over, ..last });
    }
}
