//! The barwise program: hands its arguments to the command they name.

use std::process::ExitCode;

fn main() -> ExitCode {
    barwise::command::run(std::env::args_os())
}
