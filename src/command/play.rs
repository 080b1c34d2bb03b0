//! `play`: counts in, plays the backing, hears the line, keeps the take and reports.

pub mod keeping;
mod learnt;
pub mod replayed;
pub mod view;

use std::path::PathBuf;

use clap::Args;
use jiff::ZonedDateTime;

use crate::band::{ClickOn, Part, Seed};
use crate::chart::{Chart, Feel};
use crate::harmony::Overrides;
use crate::judge::{ChordSource, Question, judge};
use crate::live::keep::KeeperEnd;
use crate::live::{self, FileStart, NotesChoice, Played, SessionPlan, SoundChoice, Stopped};
use crate::report::OutputForm;
use crate::report::review::{Detail, Source};
use crate::report::review_page::{Asked, Part as ReviewPart, page};
use crate::report::review_text::HEARING;
use crate::screen::page::{Heading, Page};
use crate::store::raw_log::LogHead;
use crate::store::settings::Settings;
use crate::store::takes::{FOLDER_VARIABLE, KeptTake, TakeFolder};
use crate::take::Imprint;
use crate::theory::{Key, KeyMode};

use super::exit_status::{Ending, Failure};
use super::load;
use super::output::Output;
use super::review::tell_warnings;
use super::sound_args::SoundArgs;
use super::startup::Startup;
use super::values::{BarRange, ChartSource as ChartPlace, Choruses, Tempo};
use keeping::{Keeping, take_bytes, tell};
use learnt::Learnt;
use replayed::Replayed;
use view::{View, show};

/// What `play` takes.
#[derive(Clone, Debug, PartialEq, Args)]
pub struct PlayArgs {
    /// The chart: a file, or the name of a chart that ships
    #[arg(value_name = "CHART")]
    pub chart: ChartPlace,
    /// Quarter notes a minute, instead of the chart's tempo
    #[arg(long, value_name = "BPM")]
    pub tempo: Option<Tempo>,
    /// Play in this key: Eb, F#m
    #[arg(long)]
    pub key: Option<Key>,
    /// How the backing moves, instead of the chart's feel
    #[arg(long)]
    pub feel: Option<Feel>,
    /// How often the form is played
    #[arg(long, value_name = "N")]
    pub choruses: Option<Choruses>,
    /// Play these bars only, again and again: 5-8
    #[arg(long, value_name = "FIRST-LAST")]
    pub bars: Option<BarRange>,
    /// Leave parts of the backing out: ride,bass
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    pub mute: Vec<Part>,
    /// The same number gives the same backing again
    #[arg(long, value_name = "N")]
    pub seed: Option<Seed>,
    /// Open no screen
    #[arg(long)]
    pub headless: bool,
    /// One line a bar, in words, for screen readers and small windows
    #[arg(long)]
    pub plain: bool,
    /// Hear this MIDI file as if it were played now
    #[arg(long, value_name = "F", conflicts_with = "midi_from")]
    pub midi_file: Option<PathBuf>,
    /// Hear the MIDI input with this name, or a part of it
    #[arg(long, value_name = "PORT")]
    pub midi_from: Option<String>,
    /// Where sound goes
    #[command(flatten)]
    pub sound: SoundArgs,
}

/// Carries the command out.
pub fn run(args: &PlayArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let settings = &startup.resolved.settings;
    let chart = chart(args, settings, out)?;
    let chords = chords(args, &chart)?;
    let replayed = args.midi_file.as_deref().map(|path| Replayed::load(path, &chords)).transpose()?;
    let tempo = args.tempo.map_or(chart.header().tempo.get(), Tempo::bpm);
    let choruses = choruses(args, &chart, replayed.as_ref());
    let notes = notes(args, replayed)?;
    let Learnt { settings, foot } = Learnt::of(startup, &notes, args.sound.audio_host.as_deref(), out);
    let settings = &settings;
    let plan = SessionPlan {
        form: chords.form.clone(),
        reading: chords.reading.clone(),
        bpm: tempo,
        choruses,
        feel: args.feel.unwrap_or(chart.header().feel),
        swing_percent: (settings.swing * 100.0).round() as u8,
        seed: args.seed.unwrap_or_default(),
        mutes: args.mute.clone(),
        click: ClickOn::CountInOnly,
        sound: args.sound.choice()?,
        notes,
        foot,
        line: Vec::new(),
    };
    let takes = TakeFolder::of_user(std::env::var_os(FOLDER_VARIABLE));
    let caution = caution(&plan, takes.as_ref().ok());
    let takes = takes.and_then(|takes| {
        tell(&takes.recover(settings.bare), out);
        Keeping::begin(takes, &head(args, &chart, &plan, settings))
    });
    let (keeping, keeper) = match takes {
        Ok((keeping, keeper)) => (Some(keeping), keeper),
        Err(error) => {
            out.remark(&format!("The take cannot be kept: {error}"));
            (None, KeeperEnd::nobody())
        }
    };
    let heading = Heading {
        title: chart.title().to_owned(),
        key: chords.id.key.clone().unwrap_or_default(),
        feel_and_tempo: format!("{} {}", plan.feel, tempo.round()),
        choruses,
        take: keeping.as_ref().map(|keeping| keeping.number),
        caution,
    };
    if let Some(caution) = caution {
        out.remark(caution);
    }
    let view = View::of(args, out);
    let played = show(&plan, &Page::new(&plan.form, &plan.reading, heading), view, keeper, out)?;
    let said: &[String] = if view == View::Plain { &[] } else { &played.said };
    for sentence in said {
        out.remark(sentence);
    }
    if let Err(broke) = &played.view {
        out.remark(&broke.to_string());
    }
    let imprint = head(args, &chart, &plan, settings).imprint;
    finish(&played, imprint, keeping, view, settings, out)
}

/// The caution about hearing, before the first sound of a day.
fn caution(plan: &SessionPlan, takes: Option<&TakeFolder>) -> Option<&'static str> {
    let sounds = plan.sound != SoundChoice::Silent;
    let heard_today = takes.is_some_and(|takes| takes.any_of_day(ZonedDateTime::now().date()));
    (sounds && !heard_today).then_some(HEARING)
}

/// What the log of the take says before its first message.
fn head(args: &PlayArgs, chart: &Chart, plan: &SessionPlan, settings: &Settings) -> LogHead {
    let imprint = Imprint {
        version: 1,
        chart: chart.text().to_owned(),
        chart_name: chart.name().to_owned(),
        count_in_ticks: plan.count_in().0,
        choruses: plan.choruses.into(),
        bars: args.bars.map(|bars| (bars.first().get(), bars.last().get())),
        settings: settings.figures(),
    };
    LogHead { imprint, quarter_ns: plan.quarter().0 }
}

/// The chart, in the key asked for.
fn chart(args: &PlayArgs, settings: &Settings, out: &mut Output) -> Result<Chart, Failure> {
    let loaded = load::chart(&args.chart, settings.bare)?;
    for warning in &loaded.warnings {
        out.remark(&format!("{}:{warning}", loaded.chart.name()));
    }
    let Some(key) = args.key else { return Ok(loaded.chart) };
    let home = || ChordSource::of_chart(&loaded.chart, &Overrides::default()).reading.home;
    let from = loaded.chart.header().key.or_else(home);
    let from = from.ok_or_else(|| {
        Failure::bad_input("--key: the chart names no key and none is heard in it. Write key: in its header")
    })?;
    let key = in_the_mode_of(from, key)?;
    loaded
        .chart
        .transposed_from(from, key)
        .map_err(|error| Failure::bad_input(format!("--key {key}: {error}")))
}

/// The key asked for in the mode the chart is in, which a change of key keeps. A letter alone stands for either mode.
fn in_the_mode_of(from: Key, key: Key) -> Result<Key, Failure> {
    if key.mode == from.mode || key.mode == KeyMode::Major {
        return Ok(Key { mode: from.mode, ..key });
    }
    let tonic = key.tonic;
    Err(Failure::bad_input(format!(
        "--key {key}: the chart is in {from} and keeps its mode. Write --key {tonic}"
    )))
}

/// The chords to play over: all of the form, or the bars asked for.
fn chords(args: &PlayArgs, chart: &Chart) -> Result<ChordSource, Failure> {
    let whole = ChordSource::of_chart(chart, &Overrides::default());
    match args.bars {
        None => Ok(whole),
        Some(bars) => {
            let cut = whole.only_bars(bars.first().get(), bars.last().get());
            cut.map_err(|error| Failure::bad_input(format!("--bars: {error}")))
        }
    }
}

/// How often the form is played: as asked, as long as the file that is replayed, as the chart says, or once.
fn choruses(args: &PlayArgs, chart: &Chart, replayed: Option<&Replayed>) -> u16 {
    let asked = args.choruses.map(Choruses::get);
    let wanted =
        asked.or(replayed.map(|replayed| replayed.choruses)).or(chart.header().choruses).unwrap_or(1);
    u16::try_from(wanted.max(1)).unwrap_or(u16::MAX)
}

/// Where the notes come from; an input that is asked for by name must be there.
fn notes(args: &PlayArgs, replayed: Option<Replayed>) -> Result<NotesChoice, Failure> {
    match (replayed, &args.midi_from) {
        (Some(replayed), _) => Ok(NotesChoice::File { from: FileStart::BarOne, messages: replayed.messages }),
        (None, Some(name)) => {
            let there = live::notes_in_names(args.sound.audio_host.as_deref());
            let found = there.iter().any(|there| there.to_lowercase().contains(&name.to_lowercase()));
            if found { Ok(NotesChoice::PortsNamed(name.clone())) } else { Err(no_input(name, &there)) }
        }
        (None, None) => Ok(NotesChoice::Ports),
    }
}

fn no_input(name: &str, there: &[String]) -> Failure {
    let listed = if there.is_empty() {
        "there is none at all".to_owned()
    } else {
        format!("there are: {}", there.join(", "))
    };
    Failure::device(format!("no MIDI input is called \"{name}\"; {listed}"))
}

/// Keeps the take and reports on it, exactly as a review of its file would.
fn finish(
    played: &Played,
    imprint: Imprint,
    keeping: Option<Keeping>,
    view: View,
    settings: &Settings,
    out: &mut Output,
) -> Result<Ending, Failure> {
    let bytes = take_bytes(played, imprint, settings.bare);
    let number = match keeping.map(|keeping| keeping.finish(bytes.as_deref(), out)) {
        Some(Ok(Some(KeptTake { number, path }))) => {
            out.remark(&format!("take {number}: {}", path.display()));
            Some(number)
        }
        Some(Err(error)) => {
            out.remark(&format!("The take cannot be kept: {error}"));
            None
        }
        Some(Ok(None)) | None => None,
    };
    let Some(bytes) = bytes else {
        out.remark("Stopped in the count-in: nothing to keep.");
        return Ok(ending_of(played).unwrap_or(Ending::Interrupted));
    };
    let choices = settings.choices();
    let question =
        Question { choices: &choices, chart: None, track: None, detail: Detail::Notes, bands: None };
    let answer = judge(&bytes, None, question).map_err(|error| Failure::bad_input(error.to_string()))?;
    let mut review = answer.review;
    review.source = Source { take: number, ..review.source };
    let name = number.map_or_else(|| "this take".to_owned(), |number| format!("take {number}"));
    tell_warnings(&review, &name, out);
    let part = if view == View::Plain { ReviewPart::Plain } else { ReviewPart::Bars };
    match out.form() {
        OutputForm::Json => out.document(&review)?,
        form => out.text(&page(&review, Asked { part, ..Asked::BARS }, form))?,
    }
    let kept = number.map_or(Ending::Store, |_| Ending::Fine);
    Ok(ending_of(played).unwrap_or(kept))
}

/// How the run ends by the playing alone: stopped from outside, or because it could no longer be shown. A reader that
/// had enough is no trouble.
fn ending_of(played: &Played) -> Option<Ending> {
    match (&played.view, played.stopped) {
        (_, Stopped::Interrupted(_)) => Some(Ending::Interrupted),
        (Err(broke), _) if broke.kind == std::io::ErrorKind::BrokenPipe => Some(Ending::Fine),
        (Err(_), _) => Some(Ending::Store),
        (Ok(()), _) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::values::tests::{parsed, refused};

    fn check_refusal(flags: &[&str], expect: &str) {
        let message = refused::<PlayArgs>(&[&["a.bars"], flags].concat());
        assert!(message.contains(expect), "{message}");
    }

    #[test]
    fn everything_about_the_backing_can_be_said() {
        let line = [
            "a.bars",
            "--tempo",
            "116",
            "--key",
            "F#m",
            "--feel",
            "bossa",
            "--bars",
            "5-8",
            "--mute",
            "ride,bass",
        ];
        let args = parsed::<PlayArgs>(&line);
        assert_eq!(args.tempo.map(Tempo::bpm), Some(116.0));
        assert_eq!(args.key.map(|key| key.to_string()).as_deref(), Some("F# minor"));
        assert_eq!(args.mute, [Part::Ride, Part::Bass]);
        assert_eq!(args.bars.map(|bars| bars.last().get()), Some(8));
    }

    #[test]
    fn slips_name_the_flag_and_what_to_write() {
        check_refusal(&["--tempo", "0"], "'--tempo <BPM>': a tempo is quarter notes a minute, 20 to 400");
        check_refusal(&["--tempo", "999"], "20 to 400");
        check_refusal(&["--bars", "9-4"], "'--bars <FIRST-LAST>': the first bar stands first: 4-9");
        check_refusal(&["--key", "H"], "\"H\" is no key: write the tonic, A to G");
        check_refusal(&["--mute", "kazoo"], "possible values: bass, comp, ride, hat, kick, click");
        check_refusal(&["--seed", "x"], "a seed is a whole number from 0, as in 7");
        check_refusal(&["--choruses", "0"], "choruses are 1 to 999");
    }

    #[test]
    fn a_chart_keeps_its_mode_in_another_key() {
        let key = |text: &str| text.parse::<Key>().expect("a key");
        assert_eq!(in_the_mode_of(key("C"), key("F#")), Ok(key("F#")));
        assert_eq!(in_the_mode_of(key("Am"), key("Cm")), Ok(key("Cm")));
        assert_eq!(in_the_mode_of(key("Am"), key("C")), Ok(key("Cm")), "the tonic alone");
        let refusal = in_the_mode_of(key("C"), key("F#m")).expect_err("no minor of a major chart");
        assert!(refusal.message().ends_with("the chart is in C major and keeps its mode. Write --key F#"));
    }

    #[test]
    fn notes_come_from_one_place_and_sound_goes_to_one() {
        check_refusal(&["--midi-file", "a.mid", "--midi-from", "piano"], "cannot be used with");
        check_refusal(&["--no-audio", "--audio-host", "jack"], "cannot be used with");
        check_refusal(&["--no-audio", "--audio-device", "usb"], "cannot be used with");
    }
}
