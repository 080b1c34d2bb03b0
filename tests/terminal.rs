//! The terminal is put right however a screen ends: by the end of the take, an error, a panic, a key or a signal.
//!
//! Each test gives the program a pseudo-terminal of its own and looks at what the program leaves behind there.

#![cfg(unix)]

use std::fs::{self, File, OpenOptions};
use std::io::{Read, Write};
use std::os::unix::process::ExitStatusExt;
use std::path::Path;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex};
use std::thread::JoinHandle;
use std::time::Duration;

use barwise::command::play::last_words::name_log;
use barwise::screen::terminal::Screen;
use rustix::io::{FdFlags, fcntl_setfd};
use rustix::process::{Pid, Signal, WaitOptions, kill_process, waitpid};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{LocalModes, Termios, Winsize, tcgetattr, tcsetwinsize};
use tempfile::TempDir;

/// Tells the child which end its screen takes.
const CHILD: &str = "BARWISE_SCREEN_IN_A_CHILD";
/// Longer than any take below.
const PATIENCE: Duration = Duration::from_secs(20);

const ALTERNATE: &str = "\x1b[?1049h";
const NOT_ALTERNATE: &str = "\x1b[?1049l";
const CURSOR: &str = "\x1b[?25h";
const NO_CURSOR: &str = "\x1b[?25l";

/// What a terminal was sent so far, and whether that was all.
#[derive(Default)]
struct Sent {
    text: Mutex<(String, bool)>,
    more: Condvar,
    /// Nobody reads any more.
    unplugged: AtomicBool,
}

/// A program in a terminal of its own.
struct Run {
    child: Child,
    sent: Arc<Sent>,
    reader: JoinHandle<()>,
    keyboard: File,
    terminal: File,
    before: Termios,
    folder: TempDir,
}

/// What a program left behind.
struct Left {
    status: ExitStatus,
    text: String,
    before: Termios,
    after: Termios,
}

impl Run {
    /// Starts a program and waits until its screen is there.
    fn start(mut command: Command, folder: TempDir) -> Self {
        let keyboard = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).expect("a pseudo-terminal");
        // A program of another test that held it would keep this terminal from going away.
        fcntl_setfd(&keyboard, FdFlags::CLOEXEC).expect("a flag");
        grantpt(&keyboard).and_then(|()| unlockpt(&keyboard)).expect("its other end");
        let path = ptsname(&keyboard, Vec::new()).expect("its name").into_string().expect("a path");
        let terminal = OpenOptions::new().read(true).write(true).open(path).expect("the other end");
        let size = Winsize { ws_row: 24, ws_col: 80, ws_xpixel: 0, ws_ypixel: 0 };
        tcsetwinsize(&terminal, size).expect("a size");
        let before = tcgetattr(&terminal).expect("its modes");
        let stdio = || Stdio::from(terminal.try_clone().expect("a descriptor"));
        command.stdin(stdio()).stdout(stdio()).stderr(stdio());
        let child = command.spawn().expect("the program starts");
        // The command holds descriptors of the terminal, too.
        drop(command);
        let keyboard = File::from(keyboard);
        let sent = Arc::new(Sent::default());
        let reader = read_all(keyboard.try_clone().expect("a descriptor"), Arc::clone(&sent));
        Self { child, sent, reader, keyboard, terminal, before, folder }
    }

    /// `play` on the smallest chart, without devices.
    fn play(choruses: u32) -> Self {
        Self::play_in(tempfile::tempdir().expect("a folder"), choruses)
    }

    fn play_in(folder: TempDir, choruses: u32) -> Self {
        let path = folder.path();
        fs::write(path.join("line.mid"), MIDI_FILE).expect("a file");
        fs::write(path.join("two.bars"), "tempo: 400\n| Dm7 | G7 |\n").expect("a file");
        let mut command = Command::new(assert_cmd::cargo::cargo_bin!("barwise"));
        command.args(["play", "two.bars", "--no-audio", "--midi-file", "line.mid", "--choruses"]);
        command.arg(choruses.to_string()).current_dir(path);
        command.env("BARWISE_CONFIG_DIR", path).env("BARWISE_DATA_DIR", path).env("TERM", "xterm-256color");
        let run = Self::start(command, folder);
        run.wait_for("all keys");
        run
    }

    /// `barwise` alone, in a folder with one chart.
    fn home() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path();
        fs::write(path.join("two.bars"), "title: Two\ntempo: 400\n| Dm7 | G7 |\n").expect("a file");
        let mut command = Command::new(assert_cmd::cargo::cargo_bin!("barwise"));
        command.arg("--no-audio").current_dir(path);
        command.env("BARWISE_CONFIG_DIR", path).env("BARWISE_DATA_DIR", path).env("TERM", "xterm-256color");
        let run = Self::start(command, folder);
        run.wait_for("all keys");
        run
    }

    /// Stops the program by ctrl-z, looks at the terminal, and calls it up again.
    fn stop_and_go_on(&mut self) {
        self.keyboard.write_all(b"\x1a").expect("a key");
        let pid = Pid::from_child(&self.child);
        let stopped = waitpid(Some(pid), WaitOptions::UNTRACED).expect("it runs");
        assert!(stopped.is_some_and(|(_, status)| status.stopped()), "{stopped:?}");
        assert!(!self.is_raw(), "the shell has its terminal");
        self.wait_for(NOT_ALTERNATE);
        self.signal(Signal::CONT);
        self.wait_for_times(ALTERNATE, 2);
        self.wait_for_times("all keys", 2);
        assert!(self.is_raw());
    }

    /// `play --wait` on the same chart, once through.
    fn waiting() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path();
        fs::write(path.join("line.mid"), MIDI_FILE).expect("a file");
        fs::write(path.join("two.bars"), "tempo: 400\n| Dm7 | G7 |\n").expect("a file");
        let mut command = Command::new(assert_cmd::cargo::cargo_bin!("barwise"));
        command
            .args(["play", "two.bars", "--no-audio", "--midi-file", "line.mid", "--wait"])
            .current_dir(path);
        command.env("BARWISE_CONFIG_DIR", path).env("BARWISE_DATA_DIR", path).env("TERM", "xterm-256color");
        Self::start(command, folder)
    }

    /// This program again, to end its screen in the way that is named.
    fn child(end: &str) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let mut command = Command::new(std::env::current_exe().expect("this program"));
        command.args(["--exact", "a_screen_in_a_child", "--nocapture"]);
        command.env(CHILD, end).env("TERM", "xterm-256color").current_dir(folder.path());
        Self::start(command, folder)
    }

    fn wait_for(&self, words: &str) {
        self.wait_for_times(words, 1);
    }

    /// How many times these words came so far.
    fn count(&self, words: &str) -> usize {
        self.sent.text.lock().expect("no panic").0.matches(words).count()
    }

    fn wait_for_times(&self, words: &str, times: usize) {
        let text = self.sent.text.lock().expect("no panic");
        let not_yet = |(text, over): &mut (String, bool)| text.matches(words).count() < times && !*over;
        let (text, _) = self.sent.more.wait_timeout_while(text, PATIENCE, not_yet).expect("no panic");
        let text = text.0.clone();
        assert!(text.matches(words).count() >= times, "{words:?} never came: {text:?}");
    }

    fn is_raw(&self) -> bool {
        !tcgetattr(&self.terminal).expect("its modes").local_modes.contains(LocalModes::ICANON)
    }

    fn signal(&self, signal: Signal) {
        kill_process(Pid::from_child(&self.child), signal).expect("it runs");
    }

    /// Waits until the program has ended.
    fn left(mut self) -> Left {
        let status = self.child.wait().expect("it ends");
        let after = tcgetattr(&self.terminal).expect("its modes");
        drop(self.terminal);
        self.reader.join().expect("all was read");
        let text = self.sent.text.lock().expect("no panic").0.clone();
        Left { status, text, before: self.before, after }
    }
}

/// One note, on the first beat: division 96, note-on, note-off 48 ticks later, end of track (Standard MIDI Files 1.0).
const MIDI_FILE: &[u8] =
    b"MThd\0\0\0\x06\0\0\0\x01\0\x60MTrk\0\0\0\x0c\0\x90\x3c\x40\x30\x80\x3c\x40\0\xff\x2f\0";

/// Reads what the terminal is sent until nobody holds its other end.
fn read_all(mut keyboard: File, sent: Arc<Sent>) -> JoinHandle<()> {
    std::thread::spawn(move || {
        let mut bytes = [0; 4096];
        // Linux reports the end of a pseudo-terminal as an error.
        while let Some(count) = keyboard.read(&mut bytes).ok().filter(|&count| count > 0) {
            sent.text.lock().expect("no panic").0.push_str(&String::from_utf8_lossy(&bytes[..count]));
            sent.more.notify_all();
            if sent.unplugged.load(Ordering::Relaxed) {
                break;
            }
        }
        drop(keyboard);
        sent.text.lock().expect("no panic").1 = true;
        sent.more.notify_all();
    })
}

impl Left {
    /// Asserts that the terminal is as it was before.
    fn check(&self) {
        let text = &self.text;
        let is_last = |last: &str, other: &str| text.rfind(last) > text.rfind(other);
        assert!(text.contains(ALTERNATE) && is_last(NOT_ALTERNATE, ALTERNATE), "{text:?}");
        assert!(text.contains(NO_CURSOR) && is_last(CURSOR, NO_CURSOR), "{text:?}");
        assert_eq!(self.after.local_modes, self.before.local_modes);
        assert_eq!(self.after.input_modes, self.before.input_modes);
        assert_eq!(self.after.output_modes, self.before.output_modes);
    }

    /// What was printed after the screen was left.
    fn afterwards(&self) -> &str {
        self.text.rsplit(NOT_ALTERNATE).next().unwrap_or_default()
    }
}

#[test]
fn the_end_of_a_take_puts_it_right_and_the_report_follows() {
    let mut run = Run::play(1);
    assert!(run.is_raw(), "keys are read one by one while the screen is there");
    run.wait_for("enter bars and notes");
    run.keyboard.write_all(b"q").expect("a key");
    let left = run.left();
    left.check();
    assert_eq!(left.status.code(), Some(0));
    assert!(left.afterwards().contains("take 1"), "{:?}", left.afterwards());
}

#[test]
fn after_a_take_a_cue_plays_again_and_what_is_kept_is_in_the_journal() {
    let mut run = Run::play(1);
    run.wait_for("enter bars and notes");
    run.keyboard.write_all(b"elay back\r").expect("keys");
    run.wait_for("kept with the take");
    run.keyboard.write_all(b"k\r").expect("keys");
    run.wait_for("bars 1-2 of chorus 1 are kept");
    run.keyboard.write_all(b"\r").expect("keys");
    run.wait_for("notes in order");
    run.keyboard.write_all(b" ").expect("a cue");
    run.wait_for("take 2: ");
    run.wait_for_times("enter bars and notes", 4);
    run.keyboard.write_all(b"q").expect("a key");
    let journal = run.folder.path().join("journal.jsonl");
    let journal = fs::read_to_string(journal).expect("a journal");
    assert!(journal.contains("\"entry\":\"note\",\"take\":1,\"text\":\"lay back\""), "{journal}");
    assert!(journal.contains("\"entry\":\"phrase\",\"take\":1,\"chorus\":1"), "{journal}");
    run.left().check();
}

#[test]
fn a_terminal_that_goes_away_from_a_screen_that_stands_still_ends_the_program() {
    let mut run = Run::home();
    // No signal tells of it: the program is no session's leader here.
    run.sent.unplugged.store(true, Ordering::Relaxed);
    run.keyboard.write_all(b"?").expect("a key");
    run.reader.join().expect("it stops at the next word");
    drop((run.keyboard, run.terminal));
    let status = run.child.wait().expect("it ends");
    assert_eq!(status.code(), Some(130), "{status:?}");
}

#[test]
fn ctrl_c_puts_it_right() {
    let mut run = Run::play(99);
    // In raw mode the terminal makes no signal of it.
    run.keyboard.write_all(b"\x03").expect("a key");
    let left = run.left();
    left.check();
    assert_eq!(left.status.code(), Some(130), "in the count-in: nothing to keep");
}

#[test]
fn ctrl_z_puts_it_right_and_the_screen_comes_back() {
    for mut run in [Run::play(99), Run::home()] {
        run.stop_and_go_on();
        run.keyboard.write_all(b"q").expect("a key");
        run.left().check();
    }
}

#[test]
fn home_leaves_it_right_by_a_key_and_by_a_signal() {
    let mut run = Run::home();
    run.keyboard.write_all(b"q").expect("a key");
    let left = run.left();
    left.check();
    assert_eq!(left.status.code(), Some(0), "{:?}", left.afterwards());
    for signal in [Signal::TERM, Signal::HUP, Signal::INT] {
        let run = Run::home();
        run.signal(signal);
        let left = run.left();
        left.check();
        assert_eq!(left.status.code(), Some(130), "{:?}", left.afterwards());
    }
}

#[test]
fn from_home_a_chart_is_played_and_home_comes_back() {
    let mut run = Run::home();
    run.keyboard.write_all(b"\x1b[B\r").expect("keys");
    run.wait_for("count-in");
    run.keyboard.write_all(b"q").expect("a key");
    run.wait_for_times("charts (", 2);
    run.keyboard.write_all(b"q").expect("a key");
    let left = run.left();
    left.check();
    assert_eq!(left.status.code(), Some(0), "{:?}", left.afterwards());
}

#[test]
fn a_scale_that_is_kept_on_the_screen_is_in_the_journal() {
    let mut run = Run::home();
    run.keyboard.write_all(b"\x1b[Br").expect("keys");
    run.wait_for("esc back");
    run.keyboard.write_all(b"=phrygian\r\r").expect("keys");
    run.wait_for("kept");
    let journal = fs::read_to_string(run.folder.path().join("journal.jsonl")).expect("a journal");
    assert!(journal.contains("\"scale\":\"phrygian\"") && journal.contains("Dm7"), "{journal}");
    run.keyboard.write_all(b"q").expect("a key");
    run.wait_for_times("charts (", 2);
    run.keyboard.write_all(b"q").expect("a key");
    let left = run.left();
    left.check();
    assert_eq!(left.status.code(), Some(0), "{:?}", left.afterwards());
}

#[test]
fn every_screen_opens_from_home_and_comes_back() {
    let mut run = Run::home();
    let screens = [("d", "Drills"), ("i", "dBA"), ("a", "esc leave it"), ("c", "esc leave it")];
    for (nth, (key, words)) in screens.into_iter().enumerate() {
        let before = run.count(words);
        run.keyboard.write_all(key.as_bytes()).expect("a key");
        run.wait_for_times(words, before + 1);
        run.keyboard.write_all(b"\x1b").expect("a key");
        run.wait_for_times("charts (", nth + 2);
    }
    run.keyboard.write_all(b"q").expect("a key");
    run.left().check();
}

#[test]
fn a_signal_puts_it_right() {
    for signal in [Signal::TERM, Signal::INT, Signal::HUP] {
        let run = Run::play(99);
        run.signal(signal);
        let left = run.left();
        left.check();
        assert_eq!(left.status.code(), Some(130), "{signal:?}");
    }
}

#[test]
fn a_second_signal_at_once_puts_it_right_and_ends_the_program() {
    let run = Run::play(99);
    assert!(run.is_raw());
    // Two different ones: of two alike the system may deliver one.
    run.signal(Signal::TERM);
    run.signal(Signal::HUP);
    let left = run.left();
    left.check();
    assert!(left.status.signal().is_some(), "{:?}", left.status);
}

#[test]
fn a_second_signal_while_it_is_put_right_leaves_it_right() {
    let run = Run::play(99);
    run.signal(Signal::TERM);
    run.wait_for(NOT_ALTERNATE);
    // The program may have ended by now.
    let _ = kill_process(Pid::from_child(&run.child), Signal::HUP);
    run.left().check();
}

#[test]
fn an_error_puts_it_right() {
    let left = Run::child("error").left();
    left.check();
    assert!(left.afterwards().contains("the view broke"), "{:?}", left.afterwards());
}

#[test]
fn a_panic_puts_it_right_before_it_is_printed() {
    let left = Run::child("panic").left();
    left.check();
    assert!(left.afterwards().contains("a slip of the pen"), "{:?}", left.afterwards());
}

#[test]
fn a_panic_in_another_thread_puts_it_right_too_and_says_where_the_take_is() {
    let left = Run::child("thread").left();
    left.check();
    let told = left.afterwards();
    assert!(told.contains("a slip of the pen"), "{told:?}");
    assert!(told.contains("What was played is in takes/take-0001.playing; barwise takes"), "{told:?}");
}

#[test]
fn a_take_waits_for_its_cue_and_the_next_one_too_and_each_screen_gets_its_keys() {
    let mut run = Run::waiting();
    run.wait_for("Enter begins a take; q and Enter ends.");
    assert!(!run.is_raw());
    run.keyboard.write_all(b"\n").expect("a key");
    run.wait_for("take 1: ");
    run.wait_for_times("Enter begins a take", 2);
    run.keyboard.write_all(b" \n").expect("a key");
    run.wait_for_times("all keys", 2);
    run.keyboard.write_all(b"q").expect("a key");
    let left = run.left();
    left.check();
    assert_eq!(left.status.code(), Some(130), "{:?}", left.afterwards());
}

#[test]
fn a_player_who_has_had_enough_ends_the_waiting() {
    let mut run = Run::waiting();
    run.wait_for("begins a take");
    run.keyboard.write_all(b"q\n").expect("a key");
    assert_eq!(run.left().status.code(), Some(0));
}

#[test]
fn a_terminal_that_goes_away_costs_no_take() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut run = Run::play_in(folder, 99);
    // Of the header only what changes is sent: "count-in" becomes "chorus 1".
    run.wait_for("horus 1");
    // Nobody holds the other end any more, and the system says so.
    let pid = Pid::from_child(&run.child);
    run.sent.unplugged.store(true, Ordering::Relaxed);
    drop((run.keyboard, run.terminal));
    run.reader.join().expect("it stops at the next word");
    // The program may have seen it by itself.
    let _ = kill_process(pid, Signal::HUP);
    let status = run.child.wait().expect("it ends");
    assert!(status.code().is_some(), "it ends by itself: {status:?}");
    let takes: Vec<String> = fs::read_dir(run.folder.path().join("takes"))
        .expect("takes")
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .collect();
    assert_eq!(takes, ["take-0001.mid"], "whole, and its log is gone");
}

/// Not a test by itself: what the child of the three above does. Without its variable there is nothing to do.
#[test]
fn a_screen_in_a_child() -> std::io::Result<()> {
    let Ok(end) = std::env::var(CHILD) else { return Ok(()) };
    name_log(Some(Path::new("takes/take-0001.playing")));
    let mut screen = Screen::enter()?;
    screen.draw(|_, _| assert_ne!(end, "panic", "a slip of the pen"))?;
    if end == "thread" {
        let slip = std::thread::spawn(|| panic!("a slip of the pen"));
        return slip.join().map_err(|_| std::io::Error::other("the thread is gone"));
    }
    Err(std::io::Error::other("the view broke"))
}
