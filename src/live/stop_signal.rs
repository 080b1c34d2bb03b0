//! Signals from outside that end a take: interrupt, terminate, hang-up.
//!
//! The handler sets a flag, nothing more; the session looks at it each tick and ends as if told to stop, so that the
//! take is kept and the screen put right.

use std::io;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};

use signal_hook::SigId;
use signal_hook::consts::{SIGINT, SIGTERM};
use signal_hook::flag;

#[cfg(unix)]
const SIGNALS: [std::ffi::c_int; 3] = [SIGINT, SIGTERM, signal_hook::consts::SIGHUP];
#[cfg(not(unix))]
const SIGNALS: [std::ffi::c_int; 2] = [SIGINT, SIGTERM];

/// True while no take listens: signals then do what they usually do.
static IDLE: OnceLock<Arc<AtomicBool>> = OnceLock::new();

/// Whether a signal asked the take to end. Signals do what they usually do again once it is dropped.
#[derive(Debug)]
pub struct StopSignal {
    asked: Arc<AtomicBool>,
    registered: Vec<SigId>,
}

impl StopSignal {
    /// Listens from now on. A second signal while the take ends does what it usually does.
    pub fn listen() -> io::Result<Self> {
        let idle = idle()?;
        idle.store(false, Ordering::Relaxed);
        let mut stop = Self { asked: Arc::default(), registered: Vec::new() };
        for signal in SIGNALS {
            let second = flag::register_conditional_default(signal, Arc::clone(&stop.asked))?;
            let first = flag::register(signal, Arc::clone(&stop.asked))?;
            stop.registered.extend([second, first]);
        }
        Ok(stop)
    }

    /// A signal that never comes from outside, for sessions whose time is made up.
    #[cfg(test)]
    pub(super) fn never() -> Self {
        Self { asked: Arc::default(), registered: Vec::new() }
    }

    /// Does what a signal does.
    #[cfg(test)]
    pub(super) fn ask(&self) {
        self.asked.store(true, Ordering::Relaxed);
    }

    /// Whether a signal has come.
    pub fn is_asked(&self) -> bool {
        self.asked.load(Ordering::Relaxed)
    }
}

/// The library does not give a signal its usual meaning back once its last handler is gone, so one of ours stays for
/// the life of the program and does the usual thing while no take runs.
fn idle() -> io::Result<&'static Arc<AtomicBool>> {
    if let Some(idle) = IDLE.get() {
        return Ok(idle);
    }
    let idle = Arc::new(AtomicBool::new(false));
    for signal in SIGNALS {
        flag::register_conditional_default(signal, Arc::clone(&idle))?;
    }
    Ok(IDLE.get_or_init(|| idle))
}

impl Drop for StopSignal {
    fn drop(&mut self) {
        for id in self.registered.drain(..) {
            signal_hook::low_level::unregister(id);
        }
        if let Some(idle) = IDLE.get() {
            idle.store(true, Ordering::Relaxed);
        }
    }
}
