//! Tempo steps where a player meets them: the tempo that `--tempo next` takes, and what is offered behind a take.

use std::path::Path;

use jiff::ZonedDateTime;

use super::exit_status::Failure;
use super::load;
use super::output::Output;
use super::review::choices_of_day;
use super::startup::Startup;
use super::values::TempoChoice;
use crate::chart::Chart;
use crate::judge::{Question, judge};
use crate::practice::Assignment;
use crate::practice::tempo_step::{Offer, Tried, Why, next_tempo};
use crate::report::review::Detail;
use crate::store::takes::{FOLDER_VARIABLE, KeptTake, TakeFolder};
use crate::take::{Imprint, MidiFile};
use crate::tally::verdict::Finding;

/// How many takes of a chart are looked at, the last ones: far more than a day has, and the five that the rule asks about
/// are among them unless the tempo changed all the time.
const LAST_TAKES: usize = 40;

/// Takes of one chart, or of some of its bars.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// The chart.
    pub chart: &'a Chart,
    /// The bars that are played; all of them without any.
    pub bars: Option<(usize, usize)>,
    /// The bands in use, if any are.
    pub bands: Option<&'a Assignment>,
}

/// The bands in use: those of the assignment that is named, else those of the setting. Where the setting's cannot be read
/// there are none, and that is said: it is no reason not to play.
pub fn bands_in_use(
    named: Option<&Path>,
    startup: &Startup,
    out: &mut Output,
) -> Result<Option<Assignment>, Failure> {
    if let Some(path) = named {
        return Ok(Some(load::assignment(path)?));
    }
    let Some(path) = &startup.resolved.settings.assignment else { return Ok(None) };
    let loaded = load::assignment(Path::new(path));
    if let Err(error) = &loaded {
        out.remark(&format!("No bands are in use: {error}. barwise settings assignment names the file."));
    }
    Ok(loaded.ok())
}

/// Quarter notes a minute: as asked, as offered by the takes of before, or the chart's own. Says why where it was left to
/// the takes.
pub fn tempo(
    choice: Option<TempoChoice>,
    asked: Asked<'_>,
    startup: &Startup,
    out: &mut Output,
) -> Result<f64, Failure> {
    let own = asked.chart.header().tempo.get();
    match choice {
        None => Ok(own),
        Some(TempoChoice::Bpm(tempo)) => Ok(tempo.bpm()),
        Some(TempoChoice::Next) => {
            let offer = offer(asked, startup, out)?;
            out.remark(&match (offer, asked.bands) {
                (None, _) => format!("--tempo next: no take of it yet, so its own tempo: {own}."),
                (Some(Offer { bpm, .. }), None) => format!(
                    "--tempo next: {bpm} as last time, for no bands say when a take is met. Name a file of them: \
                     --assignment F, or barwise settings assignment F"
                ),
                (Some(offer), Some(_)) => format!("--tempo next: {offer}."),
            });
            Ok(offer.map_or(own, |offer| offer.bpm))
        }
    }
}

/// Offers the next step behind a take, where enough takes were met for it. It is never taken by itself.
pub fn tell_offer(asked: Asked<'_>, startup: &Startup, out: &mut Output) -> Result<(), Failure> {
    if asked.bands.is_some() {
        let met = offer(asked, startup, out)?.filter(|offer| offer.why == Why::Met);
        if let Some(offer @ Offer { bpm, .. }) = met {
            out.remark(&format!("{offer} next time: --tempo {bpm}"));
        }
    }
    Ok(())
}

fn offer(asked: Asked<'_>, startup: &Startup, out: &mut Output) -> Result<Option<Offer>, Failure> {
    let folder = TakeFolder::of_user(std::env::var_os(FOLDER_VARIABLE))?;
    let mut tried = Vec::new();
    for take in folder.list()?.iter().rev() {
        match take_of(take, asked, startup, out) {
            Ok(found) => tried.extend(found),
            Err(failure) => {
                out.remark(&format!("take {} is left out of it: {}", take.number, failure.message()));
            }
        }
        if tried.len() == LAST_TAKES {
            break;
        }
    }
    tried.reverse();
    Ok(next_tempo(&tried, ZonedDateTime::now().date()))
}

/// A take, if it is one of those asked about.
fn take_of(
    take: &KeptTake,
    asked: Asked<'_>,
    startup: &Startup,
    out: &mut Output,
) -> Result<Option<Tried>, Failure> {
    let bytes = load::midi_bytes(&take.path)?;
    let imprint = MidiFile::parse(&bytes).ok().and_then(|midi| Imprint::of(&midi));
    let bare = startup.resolved.settings.bare;
    let is_asked = |imprint: &Imprint| {
        let chart = Chart::parse(&imprint.chart_name, &imprint.chart, bare);
        let same = chart.is_ok_and(|(chart, _)| chart.title() == asked.chart.title());
        same && imprint.bars == asked.bars
    };
    let Some(imprint) = imprint.filter(is_asked) else { return Ok(None) };
    let choices = choices_of_day(&imprint.settings, asked.bands, startup.kept(out), startup)?;
    let bands = asked.bands.map(|assignment| &assignment.bands);
    let question = Question { choices: &choices, chart: None, track: None, detail: Detail::Totals, bands };
    let answer = judge(&bytes, None, question).map_err(|error| Failure::bad_input(error.to_string()))?;
    let met = answer.verdict.is_some_and(|verdict| verdict.finding == Finding::Met);
    let day = take.written_at().map(|at| at.date());
    Ok(Some(Tried { bpm: answer.review.chart.tempo, met, day }))
}
