//! How a run ends: every error of every room, with its exit code and a hint, in this one place.

use std::io::{self, Write};

use super::load::NotLoaded;
use crate::chart::slip::Ink as ChartInk;
use crate::live::LiveError;
use crate::report::schema::UnknownDocument;
use crate::store::error_words::in_words;
use crate::store::everything::NotWhole;
use crate::store::index::IndexError;
use crate::store::journal::JournalError;
use crate::store::settings::SettingsFileError;
use crate::store::settings::place::NoHome;
use crate::store::settings::sources::SourcesError;
use crate::store::settings::table::{NotAccepted, UnknownSetting};
use crate::store::sound_font_file::SoundFontFileError;
use crate::store::takes::NotKept;

/// The ways a run can end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// All went well; also when the reader of a pipe had enough.
    Fine,
    /// A check ran and the target is clearly not met.
    NotMet,
    /// A command line or an input that is not understood.
    BadInput,
    /// A device that is not there.
    Device,
    /// Trouble with files of the program's own.
    Store,
    /// A check ran and there is no verdict: too few notes, or undecided.
    NoVerdict,
    /// Stopped from outside.
    Interrupted,
}

impl Ending {
    /// All of them, in the order of their codes.
    pub const ALL: [Self; 7] = [
        Self::Fine,
        Self::NotMet,
        Self::BadInput,
        Self::Device,
        Self::Store,
        Self::NoVerdict,
        Self::Interrupted,
    ];

    /// The exit code.
    pub const fn code(self) -> u8 {
        match self {
            Self::Fine => 0,
            Self::NotMet => 1,
            Self::BadInput => 2,
            Self::Device => 3,
            Self::Store => 4,
            Self::NoVerdict => 5,
            Self::Interrupted => 130,
        }
    }

    /// What it means, in words.
    pub const fn meaning(self) -> &'static str {
        match self {
            Self::Fine => "fine",
            Self::NotMet => "a check ran: clearly not met",
            Self::BadInput => "usage or bad input",
            Self::Device => "a device is not available",
            Self::Store => "settings or takes could not be read or written",
            Self::NoVerdict => "a check ran: no verdict (too few notes, or undecided)",
            Self::Interrupted => "interrupted",
        }
    }
}

/// The exit codes as help prints them.
pub fn explained() -> String {
    let line = |ending: Ending| format!("  {:>3}  {}\n", ending.code(), ending.meaning());
    let codes: String = Ending::ALL.into_iter().map(line).collect();
    format!("Exit codes:\n{codes}")
}

/// Why a run could not do what was asked: how it ends, the words, and what to try.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failure {
    ending: Ending,
    speaker: Speaker,
    message: String,
    hint: Option<&'static str>,
}

/// Who is named before the message.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Speaker {
    /// The program.
    Program,
    /// Nobody: each line of the message names its own file and place.
    Places,
}

impl Failure {
    /// Slips in a file, each with its file, line and column.
    pub fn slips(message: impl Into<String>) -> Self {
        Self { speaker: Speaker::Places, ..Self::bad_input(message) }
    }

    /// A command line or an input that is not understood; the message says what, where, and what to type instead.
    pub fn bad_input(message: impl Into<String>) -> Self {
        Self { speaker: Speaker::Program, ending: Ending::BadInput, message: message.into(), hint: None }
    }

    /// A device that is not there.
    pub fn device(message: impl Into<String>) -> Self {
        let hint =
            Some("--no-audio plays on with the visible beat; --midi-file F plays a file as if you did");
        Self { speaker: Speaker::Program, ending: Ending::Device, message: message.into(), hint }
    }

    /// The player or a signal ended the program: nothing more is said.
    pub const fn interrupted() -> Self {
        Self { speaker: Speaker::Program, ending: Ending::Interrupted, message: String::new(), hint: None }
    }

    /// Trouble with files of the program's own.
    pub fn store(message: impl Into<String>) -> Self {
        Self { speaker: Speaker::Program, ending: Ending::Store, message: message.into(), hint: None }
    }

    /// The failure with a hint on what to try.
    #[must_use]
    pub fn with_hint(self, hint: &'static str) -> Self {
        Self { hint: Some(hint), ..self }
    }

    /// The failure with what it is about before its message.
    #[must_use]
    pub fn named(self, what: &str) -> Self {
        Self { message: format!("{what}: {}", self.message), ..self }
    }

    /// What went wrong, in words.
    pub fn message(&self) -> &str {
        &self.message
    }

    /// How the run ends.
    pub const fn ending(&self) -> Ending {
        self.ending
    }

    /// Says what went wrong, in words, to `stderr`. A pipe that was closed is no news.
    pub fn explain(&self, stderr: &mut impl Write) {
        if matches!(self.ending, Ending::Fine | Ending::Interrupted) {
            return;
        }
        let hint = self.hint.map_or_else(String::new, |hint| format!("  {hint}\n"));
        // When even stderr is closed there is nobody left to tell; the exit code still says it.
        let speaker = if self.speaker == Speaker::Program { "barwise: " } else { "" };
        let _ = write!(stderr, "{speaker}{}\n{hint}", self.message.trim_end());
    }
}

/// Writing a result: a reader that had enough ends the run quietly; anything else is told.
impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::BrokenPipe => {
                Self { speaker: Speaker::Program, ending: Ending::Fine, message: String::new(), hint: None }
            }
            _ => Self::store(format!("the result cannot be written: {}", in_words(&error))),
        }
    }
}

impl From<SettingsFileError> for Failure {
    fn from(error: SettingsFileError) -> Self {
        let message = error.to_string();
        match error {
            SettingsFileError::Syntax(_) => Self::slips(message),
            SettingsFileError::Missing { .. }
            | SettingsFileError::TooLarge { .. }
            | SettingsFileError::NotText { .. } => Self::bad_input(message),
            SettingsFileError::Unreadable { .. } | SettingsFileError::Unwritable { .. } => {
                Self::store(message)
            }
        }
    }
}

impl From<NoHome> for Failure {
    fn from(error: NoHome) -> Self {
        Self::store(error.to_string())
    }
}

impl From<SourcesError> for Failure {
    fn from(error: SourcesError) -> Self {
        Self::bad_input(error.to_string())
    }
}

impl From<NotAccepted> for Failure {
    fn from(error: NotAccepted) -> Self {
        Self::bad_input(error.to_string())
    }
}

impl From<UnknownSetting> for Failure {
    fn from(error: UnknownSetting) -> Self {
        Self::bad_input(error.to_string()).with_hint("barwise settings lists them all")
    }
}

impl From<NotLoaded> for Failure {
    fn from(error: NotLoaded) -> Self {
        match error {
            NotLoaded::Chart(errors) => Self::slips(errors.render(ChartInk::Plain)),
            NotLoaded::Assignment(slip) => Self::slips(slip.to_string()),
            error => Self::bad_input(error.to_string()),
        }
    }
}

impl From<NotKept> for Failure {
    fn from(error: NotKept) -> Self {
        match error {
            NotKept::NoTake { .. } | NotKept::NotInBin { .. } | NotKept::NoTakes => {
                Self::bad_input(error.to_string())
            }
            NotKept::NoHome | NotKept::Unreadable { .. } | NotKept::Unwritable { .. } => {
                Self::store(error.to_string())
            }
        }
    }
}

/// Whatever is wrong with it, nothing was played yet, and the backing sounds without it.
impl From<SoundFontFileError> for Failure {
    fn from(error: SoundFontFileError) -> Self {
        Self::bad_input(error.to_string()).with_hint("--soundfont none plays with barwise's own voices")
    }
}

impl From<IndexError> for Failure {
    fn from(error: IndexError) -> Self {
        match error {
            IndexError::Takes(error) => error.into(),
            error @ (IndexError::Journal(_) | IndexError::Broken(_)) => Self::store(error.to_string()),
        }
    }
}

impl From<JournalError> for Failure {
    fn from(error: JournalError) -> Self {
        Self::store(error.to_string())
    }
}

impl From<NotWhole> for Failure {
    fn from(error: NotWhole) -> Self {
        match error {
            NotWhole::Taken(_) => Self::bad_input(error.to_string()),
            NotWhole::File { .. } => Self::store(error.to_string()),
        }
    }
}

impl From<LiveError> for Failure {
    fn from(error: LiveError) -> Self {
        match error {
            LiveError::NoBars | LiveError::TooLong { .. } | LiveError::Tempo { .. } => {
                Self::bad_input(error.to_string())
            }
            LiveError::Signals(_) | LiveError::Thread(_) | LiveError::Broken => {
                Self::device(error.to_string())
            }
        }
    }
}

impl From<UnknownDocument> for Failure {
    fn from(error: UnknownDocument) -> Self {
        Self::bad_input(error.to_string())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn explained_by(failure: &Failure) -> String {
        let mut told = Vec::new();
        failure.explain(&mut told);
        String::from_utf8(told).expect("words")
    }

    #[test]
    fn codes_are_apart_and_in_order() {
        let codes: Vec<u8> = Ending::ALL.iter().map(|ending| ending.code()).collect();
        assert_eq!(codes, [0, 1, 2, 3, 4, 5, 130]);
    }

    #[test]
    fn help_lists_every_code() {
        for ending in Ending::ALL {
            assert!(explained().contains(&format!("{:>3}  {}", ending.code(), ending.meaning())));
        }
    }

    #[test]
    fn a_closed_pipe_is_a_quiet_success() {
        let failure = Failure::from(io::Error::from(io::ErrorKind::BrokenPipe));
        assert_eq!(failure.ending(), Ending::Fine);
        assert_eq!(explained_by(&failure), "");
    }

    #[test]
    fn a_full_disk_is_told() {
        let failure = Failure::from(io::Error::from(io::ErrorKind::StorageFull));
        assert_eq!(failure.ending(), Ending::Store);
        assert_eq!(explained_by(&failure), "barwise: the result cannot be written: the disk is full\n");
    }

    #[test]
    fn a_hint_stands_below_the_message() {
        let told = explained_by(&Failure::bad_input("no such key").with_hint("try another"));
        assert_eq!(told, "barwise: no such key\n  try another\n");
    }
}
