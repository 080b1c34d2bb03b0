//! `play`: counts in, plays the backing, hears the line, keeps the take and reports.

mod after;
pub mod keeping;
mod head;
pub mod last_words;
pub mod learnt;
pub mod replayed;
pub mod tally_so_far;
pub mod view;
pub mod view_args;
mod wait;

use std::io::ErrorKind;
use std::path::PathBuf;

use clap::Args;
use jiff::ZonedDateTime;

use crate::chart::Chart;
use crate::judge::{Choices, ChordSource, Question, judge};
use crate::live::keep::KeeperEnd;
use crate::live::{self, FileStart, NotesChoice, Played, SessionPlan, SoundChoice, Stopped, ViewBroke};
use crate::report::OutputForm;
use crate::report::cautions::HEARING;
use crate::report::review::page::{Asked, Part as ReviewPart, page};
use crate::report::review::{Detail, Review, Source};
use crate::screen::page::{Heading, Page};
use crate::store::error_words::in_words;
use crate::store::raw_log::LogHead;
use crate::store::settings::Settings;
use crate::store::takes::{FOLDER_VARIABLE, KeptTake, NotKept, TakeFolder};
use crate::take::Imprint;
use crate::theory::chord::BareSymbols;

use super::backing_args::BackingArgs;
use super::band_args::BandArgs;
use super::exit_status::{Ending, Failure};
use super::output::Output;
use super::review::tell_warnings;
use super::sound_args::SoundArgs;
use super::startup::Startup;
use super::tempo_step;
use super::visits::take::TakeToShow;
use super::voice_args::{VoiceArgs, sound_font};
use head::head;
use keeping::{Keeping, take_bytes, tell as tell_recovered};
use learnt::{Learnt, remember_input};
use replayed::Replayed;
use view::{ToShow, View, show};
use view_args::ViewArgs;

/// What `play` takes.
#[derive(Clone, Debug, PartialEq, Args)]
pub struct PlayArgs {
    /// What the band plays
    #[command(flatten)]
    pub backing: BackingArgs,
    /// How the band plays with you
    #[command(flatten)]
    pub band: BandArgs,
    /// How the take is shown while it lasts
    #[command(flatten)]
    pub view: ViewArgs,
    /// How the band sounds
    #[command(flatten)]
    pub voices: VoiceArgs,
    /// Wait for a cue before the take, and before another one after it: Enter, the foot, or the low note that was learnt
    #[arg(long)]
    pub wait: bool,
    /// Hear this MIDI file as if it were played now
    #[arg(long, value_name = "F", conflicts_with = "midi_from")]
    pub midi_file: Option<PathBuf>,
    /// Hear the MIDI input with this name, or a part of it
    #[arg(long, value_name = "PORT")]
    pub midi_from: Option<String>,
    /// The bands in use: two takes that meet them lead to a faster tempo, which is offered behind the take
    #[arg(long, value_name = "F")]
    pub assignment: Option<PathBuf>,
    /// Where sound goes
    #[command(flatten)]
    pub sound: SoundArgs,
}

/// Carries the command out.
pub fn run(args: &PlayArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    if args.wait {
        return wait::takes(args, out, |out| take(args, startup, out));
    }
    after::takes(args, startup, out)
}

/// A take that was played.
struct Taken {
    /// How the run would end with it.
    ending: Ending,
    /// What was found; none where it never came to bar 1.
    review: Option<Review>,
    view: View,
    /// What the screens after it are opened with.
    shown: Option<TakeToShow>,
}

/// Plays one take, keeps it and reports on it.
fn take(args: &PlayArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let Taken { ending, review, view, .. } = played(args, None, startup, out)?;
    if let Some(review) = review {
        tell(&review, view, out)?;
    }
    Ok(ending)
}

/// Prints what was found, exactly as a review of the take's file would.
fn tell(review: &Review, view: View, out: &mut Output) -> Result<(), Failure> {
    let part = if view == View::Plain { ReviewPart::Plain } else { ReviewPart::Bars };
    match out.form() {
        OutputForm::Json => out.document(review),
        form => out.text(&page(review, Asked { part, ..Asked::BARS }, form)),
    }
}

/// Plays one take and keeps it; `task` is what is asked of the player beside the chart.
fn played(
    args: &PlayArgs,
    task: Option<&str>,
    startup: &Startup,
    out: &mut Output,
) -> Result<Taken, Failure> {
    let chart = args.backing.chart(startup, out)?;
    let bands = tempo_step::bands_in_use(args.assignment.as_deref(), startup, out)?;
    let tried = tempo_step::Asked { chart: &chart, bars: args.backing.bar_numbers(), bands: bands.as_ref() };
    let bpm = tempo_step::tempo(args.backing.tempo, tried, startup, out)?;
    let Planned { plan, read, settings, spread_ms } = planned(args, &chart, bpm, startup, out)?;
    let head = head(args, &chart, &plan, (&settings, spread_ms));
    let takes = TakeFolder::of_user(std::env::var_os(FOLDER_VARIABLE));
    let caution = caution(&plan, takes.as_ref().ok());
    let (keeping, keeper) = keeping(takes, &head, settings.bare, out);
    if let Some(caution) = caution {
        out.remark(caution);
    }
    let view = View::of(&args.view, out);
    let mut heading = heading(&read, &plan, keeping.as_ref().map(|keeping| keeping.number), caution);
    let not_kept = keeping.is_none().then(|| NOT_KEPT.to_owned());
    heading.task = not_kept.or_else(|| task.map(str::to_owned));
    let page = Page::new(&read.form, &read.reading, heading).in_keys(&read.keys);
    let opening = args.view.opening(&settings, &args.backing.mute);
    let choices = startup.choices(&settings, out);
    let mut so_far = tally_so_far::so_far(head.imprint.clone(), plan.tempo(), &choices);
    let shown = ToShow { page: &page, opening: &opening, so_far: &mut so_far };
    let played = match show(&plan, view, shown, keeper, out) {
        Ok(played) => played,
        Err(broken) => {
            if let Some(keeping) = keeping {
                keeping.cut_off(settings.bare, out);
            }
            return Err(broken);
        }
    };
    tell_of_playing(&played, view, out);
    let choices = choices.clone().written_for(startup.written(out));
    let Finished { ending, found } = finish(&played, head.imprint, keeping, &choices, out)?;
    if ending == Ending::Fine {
        tempo_step::tell_offer(tried, startup, out)?;
    }
    let (review, bytes) = found.unzip();
    let shown = bytes.map(|bytes| TakeToShow {
        bytes,
        number: review.as_ref().and_then(|review| review.source.take),
        choices: settings.choices(),
        bands: bands.map(|bands| bands.bands),
        said: None,
        not_kept: TakeToShow::NOT_KEPT,
    });
    Ok(Taken { ending, review, view, shown })
}

/// What the screen says all the while of a take that leaves nothing behind.
const NOT_KEPT: &str = "This take is not kept: its folder takes no file. barwise soundcheck says more.";

/// Begins to write the take down; where that cannot be it is said, and played all the same.
fn keeping(
    takes: Result<TakeFolder, NotKept>,
    head: &LogHead,
    bare: BareSymbols,
    out: &mut Output,
) -> (Option<Keeping>, KeeperEnd) {
    let begun = takes.and_then(|takes| {
        tell_recovered(&takes.recover(bare), out);
        Keeping::begin(takes, head)
    });
    match begun {
        Ok((keeping, keeper)) => (Some(keeping), keeper),
        Err(error) => {
            out.remark(&format!("The take cannot be kept: {error}"));
            (None, KeeperEnd::nobody())
        }
    }
}

/// What stands above the chart while it is played.
fn heading(
    read: &ChordSource,
    plan: &SessionPlan,
    take: Option<u32>,
    caution: Option<&'static str>,
) -> Heading {
    Heading {
        title: read.id.title.clone(),
        key: read.id.key.clone().unwrap_or_default(),
        written: read.id.written,
        next_key: None,
        feel_and_tempo: format!("{} {}", plan.feel, plan.bpm.round()),
        choruses: plan.choruses,
        take,
        caution,
        task: None,
        turns: plan.turns,
    }
}

/// Says what came up while it was played, but for what the plain view has said already.
fn tell_of_playing(played: &Played, view: View, out: &mut Output) {
    let said: &[String] = if view == View::Plain { &[] } else { &played.said };
    for sentence in said {
        out.remark(sentence);
    }
    if let Err(broke) = &played.view {
        out.remark(&no_longer_shown(broke));
    }
    remember_input(played, out);
}

/// What is to be played, and the settings of the take: what was learnt about the instrument is among them.
struct Planned {
    plan: SessionPlan,
    /// The chords as the player reads them.
    read: ChordSource,
    settings: Settings,
    /// How surely the instrument's lateness is known, where it was learnt.
    spread_ms: Option<f64>,
}

fn planned(
    args: &PlayArgs,
    chart: &Chart,
    bpm: f64,
    startup: &Startup,
    out: &mut Output,
) -> Result<Planned, Failure> {
    let chords = args.backing.chords(chart, &[])?;
    let replayed = args.midi_file.as_deref().map(|path| Replayed::load(path, &chords)).transpose()?;
    let choruses = choruses(args, chart, replayed.as_ref());
    let turns = args.band.turns(choruses)?;
    let keys = args.backing.keys(chart, choruses, turns.head)?;
    let chords = args.backing.chords(chart, &keys)?;
    let feel = args.backing.feel(chart);
    let accompaniment = args.band.accompaniment(&chords.form, choruses, feel)?;
    let notes = notes(args, replayed)?;
    let Learnt { settings, foot, spread_ms } =
        Learnt::of(startup, &notes, args.sound.audio_host.as_deref(), out);
    let read = chords.written_for(settings.written);
    let plan = SessionPlan {
        form: chords.form,
        reading: chords.reading,
        keys: chords.keys,
        bpm,
        choruses,
        feel,
        swing_percent: (settings.swing * 100.0).round() as u8,
        seed: args.backing.seed.unwrap_or_default(),
        mutes: args.backing.mute.clone(),
        levels: settings.levels,
        sound_font: sound_font(&settings, out)?,
        accompaniment,
        sound: args.sound.choice()?,
        notes,
        foot,
        line: Vec::new(),
        turns,
    };
    plan.check()?;
    Ok(Planned { plan, read, settings, spread_ms })
}

/// The caution about hearing, before the first sound of a day.
fn caution(plan: &SessionPlan, takes: Option<&TakeFolder>) -> Option<&'static str> {
    let sounds = plan.sound != SoundChoice::Silent;
    let heard_today = takes.is_some_and(|takes| takes.any_of_day(ZonedDateTime::now().date()));
    (sounds && !heard_today).then_some(HEARING)
}

/// How often the form is played: as asked, as long as the file that is replayed, as the chart says, or once.
fn choruses(args: &PlayArgs, chart: &Chart, replayed: Option<&Replayed>) -> u16 {
    let of_file = replayed.map(|replayed| replayed.choruses);
    args.backing.times(args.band.head, of_file.or(chart.header().choruses).unwrap_or(1))
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

/// A take that was kept and judged.
struct Finished {
    ending: Ending,
    /// The review and the bytes of its file; none where it never came to bar 1.
    found: Option<(Review, Vec<u8>)>,
}

/// Keeps the take and judges it; there is no review of one that never came to bar 1.
fn finish(
    played: &Played,
    imprint: Imprint,
    keeping: Option<Keeping>,
    choices: &Choices,
    out: &mut Output,
) -> Result<Finished, Failure> {
    let bytes = take_bytes(played, imprint, choices.bare);
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
        let ending = ending_of(played).unwrap_or(Ending::Interrupted);
        return Ok(Finished { ending, found: None });
    };
    let question = Question { choices, chart: None, track: None, detail: Detail::Notes, bands: None };
    let answer = judge(&bytes, None, question).map_err(|error| Failure::bad_input(error.to_string()))?;
    let mut review = answer.review;
    review.source = Source { take: number, ..review.source };
    let name = number.map_or_else(|| "this take".to_owned(), |number| format!("take {number}"));
    tell_warnings(&review, &name, out);
    let kept = number.map_or(Ending::Store, |_| Ending::Fine);
    Ok(Finished { ending: ending_of(played).unwrap_or(kept), found: Some((review, bytes)) })
}

/// Says that the take could not be shown to its end.
pub(super) fn no_longer_shown(broke: &ViewBroke) -> String {
    let why = match broke.kind {
        ErrorKind::BrokenPipe => "nobody reads it any more".to_owned(),
        ErrorKind::Other => broke.why.clone(),
        kind => in_words(&kind.into()),
    };
    format!("The take could no longer be shown ({why}): stopped.")
}

/// How the run ends by the playing alone: stopped from outside, or because it could no longer be shown. A reader that
/// had enough is no trouble.
pub(super) fn ending_of(played: &Played) -> Option<Ending> {
    match (&played.view, played.stopped) {
        (_, Stopped::Interrupted(_)) => Some(Ending::Interrupted),
        (Err(broke), _) if broke.kind == ErrorKind::BrokenPipe => Some(Ending::Fine),
        (Err(_), _) => Some(Ending::Store),
        (Ok(()), _) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::Part;
    use crate::command::values::TempoChoice;
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
        assert_eq!(args.backing.tempo, Some(TempoChoice::Bpm("116".parse().expect("a tempo"))));
        assert_eq!(parsed::<PlayArgs>(&["a.bars", "--tempo", "next"]).backing.tempo, Some(TempoChoice::Next));
        assert_eq!(args.backing.key.map(|key| key.to_string()).as_deref(), Some("F# minor"));
        assert_eq!(args.backing.mute, [Part::Ride, Part::Bass]);
        assert_eq!(args.backing.bars.map(|bars| bars.last().get()), Some(8));
    }

    #[test]
    fn slips_name_the_flag_and_what_to_write() {
        check_refusal(&["--tempo", "0"], "'--tempo <BPM>': a tempo is quarter notes a minute, 20 to 400");
        check_refusal(&["--tempo", "999"], "20 to 400");
        check_refusal(&["--bars", "9-4"], "'--bars <FIRST-LAST>': the first bar stands first: 4-9");
        check_refusal(&["--key", "H"], "\"H\" is no key: write the tonic, A to G");
        check_refusal(&["--mute", "kazoo"], "possible values: bass, comp, ride, hat, kick, click");
        check_refusal(&["--trade", "0"], "bars are traded 1 to 32 at a time, as in 4");
        check_refusal(&["--seed", "x"], "a seed is a whole number from 0, as in 7");
        check_refusal(&["--choruses", "0"], "choruses are 1 to 999");
    }

    #[test]
    fn notes_come_from_one_place_and_sound_goes_to_one() {
        check_refusal(&["--midi-file", "a.mid", "--midi-from", "piano"], "cannot be used with");
        check_refusal(&["--no-audio", "--audio-host", "jack"], "cannot be used with");
        check_refusal(&["--no-audio", "--audio-device", "usb"], "cannot be used with");
    }
}
