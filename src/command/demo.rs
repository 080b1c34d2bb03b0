//! `demo`: an invented line over a chart that ships, judged: no device, no set-up, nothing kept.

use std::path::PathBuf;

use clap::Args;

use crate::demo;
use crate::judge::{Question, judge};
use crate::report::OutputForm;
use crate::report::review::Detail;
use crate::report::review_page::{Part, page};
use crate::store::replace::replace_bytes;

use super::ending::{Ending, Failure};
use super::output::Output;
use super::startup::Startup;

/// What `demo` takes.
#[derive(Clone, Debug, PartialEq, Eq, Args)]
pub struct DemoArgs {
    /// Print the report at once and open no screen
    #[arg(long)]
    pub headless: bool,
    /// Write the demo's take to this file, to review or replay it
    #[arg(short, long = "output", value_name = "F.mid")]
    pub output: Option<PathBuf>,
}

/// Carries the command out.
pub fn run(args: &DemoArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let bytes = demo::take().to_bytes();
    if let Some(path) = &args.output {
        let failed = |error: std::io::Error| Failure::store(format!("{}: {error}", path.display()));
        replace_bytes(path, &bytes).map_err(failed)?;
        out.remark(&format!("wrote {}", path.display()));
        return Ok(Ending::Fine);
    }
    let choices = startup.resolved.settings.choices();
    let question =
        Question { choices: &choices, chart: None, track: None, detail: Detail::Notes, bands: None };
    let answer = judge(&bytes, None, question).map_err(|error| Failure::bad_input(error.to_string()))?;
    match out.form() {
        OutputForm::Json => out.document(&answer.review)?,
        form => out.text(&page(&answer.review, None, Part::Bars, None, form))?,
    }
    Ok(Ending::Fine)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::values::tests::parsed;

    #[test]
    fn the_demo_needs_nothing() {
        assert!(!parsed::<DemoArgs>(&[]).headless);
        assert!(parsed::<DemoArgs>(&["--headless"]).headless);
    }
}
