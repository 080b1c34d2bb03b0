//! `progress`: what became of the takes over weeks, for one chart or for all.

mod kept;
pub mod weeks;

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use jiff::ZonedDateTime;
use jiff::civil::Date;

use crate::demo;
use crate::harmony::Overrides;
use crate::judge::digested::form_fingerprint;
use crate::judge::{ChordSource, Dated, digest};
use crate::practice::Digest;
use crate::practice::progress::{self, progress};
use crate::report::OutputForm;
use crate::report::html::weeks::WeeksPage;
use crate::report::progress::ProgressDocument;
use crate::report::progress::rows::By;
use crate::report::progress::text::{self, page};
use crate::store::settings::Flag;
use crate::tally::Counting;
use crate::tally::verdict::Measure;

use super::exit_status::{Ending, Failure};
use super::load;
use super::output::Output;
use super::pages;
use super::startup::Startup;
use super::values::{ChartSource, Day};

/// What `progress` takes.
#[derive(Clone, Debug, PartialEq, Args)]
pub struct ProgressArgs {
    /// The chart: a part of its title, a file, or the name of a chart that ships; else all that were played
    #[arg(value_name = "CHART")]
    pub chart: Option<String>,
    /// Only takes kept on this day or later: 2026-11-25
    #[arg(long, value_name = "DATE")]
    pub since: Option<Day>,
    /// What the rows are of, several with commas between
    #[arg(long, value_name = "LIST", value_delimiter = ',', value_enum)]
    pub by: Vec<Rows>,
    /// The share that is drawn over weeks
    #[arg(long, value_enum, default_value_t = Drawn::Chord)]
    pub share: Drawn,
    /// Count every take in this way; else each as on its day
    #[arg(long, value_name = "WAY", value_enum)]
    pub counting: Option<Counted>,
    /// Bands that make a take "met", for the ladder of tempi: a file as `review --check` takes it
    #[arg(long, value_name = "F")]
    pub check: Option<PathBuf>,
    /// Show invented weeks: nothing of yours is read
    #[arg(long, conflicts_with = "chart")]
    pub demo: bool,
    /// Write the weeks as a page, to read, print or mail: one HTML file that needs no network (- for standard output)
    #[arg(long, value_name = "F", conflicts_with_all = ["by", "share"])]
    pub html: Option<PathBuf>,
}

/// What rows are of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Rows {
    /// Weeks, Monday to Sunday
    Week,
    /// Kinds of chord
    Chord,
    /// Keys that chords are heard in
    Key,
    /// Positions of the neck that were heard
    Position,
}

/// What is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Drawn {
    /// Chord tones
    Chord,
    /// Scale tones
    Scale,
    /// Outside notes
    Outside,
    /// Outside notes that resolved
    Resolved,
    /// Outside notes that did not
    Open,
    /// Changes landed on
    Landings,
}

/// How notes of another scale in use count.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Counted {
    /// As outside
    Strict,
    /// As scale
    Lenient,
}

impl ProgressArgs {
    /// The settings that these flags give.
    pub fn settings(&self) -> Vec<Flag> {
        let way = self.counting.map(|way| match way {
            Counted::Strict => Counting::Strict,
            Counted::Lenient => Counting::Lenient,
        });
        let flag = way.map(|way| Flag { flag: "--counting", key: "counting", text: way.word().to_owned() });
        // Bands are met as their file counts; one that does not read is told where it is used.
        let of_bands = || {
            let counting = load::assignment(self.check.as_deref()?).ok()?.counting?;
            Some(Flag { flag: "--check", key: "counting", text: counting.word().to_owned() })
        };
        flag.or_else(of_bands).into_iter().collect()
    }

    fn by(&self) -> Vec<By> {
        let by = |rows: &Rows| match rows {
            Rows::Week => By::Week,
            Rows::Chord => By::Chord,
            Rows::Key => By::Key,
            Rows::Position => By::Position,
        };
        self.by.iter().map(by).collect()
    }

    const fn measure(&self) -> Measure {
        match self.share {
            Drawn::Chord => Measure::Chord,
            Drawn::Scale => Measure::Scale,
            Drawn::Outside => Measure::Outside,
            Drawn::Resolved => Measure::Resolved,
            Drawn::Open => Measure::Open,
            Drawn::Landings => Measure::Landings,
        }
    }
}

/// The takes that are looked at.
struct Looked {
    digests: Vec<Digest>,
    today: Date,
    ending: Ending,
}

/// Carries the command out.
pub fn run(args: &ProgressArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let assignment = args.check.as_deref().map(load::assignment).transpose()?;
    let looked = if args.demo { invented(startup)? } else { kept::takes(startup, out)? };
    let form = match &args.chart {
        Some(_) if looked.digests.is_empty() => None,
        Some(chart) => Some(form_of(chart, &looked.digests, startup)?),
        None if args.demo => looked.digests.first().map(|digest| digest.form_sha256.clone()),
        None => None,
    };
    let asked = progress::Asked {
        today: looked.today,
        since: args.since.map(Day::date),
        form: form.as_deref(),
        bands: assignment.as_ref().map(|assignment| &assignment.bands),
    };
    let found = progress(&looked.digests, &asked);
    let document = ProgressDocument::from(&found).written_for(startup.written(out));
    if let Some(path) = args.html.as_ref().filter(|_| !document.charts.is_empty()) {
        pages::write(path, &WeeksPage { progress: &document }.write(), out)?;
    } else if out.form() == OutputForm::Json {
        out.document(&document)?;
    } else if document.charts.is_empty() {
        out.remark(&nothing(args, &looked.digests));
    } else {
        let asked = text::Asked { one_chart: form.is_some(), by: &args.by(), measure: args.measure() };
        out.text(&page(&document, asked, out.form()))?;
    }
    Ok(looked.ending)
}

/// The weeks of the chart of a kept take; `None` where it is the only one of that chart.
pub fn weeks_of_take(
    take: u32,
    startup: &Startup,
    out: &mut Output,
) -> Result<Option<ProgressDocument>, Failure> {
    let Looked { digests, today, .. } = kept::takes(startup, out)?;
    let form = digests.iter().find(|digest| digest.take == take).map(|digest| digest.form_sha256.clone());
    let Some(form) =
        form.filter(|form| digests.iter().filter(|digest| digest.form_sha256 == *form).count() > 1)
    else {
        return Ok(None);
    };
    let asked = progress::Asked { today, since: None, form: Some(&form), bands: None };
    Ok(Some(ProgressDocument::from(&progress(&digests, &asked)).written_for(startup.written(out))))
}

/// What is said where there is nothing to show.
fn nothing(args: &ProgressArgs, digests: &[Digest]) -> String {
    match (args.since, digests.iter().map(|digest| digest.day).max()) {
        (Some(since), Some(last)) => {
            format!("no take since {}; the last one is of {last}", since.date())
        }
        _ => "No take is kept yet: play one, as in barwise play bus-shelter. \
              barwise progress --demo shows invented weeks."
            .to_owned(),
    }
}

/// The invented weeks, judged by the settings in force.
fn invented(startup: &Startup) -> Result<Looked, Failure> {
    let choices = startup.resolved.settings.choices();
    let takes = demo::weeks::takes().into_iter().zip(1..);
    let judged = takes.map(|((day, take), number)| {
        let dated = Dated { take: number, day };
        let digest = digest(&take.to_bytes(), dated, &choices);
        let digest = digest.map_err(|error| Failure::bad_input(error.to_string()))?;
        // Such a page may be mailed on: its title says what it is.
        Ok(Digest { title: format!("{} (invented)", digest.title), ..digest })
    });
    Ok(Looked {
        digests: judged.collect::<Result<_, Failure>>()?,
        today: demo::weeks::TODAY,
        ending: Ending::Fine,
    })
}

/// The form that is meant: of the takes whose title holds what is written, else of the chart of that name or file.
fn form_of(written: &str, digests: &[Digest], startup: &Startup) -> Result<String, Failure> {
    let meant = plain(written);
    let titled: Vec<&Digest> =
        digests.iter().filter(|digest| !meant.is_empty() && plain(&digest.title).contains(&meant)).collect();
    let mut titles: Vec<&str> = titled.iter().map(|digest| digest.title.as_str()).collect();
    titles.sort_unstable();
    titles.dedup();
    let exact = titled.iter().copied().filter(|digest| plain(&digest.title) == meant);
    let last = exact.max_by_key(|digest| (digest.day, digest.take));
    let last = last.or_else(|| titled.iter().copied().max_by_key(|digest| (digest.day, digest.take)));
    match last {
        Some(last) if titles.len() == 1 || plain(&last.title) == meant => Ok(last.form_sha256.clone()),
        Some(_) => Err(Failure::bad_input(format!(
            "\"{written}\" is in several titles: {}. Write more of one",
            titles.join("; ")
        ))),
        None => form_of_chart(written, digests, startup),
    }
}

/// Letters and digits alone, in lower case: `bus-shelter` is in `Bus Shelter, Rain`.
fn plain(text: &str) -> String {
    text.chars().filter(|sign| sign.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

fn form_of_chart(written: &str, digests: &[Digest], startup: &Startup) -> Result<String, Failure> {
    let source = ChartSource::Named(Path::new(written).to_owned());
    let loaded = load::chart(&source, startup.resolved.settings.bare);
    let form =
        loaded.map(|loaded| form_fingerprint(&ChordSource::of_chart(&loaded.chart, &Overrides::default())));
    match form {
        Ok(form) if digests.iter().any(|digest| digest.form_sha256 == form) => Ok(form),
        Err(load::NotLoaded::Chart(slips)) => Err(load::NotLoaded::Chart(slips).into()),
        _ => Err(Failure::bad_input(format!(
            "no take is kept of a chart called \"{written}\". {}",
            played(digests)
        ))),
    }
}

/// The charts there are takes of.
fn played(digests: &[Digest]) -> String {
    let mut titles: Vec<&str> =
        digests.iter().map(|digest| digest.title.as_str()).filter(|title| !title.is_empty()).collect();
    titles.sort_unstable();
    titles.dedup();
    format!("Charts played: {}", titles.join("; "))
}

/// The day it is, in the local zone.
fn today() -> Date {
    ZonedDateTime::now().date()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::values::tests::{parsed, refused};

    #[test]
    fn rows_and_shares_are_asked_for_by_their_names() {
        let args = parsed::<ProgressArgs>(&["bus", "--by", "week,chord,position", "--share", "open"]);
        assert_eq!(args.by(), [By::Week, By::Chord, By::Position]);
        assert_eq!(args.measure(), Measure::Open);
        assert_eq!(args.since, None);
    }

    #[test]
    fn a_slip_names_what_may_be_written() {
        assert!(
            refused::<ProgressArgs>(&["--by", "month"])
                .contains("possible values: week, chord, key, position")
        );
        assert!(refused::<ProgressArgs>(&["--demo", "bus"]).contains("cannot be used with"));
        assert!(refused::<ProgressArgs>(&["--since", "May"]).contains("2026-11-25"));
    }

    #[test]
    fn a_title_is_known_by_its_letters() {
        assert!(plain("Bus Shelter, Rain").contains(&plain("bus-shelter")));
    }
}
