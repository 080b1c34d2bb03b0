//! `replay`: a take heard again over its backing, as it was played: whole, a few bars of it, at another tempo, alone.

use std::path::{Path, PathBuf};

use clap::Args;

use super::exit_status::{Ending, Failure};
use super::load;
use super::output::Output;
use super::play::tally_so_far::so_far;
use super::play::view::{ToShow, View, show};
use super::play::view_args::ViewArgs;
use super::play::{ending_of, no_longer_shown};
use super::review;
use super::sound_args::SoundArgs;
use super::startup::Startup;
use super::values::{BarRange, Tempo};
use super::voice_args::{VoiceArgs, sound_font};
use crate::band::{Accompaniment, ClickOn, CountInBars, Opening, Part, Seed};
use crate::judge::Choices;
use crate::judge::replay::{HeardAgain, Wanted};
use crate::live::keep::KeeperEnd;
use crate::live::{FileStart, NotesChoice, SessionPlan, ShortMessage};
use crate::report::cautions::HEARING;
use crate::screen::page::{Heading, Page};
use crate::store::settings::Settings;
use crate::take::clean::Latency;
use crate::take::imprint::BandPlayed;
use crate::take::{CleanSettings, Imprint, MidiFile};

/// What `replay` takes.
#[derive(Clone, Debug, PartialEq, Args)]
pub struct ReplayArgs {
    /// The take: its number, last, or the file of one
    #[arg(value_name = "TAKE")]
    pub take: PathBuf,
    /// These bars only: 5-8. Bars count as they were played
    #[arg(long, value_name = "FIRST-LAST")]
    pub bars: Option<BarRange>,
    /// One chorus only
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=999))]
    pub chorus: Option<u32>,
    /// Quarter notes a minute, instead of the take's own
    #[arg(long, value_name = "BPM")]
    pub tempo: Option<Tempo>,
    /// The line alone, without the band
    #[arg(long)]
    pub solo: bool,
    /// How it is shown
    #[command(flatten)]
    pub view: ViewArgs,
    /// How it sounds
    #[command(flatten)]
    pub voices: VoiceArgs,
    /// Where sound goes
    #[command(flatten)]
    pub sound: SoundArgs,
}

/// How a take is heard again.
#[derive(Clone, Debug, PartialEq)]
pub struct How<'a> {
    /// Quarter notes a minute, instead of the take's own.
    pub tempo: Option<Tempo>,
    /// Whether the line is alone, without the band.
    pub solo: bool,
    /// How it is shown.
    pub view: &'a ViewArgs,
    /// Where sound goes.
    pub sound: &'a SoundArgs,
}

/// Carries the command out.
pub fn run(args: &ReplayArgs, startup: &Startup, out: &mut Output) -> Result<Ending, Failure> {
    let (bytes, number) = loaded(&args.take, startup, out)?;
    let imprint = MidiFile::parse(&bytes).ok().and_then(|midi| Imprint::of(&midi));
    let of_day = imprint.map(|imprint| imprint.settings).unwrap_or_default();
    let settings = startup.sources.resolve_for_take(&of_day)?;
    let choices = startup.choices(&settings, out);
    let again = again(args, &bytes, &choices)?;
    let how = How { tempo: args.tempo, solo: args.solo, view: &args.view, sound: &args.sound };
    out.remark(HEARING);
    hear(&again, &how, number, (&settings, &choices), out)
}

/// Plays a take again, or a part of one, and shows it.
pub fn hear(
    again: &HeardAgain,
    how: &How<'_>,
    number: Option<u32>,
    (settings, choices): (&Settings, &Choices),
    out: &mut Output,
) -> Result<Ending, Failure> {
    let plan = plan(again, how, settings, out)?;
    let read = again.chords.written_for(settings.written);
    let heading = Heading {
        title: read.id.title.clone(),
        key: read.id.key.clone().unwrap_or_default(),
        written: read.id.written,
        feel_and_tempo: format!("{} {}", plan.feel, plan.bpm.round()),
        choruses: plan.choruses,
        take: number,
        caution: Some(HEARING),
        turns: plan.turns,
        ..Heading::default()
    };
    let page = Page::new(&read.form, &read.reading, heading).in_keys(&read.keys);
    let view = View::of(how.view, out);
    let opening = how.view.opening(settings, &plan.mutes);
    let imprint = Imprint { count_in_ticks: plan.count_in().length.0, ..again.imprint.clone() };
    // The lateness of the instrument is taken off its notes already.
    let on_time = CleanSettings { latency: Latency::default(), ..choices.cleaning.clone() };
    let choices = Choices { cleaning: on_time, ..choices.clone() };
    let mut so_far = so_far(imprint, plan.tempo(), &choices);
    let shown = ToShow { page: &page, opening: &opening, so_far: &mut so_far };
    let played = show(&plan, view, shown, KeeperEnd::nobody(), out)?;
    let said: &[String] = if view == View::Plain { &[] } else { &played.said };
    for sentence in said {
        out.remark(sentence);
    }
    if let Err(broke) = &played.view {
        out.remark(&no_longer_shown(broke));
    }
    Ok(ending_of(&played).unwrap_or(Ending::Fine))
}

/// The bytes of the take that is named, and its number where it is kept.
fn loaded(named: &Path, startup: &Startup, out: &mut Output) -> Result<(Vec<u8>, Option<u32>), Failure> {
    review::recover(std::slice::from_ref(&named.to_path_buf()), startup, out)?;
    match review::kept(named)? {
        Some(take) => {
            let bytes = load::midi_bytes(&take.path).map_err(|error| Failure::store(error.to_string()))?;
            Ok((bytes, Some(take.number)))
        }
        None => Ok((load::midi_bytes(named)?, None)),
    }
}

fn again(args: &ReplayArgs, bytes: &[u8], choices: &Choices) -> Result<HeardAgain, Failure> {
    let bars = args.bars.map(|bars| (bars.first().get(), bars.last().get()));
    let again = HeardAgain::of(bytes, Wanted { bars, chorus: args.chorus }, choices);
    again.map_err(|error| Failure::bad_input(format!("{}: {error}", args.take.display())))
}

/// The session that plays it: the band as it was, and the line over it, which the screen sees as if it were played now.
fn plan(
    again: &HeardAgain,
    how: &How<'_>,
    settings: &Settings,
    out: &mut Output,
) -> Result<SessionPlan, Failure> {
    let imprint = &again.imprint;
    let band = imprint.band.clone();
    let feel = imprint.feel.as_deref().and_then(|feel| feel.parse().ok()).or(again.chords.feel);
    let mut mutes: Vec<Part> =
        band.iter().flat_map(|band| &band.mute).filter_map(|word| word.parse().ok()).collect();
    if how.solo {
        mutes = Part::BAND.into_iter().filter(|&part| part != Part::Click).collect();
    }
    let usual_swing = (settings.swing * 100.0).round() as u8;
    let mut plan = SessionPlan {
        form: again.chords.form.clone(),
        reading: again.chords.reading.clone(),
        keys: again.chords.keys.clone(),
        bpm: how.tempo.map_or(again.bpm, Tempo::bpm),
        choruses: u16::try_from(again.choruses).unwrap_or(u16::MAX),
        feel: feel.unwrap_or_default(),
        swing_percent: band.as_ref().map_or(usual_swing, |band| band.swing_percent),
        seed: Seed(band.as_ref().map_or(0, |band| band.seed)),
        mutes,
        levels: settings.levels,
        sound_font: sound_font(settings, out)?,
        accompaniment: if how.solo { Accompaniment::default() } else { accompaniment(band.as_ref()) },
        sound: how.sound.choice()?,
        notes: NotesChoice::Nobody,
        foot: None,
        line: again.line(),
        turns: again.turns,
    };
    plan.check()?;
    let messages = again.messages(&plan.tempo()).into_iter();
    let messages = messages.filter_map(|(at, message)| Some((at, ShortMessage::new(message.wire())?)));
    plan.notes = NotesChoice::File { from: FileStart::BarOne, messages: messages.collect() };
    Ok(plan)
}

/// How the band played, as the take says; what this program does not read of it is left out.
fn accompaniment(band: Option<&BandPlayed>) -> Accompaniment {
    let Some(band) = band else { return Accompaniment::default() };
    Accompaniment {
        count_in: match band.count_in {
            Some(1) => CountInBars::One,
            Some(2) => CountInBars::Two,
            _ => CountInBars::ByTempo,
        },
        opening: if band.two_feel { Opening::TwoFeel } else { Opening::AsTheOthers },
        band_out: band.band_out.as_deref().and_then(|text| text.parse().ok()),
        click: band
            .click
            .as_deref()
            .and_then(|text| text.parse().ok())
            .map_or(ClickOn::CountInOnly, ClickOn::Alone),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::values::tests::{parsed, refused};
    use crate::demo;

    fn planned(flags: &[&str]) -> SessionPlan {
        let args = parsed::<ReplayArgs>(&[&["1", "--no-audio"], flags].concat());
        let again = again(&args, &demo::take().to_bytes(), &Choices::default()).expect("a take of ours");
        let settings = Settings::default();
        let out = &mut Output::of_this_process(&settings, false);
        let how = How { tempo: args.tempo, solo: args.solo, view: &args.view, sound: &args.sound };
        plan(&again, &how, &settings, out).expect("a plan")
    }

    #[test]
    fn the_line_and_what_the_screen_sees_are_the_same_notes() {
        let plan = planned(&["--bars", "9-12", "--tempo", "100"]);
        let NotesChoice::File { messages, .. } = &plan.notes else { panic!("messages") };
        assert_eq!(messages.len(), 2 * plan.line.len());
        let struck = messages.iter().find(|(_, message)| message.bytes()[0] & 0xf0 == 0x90).expect("a note");
        let first = plan.line.iter().min_by_key(|note| note.at).expect("a note");
        assert_eq!(struck.0, plan.tempo().nanos(first.at));
        assert_eq!((plan.bpm, plan.form.bars.len()), (100.0, 4));
    }

    #[test]
    fn alone_it_keeps_the_count_in() {
        let plan = planned(&["--solo"]);
        assert!(!plan.mutes.contains(&Part::Click));
        assert_eq!(plan.mutes.len(), Part::BAND.len() - 1);
    }

    #[test]
    fn the_band_plays_as_the_take_says() {
        let band = BandPlayed {
            two_feel: true,
            count_in: Some(1),
            band_out: Some("2/8".to_owned()),
            ..BandPlayed::default()
        };
        let found = accompaniment(Some(&band));
        assert_eq!((found.opening, found.count_in), (Opening::TwoFeel, CountInBars::One));
        assert_eq!(found.band_out.map(|out| out.to_string()).as_deref(), Some("2/8"));
        let click = BandPlayed { click: Some("2,4".to_owned()), ..BandPlayed::default() };
        assert!(matches!(accompaniment(Some(&click)).click, ClickOn::Alone(_)));
        assert_eq!(accompaniment(None), Accompaniment::default());
    }

    #[test]
    fn slips_name_the_flag() {
        assert!(refused::<ReplayArgs>(&["1", "--tempo", "5"]).contains("20 to 400"));
        assert!(refused::<ReplayArgs>(&["1", "--bars", "9-4"]).contains("the first bar stands first"));
    }
}
