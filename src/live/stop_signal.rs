//! Signals from outside that end a take: interrupt, terminate, hang-up.
//!
//! The first sets a flag, nothing more; the session looks at it each tick and ends as if told to stop, so that the take
//! is kept and the screen put right. A second one, while that goes on, puts the terminal right and does what it usually
//! does. Signals are waited for on a thread of their own, where more may be done than in a handler.

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
/// What is done before a second signal ends the program.
static BEFORE_THE_END: OnceLock<fn()> = OnceLock::new();

/// Whether a signal has ever come while one was listened for.
static EVER: AtomicBool = AtomicBool::new(false);

/// Whether a signal has asked this program to end, whoever listened then: whoever outlives a take ends, too.
pub fn was_ever_asked() -> bool {
    EVER.load(Ordering::Relaxed)
}

/// Whether a signal asked the take to end. Signals do what they usually do again once it is dropped.
#[derive(Debug)]
pub struct StopSignal {
    asked: Arc<AtomicBool>,
    registered: Vec<SigId>,
    #[cfg(unix)]
    listener: Option<listener::Listener>,
}

/// Names what a second signal does before it ends the program. The first to name something is heeded.
pub fn before_the_end(put_right: fn()) {
    BEFORE_THE_END.get_or_init(|| put_right);
}

impl StopSignal {
    /// Listens from now on. A second signal while the take ends puts the terminal right and does what it usually does.
    pub fn listen() -> io::Result<Self> {
        let idle = idle()?;
        idle.store(false, Ordering::Relaxed);
        let mut stop = Self::never();
        stop.register()?;
        Ok(stop)
    }

    #[cfg(unix)]
    fn register(&mut self) -> io::Result<()> {
        let at_once = Arc::new(AtomicBool::new(false));
        for signal in SIGNALS {
            self.registered.push(flag::register_conditional_default(signal, Arc::clone(&at_once))?);
        }
        self.listener = Some(listener::Listener::start(Arc::clone(&self.asked), at_once)?);
        Ok(())
    }

    #[cfg(not(unix))]
    fn register(&mut self) -> io::Result<()> {
        for signal in SIGNALS {
            let second = flag::register_conditional_default(signal, Arc::clone(&self.asked))?;
            let first = flag::register(signal, Arc::clone(&self.asked))?;
            self.registered.extend([second, first]);
        }
        Ok(())
    }

    /// A signal that never comes from outside, for sessions whose time is made up.
    pub(super) fn never() -> Self {
        Self {
            asked: Arc::default(),
            registered: Vec::new(),
            #[cfg(unix)]
            listener: None,
        }
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

#[cfg(unix)]
mod listener {
    use std::ffi::c_int;
    use std::thread::JoinHandle;

    use signal_hook::iterator::{Handle, Signals};
    use signal_hook::low_level::emulate_default_handler;

    use super::{Arc, AtomicBool, BEFORE_THE_END, EVER, Ordering, SIGNALS, io};

    /// The thread that waits for signals; it ends when dropped.
    #[derive(Debug)]
    pub(super) struct Listener {
        handle: Handle,
        thread: Option<JoinHandle<()>>,
    }

    impl Listener {
        /// The first signal sets `asked`; once `at_once` is set no more come here.
        pub fn start(asked: Arc<AtomicBool>, at_once: Arc<AtomicBool>) -> io::Result<Self> {
            let mut signals = Signals::new(SIGNALS)?;
            let handle = signals.handle();
            let wait = move || {
                for signal in signals.forever() {
                    EVER.store(true, Ordering::Relaxed);
                    if asked.swap(true, Ordering::Relaxed) {
                        // Should the terminal not take a word any more, a third signal ends the program as it is.
                        at_once.store(true, Ordering::Relaxed);
                        end(signal);
                    }
                }
            };
            let thread = std::thread::Builder::new().name("signals".to_owned()).spawn(wait)?;
            Ok(Self { handle, thread: Some(thread) })
        }
    }

    fn end(signal: c_int) {
        if let Some(put_right) = BEFORE_THE_END.get() {
            put_right();
        }
        if emulate_default_handler(signal).is_err() {
            std::process::abort();
        }
    }

    impl Drop for Listener {
        fn drop(&mut self) {
            self.handle.close();
            if let Some(thread) = self.thread.take() {
                // The thread returns nothing, and a panic of its own was printed.
                let _ = thread.join();
            }
        }
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
