//! The sound check on a screen, and what comes in.

use crate::command::exit_status::{Ending, Failure};
use crate::command::soundcheck::heard::{HEADINGS, HeardSoFar, row};
use crate::command::soundcheck::{SoundcheckArgs, listen, looked};
use crate::live::devices::InputNews;
use crate::live::listening::{Heard, Listening};
use crate::live::{NotesChoice, SoundChoice};
use crate::report::soundcheck::SoundcheckDocument;
use crate::screen::listen::{HeardRow, ListenScreen};
use crate::screen::soundcheck::{SoundcheckScreen, Wish};

use super::Visits;

/// Whether the sound device is heard to sound.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Click {
    Silent,
    Soft,
}

/// Shows the sound check until it is left. The first look is silent: the caution stands on the screen before anything
/// sounds.
pub fn visit(visits: &mut Visits<'_, '_>) -> Result<(), Failure> {
    let mut screen = SoundcheckScreen::new(look(visits, Click::Silent), visits.out.form());
    loop {
        match visits.show(&mut screen)? {
            Wish::Back => return Ok(()),
            Wish::Again => screen = SoundcheckScreen::new(look(visits, Click::Soft), visits.out.form()),
            Wish::Listen => match listen_in(visits) {
                Ok(()) => {}
                Err(failure) if failure.ending() == Ending::Interrupted => return Err(failure),
                Err(failure) => screen.say(failure.message()),
            },
        }
    }
}

fn look(visits: &mut Visits<'_, '_>, click: Click) -> SoundcheckDocument {
    let args = SoundcheckArgs {
        midi_from: match &visits.heard {
            NotesChoice::PortsNamed(name) => Some(name.clone()),
            NotesChoice::Ports | NotesChoice::File { .. } | NotesChoice::Nobody => None,
        },
        silent: click == Click::Silent,
        listen: false,
        learn_foot: false,
        learn_strings: false,
        learn_low_note: false,
        forget_low_note: false,
        midi_file: None,
        sound: visits.sound.clone(),
    };
    looked(&args, visits.startup, visits.out).0
}

/// Shows what comes in. Cues are notes here, and lead nowhere.
fn listen_in(visits: &mut Visits<'_, '_>) -> Result<(), Failure> {
    let sound = SoundChoice::Device(visits.sound.names());
    let (listening, said) = Listening::begin(&sound, &visits.heard)?;
    let heard = HeardSoFar::new(visits.startup.resolved.settings.choices().cleaning);
    let mut ear = Ear { listening, heard, said };
    let headings = listen::aligned(&HEADINGS.map(str::to_owned));
    let mut screen = ListenScreen::new(headings, Box::new(move || ear.since()));
    let inputs = std::mem::replace(&mut visits.heard, NotesChoice::Nobody);
    let shown = visits.show(&mut screen);
    visits.heard = inputs;
    shown
}

/// What comes in, as rows.
struct Ear {
    listening: Listening,
    heard: HeardSoFar,
    /// What is to be said before anything came.
    said: Vec<String>,
}

impl Ear {
    /// The rows that have come since it was asked last.
    fn since(&mut self) -> Vec<HeardRow> {
        let mut rows: Vec<HeardRow> = self.said.drain(..).map(HeardRow::Said).collect();
        loop {
            match self.listening.hear() {
                Heard::Message(message) => self.heard.take(&message),
                Heard::Input(InputNews::Come(name)) => rows.push(HeardRow::Said(format!("{name} is heard."))),
                Heard::Input(InputNews::Gone(name)) => {
                    rows.push(HeardRow::Said(format!("{name} gone; waiting.")));
                }
                Heard::Nothing | Heard::Over => break,
            }
        }
        let settled = self.heard.settled(self.listening.now());
        rows.extend(settled.iter().map(|note| {
            let text = listen::aligned(&row(note));
            if note.left_out.is_some() { HeardRow::LeftOut(text) } else { HeardRow::Note(text) }
        }));
        rows
    }
}
