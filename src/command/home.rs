//! `barwise` alone: the home screen, from which everything can be opened with cues and a few keys.
//!
//! What it shows is gathered anew each time it opens; nothing that fails in what it opened ends it: that is said at the
//! bottom, and the screen stays.

mod charts;
mod to_play;

use clap::Parser;
use jiff::ZonedDateTime;

use crate::live::stop_signal::was_ever_asked;
use crate::live::{NotesChoice, look};
use crate::practice::Assignment;
use crate::practice::pauses::{Stretch, minutes_since_pause};
use crate::report::home::{HomeDocument, ToPlay};
use crate::screen::home::{Chosen, Home, HomeWish};
use crate::store::index::Filter;

use super::ask_index::ask;
use super::chord_args::ChordArgs;
use super::exit_status::{Ending, Failure};
use super::output::Output;
use super::play::{self, PlayArgs};
use super::sound_args::SoundArgs;
use super::startup::Startup;
use super::values::ChartSource;
use super::visits::reading::AfterReading;
use super::visits::{Visits, assignment, class, drill, neck, progress, reading, soundcheck};
use super::{Cli, Command, demo, load};
use charts::Listed;

/// What playing is to start with.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct ToStart {
    /// The chart.
    pub source: ChartSource,
    /// Its bars: `5-8`; none for all.
    pub bars: Option<String>,
    /// Quarter notes a minute; none for the chart's own.
    pub tempo: Option<f64>,
    /// Times through; none for the chart's own.
    pub choruses: Option<u32>,
}

impl ToStart {
    const fn of(source: ChartSource) -> Self {
        Self { source, bars: None, tempo: None, choruses: None }
    }
}

/// What a row opens.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Opens {
    /// Playing.
    Play(ToStart),
    /// The neck of a chord.
    Neck(String),
    /// The demo.
    Demo,
}

/// Home, with what each of its rows opens.
struct Gathered {
    document: HomeDocument,
    to_play: Vec<Opens>,
    charts: Vec<Listed>,
    said: Option<String>,
}

/// Carries the command out.
pub fn run(sound: &SoundArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let (mut said, mut cursor) = (None, 0);
    loop {
        let gathered = gather(sound, startup, out);
        let mut home =
            Home::new(gathered.document.clone(), said.or(gathered.said.clone())).with_cursor(cursor);
        let mut visits = Visits { startup, out, sound, heard: NotesChoice::Ports };
        let wish = visits.show(&mut home)?;
        cursor = home.cursor();
        if wish == HomeWish::Quit {
            return Ok(Ending::Fine);
        }
        said = match carry_out(wish, &gathered, sound, startup, out) {
            // A take that the player stopped in its count-in is interrupted, too; home stays.
            Ok(Ending::Interrupted) if was_ever_asked() => return Ok(Ending::Interrupted),
            Err(failure) if failure.ending() == Ending::Interrupted => return Err(failure),
            Err(failure) => Some(failure.message().to_owned()),
            Ok(_) => None,
        };
    }
}

/// Carries a wish out; a failure is said on the screen that follows.
fn carry_out(
    wish: HomeWish,
    gathered: &Gathered,
    sound: &SoundArgs,
    startup: &Startup,
    out: &mut Output,
) -> Result<Ending, Failure> {
    match wish {
        HomeWish::Play { row, faster } => match gathered.opens(row, faster) {
            Some(Opens::Play(start)) => play(start, sound, startup, out),
            Some(Opens::Demo) => demo::run(&demo::DemoArgs::with_sound(sound.clone()), startup, out),
            Some(Opens::Neck(symbol)) => show_neck(&symbol, sound, startup, out),
            None => Ok(Ending::Fine),
        },
        HomeWish::PlayBars { chart, faster, bars } => match gathered.opens(Chosen::Chart(chart), faster) {
            Some(Opens::Play(start)) => {
                play(ToStart { bars: Some(bars), choruses: Some(4), ..start }, sound, startup, out)
            }
            _ => Ok(Ending::Fine),
        },
        HomeWish::Quit => Ok(Ending::Fine),
        wish => visit(&wish, gathered, sound, startup, out),
    }
}

/// Shows a chord on the neck: there is no drill of its arpeggio yet.
fn show_neck(
    symbol: &str,
    sound: &SoundArgs,
    startup: &Startup,
    out: &mut Output,
) -> Result<Ending, Failure> {
    let settings = &startup.resolved.settings;
    let found = ChordArgs::of(symbol).find(settings.bare, &startup.kept(out), settings.written)?;
    neck::visit(&mut Visits { startup, out, sound, heard: NotesChoice::Ports }, found)?;
    Ok(Ending::Fine)
}

/// Opens a screen that stands still, and plays where that is what leaving it wishes.
fn visit(
    wish: &HomeWish,
    gathered: &Gathered,
    sound: &SoundArgs,
    startup: &Startup,
    out: &mut Output,
) -> Result<Ending, Failure> {
    let mut visits = Visits { startup, out, sound, heard: NotesChoice::Ports };
    let listed = |chart: usize| gathered.charts.get(chart);
    match *wish {
        HomeWish::Read(chart) => {
            let Some(listed) = listed(chart) else { return Ok(Ending::Fine) };
            if let AfterReading::Play { chart, bars } = reading::visit(&mut visits, &listed.source)? {
                let bars = bars.map(|(first, last)| format!("{first}-{last}"));
                return play(ToStart { bars, ..ToStart::of(chart) }, sound, startup, out);
            }
        }
        HomeWish::Progress(chart) => {
            let title = listed(chart).map(|listed| listed.row.title.as_str());
            progress::visit(&mut visits, title)?;
        }
        HomeWish::Drill => drill::visit(&mut visits)?,
        HomeWish::Assignment => assignment::visit(&mut visits, None)?,
        HomeWish::Class => class::visit(&mut visits, None, None)?,
        HomeWish::Soundcheck => soundcheck::visit(&mut visits)?,
        HomeWish::Play { .. } | HomeWish::PlayBars { .. } | HomeWish::Quit => {}
    }
    Ok(Ending::Fine)
}

/// Plays, with the flags that say the same on the command line.
fn play(start: ToStart, sound: &SoundArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    play::run(&play_args(start, sound)?, startup, out)
}

/// The arguments of `play` for a start.
fn play_args(start: ToStart, sound: &SoundArgs) -> Result<PlayArgs, Failure> {
    let mut words = vec!["barwise".to_owned(), "play".to_owned(), "-".to_owned()];
    let mut flag = |name: &str, value: Option<String>| {
        words.extend(value.into_iter().flat_map(|value| [name.to_owned(), value]));
    };
    flag("--bars", start.bars);
    flag("--tempo", start.tempo.map(|tempo| tempo.to_string()));
    flag("--choruses", start.choruses.map(|times| times.to_string()));
    match Cli::try_parse_from(words) {
        Ok(Cli { command: Some(Command::Play(mut args)), .. }) => {
            args.backing.chart = start.source;
            args.sound = sound.clone();
            Ok(args)
        }
        Ok(_) => Err(Failure::bad_input("that cannot be played".to_owned())),
        Err(error) => {
            let text = error.to_string();
            let first = text.lines().next().unwrap_or_default();
            Err(Failure::bad_input(first.trim_start_matches("error: ").to_owned()))
        }
    }
}

impl Gathered {
    /// What a row opens, a chart so much faster.
    fn opens(&self, row: Chosen, faster: i32) -> Option<Opens> {
        match row {
            Chosen::ToPlay(index) => self.to_play.get(index).cloned(),
            Chosen::Chart(index) => {
                let listed = self.charts.get(index)?;
                let tempo = (faster != 0).then(|| listed.row.tempo + f64::from(faster));
                Some(Opens::Play(ToStart { tempo, ..ToStart::of(listed.source.clone()) }))
            }
        }
    }
}

/// Gathers what home shows.
fn gather(sound: &SoundArgs, startup: &Startup, out: &mut Output) -> Gathered {
    let settings = &startup.resolved.settings;
    let choices = startup.choices(settings, out);
    let now = ZonedDateTime::now();
    let today = now.date();
    let asked = ask(startup, out, |index, judging| {
        let since = Filter { since: today.yesterday().ok(), ..Filter::default() };
        Ok((index.charts(judging)?, index.takes(&since, judging)?, index.digests(&since, judging)?))
    });
    // A store that does not answer takes nothing of playing away.
    let (store_said, (played, takes, digests)) = match asked {
        Ok(found) => (None, found),
        Err(failure) => (Some(failure.message().to_owned()), Default::default()),
    };
    let folder = std::env::current_dir().unwrap_or_default();
    let choices = choices.written_for(settings.written);
    let (charts, charts_said) = charts::all(&played, &folder, &choices);
    let (assignment, assignment_said) = assignment(settings.assignment.as_deref());
    let to_play = to_play::all(assignment.as_ref(), (&takes, &charts), &choices, today);
    let is_first_run = played.is_empty();
    let (to_play, opens): (Vec<ToPlay>, Vec<Opens>) = to_play.into_iter().unzip();
    let stretches = takes.iter().filter_map(|take| {
        let digest = digests.iter().find(|digest| digest.take == take.number)?;
        (digest.day == today).then(|| Stretch::before(take.kept_at, digest.seconds))
    });
    let document = HomeDocument {
        today,
        notes_in: notes_in(sound),
        sound_out: sound_out(sound),
        to_play,
        charts: charts.iter().map(|listed| listed.row.clone()).collect(),
        minutes: minutes_since_pause(&stretches.collect::<Vec<_>>(), now.timestamp()),
        is_first_run,
    };
    let said = [store_said, assignment_said].into_iter().flatten().chain(charts_said).next();
    Gathered { document, to_play: opens, charts, said }
}

/// The assignment in use; what has to be said of one that does not read.
fn assignment(path: Option<&str>) -> (Option<Assignment>, Option<String>) {
    match path.map(|path| load::assignment(path.as_ref())) {
        Some(Ok(assignment)) => (Some(assignment), None),
        Some(Err(error)) => (None, Some(format!("The assignment does not read: {error}"))),
        None => (None, None),
    }
}

/// The inputs there are, in words.
fn notes_in(sound: &SoundArgs) -> String {
    /// So many are named.
    const NAMED: usize = 2;
    match look::inputs(sound.audio_host.as_deref()) {
        Ok(names) if names.is_empty() => "none yet".to_owned(),
        Ok(names) if names.len() > NAMED => {
            format!("{} and {} more", names[..NAMED].join(", "), names.len() - NAMED)
        }
        Ok(names) => names.join(", "),
        Err(_) => "none (soundcheck says why)".to_owned(),
    }
}

/// What sounds, in words.
fn sound_out(sound: &SoundArgs) -> String {
    if sound.no_audio {
        return "off".to_owned();
    }
    match crate::live::sound_is_there(&sound.names()) {
        Ok(()) => "ok".to_owned(),
        Err(_) => "none: the beat is shown".to_owned(),
    }
}
