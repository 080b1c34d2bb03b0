//! `takes export`: everything in one folder, to keep elsewhere or to take along.

use std::path::PathBuf;

use clap::Args;

use crate::store::everything::{self, Kind};
use crate::store::takes::{FOLDER_VARIABLE, data_folder};

use super::super::exit_status::{Ending, Failure};
use super::super::output::Output;
use super::super::startup::Startup;

/// What `takes export` takes.
#[derive(Debug, Args)]
pub(super) struct ExportArgs {
    /// The folder to make
    #[arg(short, long, value_name = "FOLDER")]
    output: PathBuf,
}

/// Copies everything that cannot be made again: takes, the bin, what was entered, what was learnt about devices, settings.
pub(super) fn export(args: &ExportArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let data = data_folder(std::env::var_os(FOLDER_VARIABLE))?;
    let copied = everything::copy(&data, &startup.path, &args.output)?;
    out.remark(&format!(
        "{}: {}, {} in the bin, and the rest of {}. To read it back, copy it there, or set {FOLDER_VARIABLE} to it.",
        args.output.display(),
        super::counted(copied.count(Kind::Take)),
        copied.count(Kind::Binned),
        data.display()
    ));
    for other in &copied.others {
        out.remark(&format!("{}: not ours, not copied", other.display()));
    }
    Ok(Ending::Fine)
}
