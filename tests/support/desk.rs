//! The program at a desk of its own.

use std::fs;
use std::process::{Command, Stdio};

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
}
