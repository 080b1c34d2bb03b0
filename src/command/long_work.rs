//! What is shown while work takes long: a bar on a terminal, nothing in a pipe.

use std::io::{IsTerminal, stderr};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// A bar for so many files.
pub fn bar(files: usize) -> ProgressBar {
    let target =
        if stderr().is_terminal() { ProgressDrawTarget::stderr() } else { ProgressDrawTarget::hidden() };
    let style = ProgressStyle::with_template("{pos} of {len} files  {wide_bar}  {eta} left");
    let bar = ProgressBar::with_draw_target(Some(files as u64), target);
    match style {
        Ok(style) => bar.with_style(style),
        Err(_) => bar,
    }
}
