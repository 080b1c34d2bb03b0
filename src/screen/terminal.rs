//! The terminal: taken over for a screen, and put right again whatever happens.
//!
//! A guard puts it right when it goes, a hook does before a panic is printed, and so does a second signal; whichever comes
//! first does it once. A first signal ends the session instead, and with it the screen.

use std::io::{self, IsTerminal, Stdout, stdout};
use std::mem::ManuallyDrop;
use std::sync::{Mutex, MutexGuard, Once, PoisonError};

use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;
use ratatui::buffer::Buffer;
use ratatui::crossterm::cursor::Show;
use ratatui::crossterm::execute;
use ratatui::crossterm::terminal::{
    EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode, enable_raw_mode,
};
use ratatui::layout::{Position, Rect};

/// Whether the terminal is ours. Whoever puts it right holds the lock until that is done, so that a signal that ends the
/// program waits for it.
static TAKEN: Mutex<bool> = Mutex::new(false);
static HOOK: Once = Once::new();

/// A terminal taken over; put right when dropped.
pub struct Screen {
    /// Never dropped: the library would show the cursor once more, and panic where the terminal is gone and takes no words.
    terminal: ManuallyDrop<Terminal<CrosstermBackend<Stdout>>>,
    #[cfg(all(unix, feature = "live"))]
    stderr: Option<crate::live::stderr_guard::StderrGuard>,
}

impl Screen {
    /// Takes the terminal over. Fails where standard output is none.
    pub fn enter() -> io::Result<Self> {
        if !stdout().is_terminal() {
            return Err(io::Error::other("this needs a terminal: try --plain or --headless"));
        }
        HOOK.call_once(restore_before_panics);
        crate::live::stop_signal::before_the_end(restore);
        let terminal = ManuallyDrop::new(Terminal::new(CrosstermBackend::new(stdout()))?);
        let mut screen = Self {
            terminal,
            #[cfg(all(unix, feature = "live"))]
            stderr: None,
        };
        screen.take_over()?;
        Ok(screen)
    }

    fn take_over(&mut self) -> io::Result<()> {
        #[cfg(all(unix, feature = "live"))]
        {
            self.stderr = Some(crate::live::stderr_guard::StderrGuard::lead_to(None)?);
        }
        *taken() = true;
        enable_raw_mode()?;
        execute!(stdout(), EnterAlternateScreen)?;
        self.terminal.hide_cursor()?;
        self.clear()
    }

    /// Puts the terminal right and stops the program, as ctrl-z does elsewhere; takes it over again when the program goes
    /// on. Where programs cannot be stopped nothing happens.
    pub fn suspend(&mut self) -> io::Result<()> {
        #[cfg(unix)]
        {
            restore();
            #[cfg(feature = "live")]
            drop(self.stderr.take());
            signal_hook::low_level::emulate_default_handler(signal_hook::consts::SIGTSTP)?;
            self.take_over()?;
        }
        Ok(())
    }

    /// Draws one frame; none where the terminal was put right already.
    pub fn draw(&mut self, draw: impl FnOnce(Rect, &mut Buffer)) -> io::Result<()> {
        if !*taken() {
            return Ok(());
        }
        self.terminal.draw(|frame| draw(frame.area(), frame.buffer_mut())).map(|_| ())
    }

    /// Whether the terminal is still there. One that was closed says nothing by itself to a program that draws nothing.
    pub fn is_there(&self) -> bool {
        #[cfg(unix)]
        return rustix::termios::tcgetattr(rustix::stdio::stdout()).is_ok();
        #[cfg(not(unix))]
        true
    }

    /// Columns and rows.
    pub fn size(&self) -> io::Result<(u16, u16)> {
        self.terminal.size().map(|size| (size.width, size.height))
    }

    /// Forgets what is on the screen, so that the next frame is drawn whole.
    pub fn clear(&mut self) -> io::Result<()> {
        // The library's own way asks the terminal where its cursor is, and some never answer.
        let size = self.terminal.size()?;
        self.terminal.resize(Rect::from((Position::ORIGIN, size)))
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        restore();
    }
}

fn taken() -> MutexGuard<'static, bool> {
    TAKEN.lock().unwrap_or_else(PoisonError::into_inner)
}

fn restore_before_panics() {
    let before = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |panic| {
        restore();
        before(panic);
    }));
}

/// Puts the terminal right; does nothing the second time.
fn restore() {
    let mut taken = taken();
    if !std::mem::take(&mut *taken) {
        return;
    }
    // Each step is tried whatever became of the one before, and no place is left to report a failure.
    let _ = disable_raw_mode();
    let _ = execute!(stdout(), LeaveAlternateScreen, Show);
    #[cfg(all(unix, feature = "live"))]
    crate::live::stderr_guard::restore();
}
