//! `assign show`: the assignment as its student sees it.

use std::path::PathBuf;

use clap::Args;

use super::super::exit_status::{Ending, Failure};
use super::super::output::Output;
use super::super::pages;
use super::{assigned, choices};
use crate::judge::assigned::Assigned;
use crate::practice::SentTake;
use crate::report::OutputForm;
use crate::report::assignment::AssignmentDocument;
use crate::report::assignment::text;
use crate::report::html::assignment::AssignmentPage;

/// What `assign show` takes.
#[derive(Clone, Debug, PartialEq, Eq, Args)]
pub struct ShowArgs {
    /// The assignment
    #[arg(value_name = "F")]
    pub file: PathBuf,
    /// Write it as a page, to read and print: one HTML file that needs no network; - is standard output
    #[arg(long, value_name = "F.html")]
    pub html: Option<PathBuf>,
}

/// Carries the command out.
pub fn run(args: &ShowArgs, out: &mut Output) -> Result<Ending, Failure> {
    let document = document(&assigned(&args.file)?);
    match &args.html {
        Some(path) => pages::write(path, &AssignmentPage { assignment: &document }.write(), out)?,
        None => show(&document, out)?,
    }
    Ok(Ending::Fine)
}

/// The document of an assignment.
pub fn document(assigned: &Assigned) -> AssignmentDocument {
    let choices = choices(assigned, &SentTake::default());
    AssignmentDocument::new(assigned, assigned.running_the_scale(&choices.tally))
}

/// Prints an assignment; what its teacher may want to change is a remark.
pub fn show(document: &AssignmentDocument, out: &mut Output) -> Result<(), Failure> {
    for caution in &document.cautions {
        out.remark(caution);
    }
    match out.form() {
        OutputForm::Json => out.document(document),
        form => {
            let lines = text::lines(document);
            let lines: Vec<_> = lines.iter().map(|line| form.signs().write(line)).collect();
            out.text(&(lines.join("\n") + "\n"))
        }
    }
}
