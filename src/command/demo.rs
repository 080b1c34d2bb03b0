//! `demo`: an invented line over a chart that ships, heard on a terminal and judged: no device, no set-up, nothing kept.

use std::io::IsTerminal;
use std::path::PathBuf;

use clap::Args;

use crate::band::feel::USUAL_SWING_PERCENT;
use crate::band::voices::sound_font::SoundFont;
use crate::band::{Accompaniment, Levels, Seed};
use crate::chart::Turns;
use crate::command::output_file::may_write;
use crate::demo;
use crate::harmony::Overrides;
use crate::judge::written::tuning;
use crate::judge::{Choices, ChordSource, Question, judge};
use crate::live::keep::KeeperEnd;
use crate::live::{self, FileStart, NotesChoice, SessionPlan, SoundChoice};
use crate::neck::Tuning;
use crate::report::OutputForm;
use crate::report::cautions::HEARING;
use crate::report::html::take::TakePage;
use crate::report::review::page::{Asked, page};
use crate::report::review::{Detail, NextRecord};
use crate::screen::page::{Heading, Page};
use crate::screen::playing::{self, Shown};
use crate::store::replace::replace_bytes;
use crate::take::Imprint;
use crate::theory::Written;

use super::exit_status::{Ending, Failure};
use super::output::Output;
use super::pages;
use super::play::no_longer_shown;
use super::play::replayed::Replayed;
use super::play::tally_so_far::so_far;
use super::play::view::theme;
use super::sound_args::SoundArgs;
use super::startup::Startup;
use super::visits::Visits;
use super::visits::take::{AfterTake, TakeToShow, visit};
use super::voice_args::{VoiceArgs, sound_font};

/// What `demo` takes.
#[derive(Clone, Debug, PartialEq, Eq, Args)]
pub struct DemoArgs {
    /// Print the report at once and open no screen
    #[arg(long)]
    pub headless: bool,
    /// Write the demo's take to this file, to review or replay it
    #[arg(short, long = "output", value_name = "F.mid")]
    pub output: Option<PathBuf>,
    /// How the band sounds
    #[command(flatten)]
    pub voices: VoiceArgs,
    /// Write the report as a page, to read, print or mail (- for standard output)
    #[arg(long, value_name = "F", conflicts_with = "output")]
    pub html: Option<PathBuf>,
    /// Where sound goes
    #[command(flatten)]
    pub sound: SoundArgs,
}

impl DemoArgs {
    /// The demo with sound going there, all else as it comes.
    pub fn with_sound(sound: SoundArgs) -> Self {
        Self { headless: false, output: None, voices: VoiceArgs::default(), html: None, sound }
    }
}

/// Carries the command out.
pub fn run(args: &DemoArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let bytes = demo::take().to_bytes();
    if let Some(path) = &args.output {
        let failed = |error: std::io::Error| Failure::store(format!("{}: {error}", path.display()));
        may_write(path, &["mid", "midi"], "-o")?;
        replace_bytes(path, &bytes).map_err(failed)?;
        out.remark(&format!("wrote {}", path.display()));
        return Ok(Ending::Fine);
    }
    let opens = args.html.is_none() && !args.headless && on_a_terminal() && out.form() != OutputForm::Json;
    if opens {
        return on_screen(args, &bytes, startup, out);
    }
    let choices = startup.resolved.settings.choices().written_for(startup.written(out));
    let question =
        Question { choices: &choices, chart: None, track: None, detail: Detail::Notes, bands: None };
    let answer = judge(&bytes, Some("the demo".to_owned()), question)
        .map_err(|error| Failure::bad_input(error.to_string()))?;
    if let Some(path) = &args.html {
        return pages::write(
            path,
            &TakePage { review: &answer.review, verdict: None, weeks: None }.write(),
            out,
        )
        .map(|()| Ending::Fine);
    }
    match out.form() {
        OutputForm::Json => out.document(&answer.review)?,
        form => out.text(&page(&answer.review, Asked::BARS, form))?,
    }
    Ok(Ending::Fine)
}

/// Plays the line on the screen, shows what a player sees after a take, and prints the report.
fn on_screen(args: &DemoArgs, bytes: &[u8], startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let settings = &startup.resolved.settings;
    let mut shown = TakeToShow {
        bytes: bytes.to_vec(),
        number: None,
        choices: settings.choices(),
        bands: None,
        said: None,
        not_kept: "the demo keeps nothing",
    };
    let mut is_to_play = true;
    loop {
        if is_to_play {
            play(
                bytes,
                args.sound.choice()?,
                (settings.levels, sound_font(settings, out)?),
                settings.written,
                out,
            )?;
        }
        let mut visits = Visits { startup, out, sound: &args.sound, heard: NotesChoice::Ports };
        let after = visit(&mut visits, &shown)?;
        is_to_play = after == AfterTake::Again;
        shown.said = match after {
            AfterTake::Again => None,
            AfterTake::Next(next) => {
                Some(format!("yours to play: barwise play {}{}", demo::CHART, flags(&next)))
            }
            AfterTake::Leave(review) => {
                out.text(&page(&review, Asked::BARS, out.form()))?;
                return Ok(Ending::Fine);
            }
        };
    }
}

/// The flags that a suggestion stands for: ` --bars 4-5 --tempo 116 --choruses 4`.
fn flags(next: &NextRecord) -> String {
    let bars = next.bars.map_or_else(String::new, |[first, last]| format!(" --bars {first}-{last}"));
    let tempo = next.tempo.map_or_else(String::new, |tempo| format!(" --tempo {tempo}"));
    let times = next.times.map_or_else(String::new, |times| format!(" --choruses {times}"));
    bars + &tempo + &times
}

fn on_a_terminal() -> bool {
    std::io::stdout().is_terminal() && std::io::stdin().is_terminal()
}

/// Plays the line over the band on the playing screen, with sound where there is a device.
fn play(
    take: &[u8],
    sound: SoundChoice,
    (levels, sound_font): (Levels, Option<SoundFont>),
    written: Written,
    out: &mut Output,
) -> Result<(), Failure> {
    let chart = demo::chart();
    let chords = ChordSource::of_chart(&chart, &Overrides::default());
    let read = chords.written_for(written);
    let replayed = Replayed::of(take, &chords).map_err(Failure::bad_input)?;
    let plan = SessionPlan {
        form: chords.form,
        reading: chords.reading,
        keys: Vec::new(),
        bpm: chart.header().tempo.get(),
        choruses: demo::CHORUSES,
        feel: chart.header().feel,
        swing_percent: USUAL_SWING_PERCENT,
        seed: Seed(0),
        mutes: Vec::new(),
        levels,
        sound_font,
        accompaniment: Accompaniment::default(),
        sound,
        notes: NotesChoice::File { from: FileStart::BarOne, messages: replayed.messages },
        foot: None,
        line: demo::heard(),
        turns: Turns::default(),
    };
    let heading = Heading {
        title: chart.title().to_owned(),
        key: read.id.key.clone().unwrap_or_default(),
        written,
        next_key: None,
        feel_and_tempo: format!("{} {}", plan.feel, plan.bpm),
        choruses: plan.choruses,
        take: None,
        caution: Some(HEARING),
        task: None,
        turns: Turns::default(),
    };
    let page = Page::new(&read.form, &read.reading, heading);
    let opening = Shown { tuning: tuning(&Tuning::standard(), written), ..Shown::default() };
    out.remark(HEARING);
    let imprint = Imprint { count_in_ticks: plan.count_in().length.0, ..demo::imprint() };
    let choices = Choices::default();
    let mut so_far = so_far(imprint, plan.tempo(), &choices);
    let played = live::play(&plan, KeeperEnd::nobody(), |end| {
        playing::run(&page, &opening, theme(out.form()), &mut so_far, end)
    })?;
    for sentence in &played.said {
        out.remark(sentence);
    }
    if let Err(broke) = &played.view {
        out.remark(&no_longer_shown(broke));
    }
    Ok(())
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
