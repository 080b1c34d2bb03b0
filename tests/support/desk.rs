//! The program at a desk of its own.

use std::fs;
use std::path::PathBuf;
use std::process::{Command, Stdio};

use barwise::take::{ChannelMessage, TakeFile, writer::writable};
use barwise::time::{TempoMap, TickSpan, Ticks};
use tempfile::TempDir;

const PROGRAM: &str = env!("CARGO_BIN_EXE_barwise");

/// A folder of its own for settings and takes, and the program at work in it.
pub struct Desk {
    pub folder: TempDir,
}

impl Desk {
    pub fn new() -> Self {
        Self { folder: tempfile::tempdir().expect("a folder") }
    }

    pub fn command(&self, arguments: &[&str]) -> Command {
        let home = self.folder.path();
        let mut command = Command::new(PROGRAM);
        command.current_dir(home).env("BARWISE_CONFIG_DIR", home).env("BARWISE_DATA_DIR", home.join("data"));
        command.args(arguments).stdin(Stdio::null());
        command
    }

    pub fn printed(&self, arguments: &[&str]) -> String {
        let output = self.command(arguments).output().expect("it runs");
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).expect("text")
    }

    pub fn write(&self, name: &str, bytes: &[u8]) {
        fs::write(self.folder.path().join(name), bytes).expect("a file");
    }

    pub fn takes(&self) -> PathBuf {
        self.folder.path().join("data/takes")
    }
}

/// A note each sixteenth at 400 quarters a minute.
pub fn dense_line(notes: i64) -> Vec<u8> {
    let tempo = writable(&TempoMap::at_bpm(400.0));
    let mut solo = Vec::new();
    for index in 0..notes {
        let at = Ticks::ZERO + TickSpan(5_040) * index;
        let key = 60 + (index * 7 % 24) as u8;
        let message = |wire: [u8; 3]| ChannelMessage::from_wire(&wire).expect("a message");
        solo.push((tempo.nanos(at), message([0x90, key, 90])));
        solo.push((tempo.nanos(at + TickSpan(4_000)), message([0x80, key, 0])));
    }
    TakeFile { tempo, solo, ..TakeFile::default() }.to_bytes()
}
