//! `completions`: what a shell needs to complete command lines.

use clap::{Args, CommandFactory};
use clap_complete::Shell;

use super::Cli;
use super::exit_status::{Ending, Failure};
use super::output::Output;

/// What `completions` takes.
#[derive(Debug, Args)]
pub struct CompletionsArgs {
    /// The shell to print completions for
    shell: Shell,
}

/// Carries the command out.
pub fn run(args: &CompletionsArgs, out: &mut Output) -> Result<Ending, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Cli::command(), "barwise", &mut script);
    out.text(&String::from_utf8_lossy(&script))?;
    Ok(Ending::Fine)
}
