//! `soundcheck --listen` and `--learn-foot`: what instruments send, as it comes.

use std::io::IsTerminal;
use std::path::Path;
use std::time::Duration;

use ratatui::crossterm::event::KeyCode;

use crate::command::exit_status::{Ending, Failure};
use crate::command::load;
use crate::command::one_input::one_input;
use crate::command::output::Output;
use crate::live::devices::InputNews;
use crate::live::listening::{Heard, Listening};
use crate::live::{FileStart, FootSwitch, NotesChoice, ShortMessage, SoundChoice, StampedMessage};
use crate::report::OutputForm;
use crate::screen::input::Keys;
use crate::store::device_facts::{DeviceFacts, FootFact};
use crate::store::settings::Settings;
use crate::store::takes::FOLDER_VARIABLE;
use crate::take::MidiFile;
use crate::take::note::Note;
use crate::time::{NanoSpan, Nanos};

use super::SoundcheckArgs;
use super::heard::{HEADINGS, HeardSoFar, row};

/// The widths of the columns on a terminal.
const WIDTHS: [usize; 8] = [8, 7, 6, 4, 5, 8, 6, 9];
/// How long a foot is waited for.
const PATIENCE: NanoSpan = NanoSpan::millis(20_000);
/// A switch that has not come up this long after it went down stays where it is put.
const COMES_UP: NanoSpan = NanoSpan::millis(2_000);

/// Shows notes as they come, until `q` and Enter, a signal, or the end of a file.
pub fn listen(args: &SoundcheckArgs, settings: &Settings, out: &mut Output) -> Result<Ending, Failure> {
    if out.form() == OutputForm::Json {
        return Err(Failure::bad_input("--listen prints a row a note as it comes: leave --json out"));
    }
    let mut listening = begin(args, out)?;
    let mut so_far = HeardSoFar::new(settings.choices().cleaning);
    let keys = if std::io::stdin().is_terminal() && args.midi_file.is_none() {
        out.remark("Play. q and Enter, or Ctrl-C, ends.");
        Keys::listen().ok()
    } else {
        None
    };
    out.text(&line(&HEADINGS.map(str::to_owned), out.form()))?;
    let mut last = Nanos::ZERO;
    loop {
        match listening.hear() {
            Heard::Message(message) => {
                last = last.max(message.at);
                so_far.take(&message);
                continue;
            }
            Heard::Input(news) => tell(&news, out),
            Heard::Nothing => show(&so_far.settled(listening.now()), out)?,
            Heard::Over => {
                let after_all = listening.now().max(last) + PATIENCE;
                show(&so_far.settled(after_all), out)?;
                return Ok(Ending::Fine);
            }
        }
        let pressed = keys.as_ref().and_then(|keys| keys.next(Duration::ZERO));
        if pressed.is_some_and(|key| key.code == KeyCode::Char('q')) {
            return Ok(Ending::Fine);
        }
    }
}

/// Opens the ear: on a file, or on the inputs asked for.
fn begin(args: &SoundcheckArgs, out: &mut Output) -> Result<Listening, Failure> {
    let notes = match (&args.midi_file, &args.midi_from) {
        (Some(path), _) => NotesChoice::File { from: FileStart::CountIn, messages: messages_of(path)? },
        (None, Some(name)) => NotesChoice::PortsNamed(name.clone()),
        (None, None) => NotesChoice::Ports,
    };
    let (listening, said) = Listening::begin(&SoundChoice::Device(args.sound.names()), &notes)?;
    for sentence in said {
        out.remark(&sentence);
    }
    Ok(listening)
}

/// Opens the ear on one device, or on the file that stands for it.
pub(super) fn begin_with(
    device: &str,
    args: &SoundcheckArgs,
    out: &mut Output,
) -> Result<Listening, Failure> {
    begin(&SoundcheckArgs { midi_from: Some(device.to_owned()), ..args.clone() }, out)
}

/// The device that something is learnt about.
pub(super) fn device_of(args: &SoundcheckArgs, facts: &DeviceFacts) -> Result<String, Failure> {
    match (&args.midi_file, &args.midi_from) {
        (Some(_), Some(name)) => Ok(name.clone()),
        (Some(_), None) => Err(Failure::bad_input("--midi-file: --midi-from NAME says whose file it is")),
        (None, wanted) => one_input(wanted.as_deref(), args.sound.audio_host.as_deref(), facts),
    }
}

fn messages_of(path: &Path) -> Result<Vec<(Nanos, ShortMessage)>, Failure> {
    let failed = |why: String| Failure::bad_input(format!("{}: {why}", path.display()));
    let midi = MidiFile::parse(&load::midi_bytes(path)?).map_err(|error| failed(error.to_string()))?;
    let track = midi.solo_track(None).map_err(|error| failed(error.to_string()))?;
    let messages = midi.tracks[track].messages.iter();
    Ok(messages.filter_map(|timed| Some((timed.at, ShortMessage::new(timed.message.wire())?))).collect())
}

fn tell(news: &InputNews, out: &mut Output) {
    match news {
        InputNews::Come(name) => out.remark(&format!("{name} is heard.")),
        InputNews::Gone(name) => out.remark(&format!("{name} gone; waiting.")),
    }
}

fn show(notes: &[Note], out: &mut Output) -> Result<(), Failure> {
    for note in notes {
        let text = line(&row(note), out.form());
        let struck_out = note.left_out.is_some() && out.form().ink() != crate::report::Ink::Plain;
        let style = if struck_out { anstyle::Style::new().strikethrough() } else { anstyle::Style::new() };
        out.text(&format!("{style}{}{style:#}\n", text.trim_end()))?;
    }
    Ok(())
}

/// A row: aligned on a terminal, separated by tabs elsewhere.
fn line(cells: &[String; 8], form: OutputForm) -> String {
    match form {
        OutputForm::Terminal { .. } => format!("{}\n", aligned(cells)),
        OutputForm::Piped { .. } | OutputForm::Json => format!("{}\n", cells.join("\t")),
    }
}

/// A row as a terminal shows it.
pub fn aligned(cells: &[String; 8]) -> String {
    let padded = cells.iter().zip(WIDTHS).map(|(cell, width)| format!("{cell:>width$}"));
    padded.collect::<Vec<_>>().join("  ").trim_end().to_owned()
}

/// Learns which controller the player's foot works, and remembers it for the device.
pub fn learn_foot(args: &SoundcheckArgs, out: &mut Output) -> Result<Ending, Failure> {
    let mut facts = DeviceFacts::of_user(std::env::var_os(FOLDER_VARIABLE))?;
    let device = device_of(args, &facts)?;
    let mut listening = begin_with(&device, args, out)?;
    out.remark("Press the foot switch once, and let it go.");
    let mut press = Press::default();
    let foot = loop {
        let (now, is_over) = match listening.hear() {
            Heard::Message(message) => {
                press.hear(&message);
                (message.at, false)
            }
            Heard::Over => (listening.now().max(press.last) + PATIENCE, true),
            Heard::Input(_) | Heard::Nothing if args.midi_file.is_some() => (press.last, false),
            Heard::Input(_) | Heard::Nothing => (listening.now(), false),
        };
        if let Some(foot) = press.learnt(now) {
            break foot;
        }
        if is_over || now > Nanos::ZERO + PATIENCE {
            let nothing =
                "no switch was heard: a foot switch sends a controller. Is it plugged into the instrument?";
            return Err(Failure::device(nothing));
        }
    };
    facts.learn(&device, |fact| fact.foot = Some(foot))?;
    let FootFact { channel, controller, latching } = foot;
    let held = if latching {
        "It stays where it is put, so it cannot be held."
    } else {
        "Held for a second it stops at once."
    };
    out.remark(&format!(
        "Learnt for {device}: controller {controller} on channel {channel}. In play a press stops at the end of the chorus. {held}"
    ));
    Ok(Ending::Fine)
}

/// A press of a foot switch, as far as it was heard.
#[derive(Clone, Copy, Debug, Default)]
struct Press {
    /// Channel, controller, and when it went down.
    down: Option<(u8, u8, Nanos)>,
    came_up: bool,
    last: Nanos,
}

impl Press {
    fn hear(&mut self, message: &StampedMessage) {
        self.last = self.last.max(message.at);
        match (FootSwitch::told(message.message.bytes()), self.down) {
            (Some((channel, controller, true)), None) => self.down = Some((channel, controller, message.at)),
            (Some((channel, controller, false)), Some((own_channel, own, _))) => {
                self.came_up |= (channel, controller) == (own_channel, own);
            }
            _ => {}
        }
    }

    /// What is known by `now`: once it has come up, or has not for so long that it will not.
    fn learnt(&self, now: Nanos) -> Option<FootFact> {
        let (channel, controller, since) = self.down?;
        let stays = now - since > COMES_UP;
        let known = self.came_up || stays;
        known.then_some(FootFact { channel: channel + 1, controller, latching: !self.came_up })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn learnt(sent: &[(i64, [u8; 3])], until_ms: i64) -> Option<FootFact> {
        let mut press = Press::default();
        for &(ms, bytes) in sent {
            let message = ShortMessage::new(&bytes).expect("a message");
            press.hear(&StampedMessage { at: Nanos(ms * 1_000_000), message });
        }
        press.learnt(Nanos(until_ms * 1_000_000))
    }

    #[test]
    fn a_switch_is_known_when_it_comes_up_and_one_that_does_not_stays_where_it_is_put() {
        let (down, up) = ((100, [0xb1, 66, 127]), (300, [0xb1, 66, 0]));
        let fact = FootFact { channel: 2, controller: 66, latching: false };
        assert_eq!(learnt(&[down, up], 301), Some(fact));
        assert_eq!(learnt(&[down], 1_000), None, "it may still come up");
        assert_eq!(learnt(&[down], 2_200), Some(FootFact { latching: true, ..fact }));
        assert_eq!(
            learnt(&[(0, [0x90, 60, 90]), (1, [0xb1, 66, 10])], 9_000),
            None,
            "a note, and a pedal at rest"
        );
    }
}
