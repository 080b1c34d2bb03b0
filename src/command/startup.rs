//! What every command starts with: the settings, each from the strongest source that gives it.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use crate::judge::{Choices, KeptScales};
use crate::report::OutputForm;
use crate::store::journal::{Journal, JournalError, State};
use crate::store::kept_scales;
use crate::store::settings::place::{self, FOLDER_VARIABLE};
use crate::store::settings::{Flag, Resolved, Settings, SettingsFile, SettingsFileError, Slip, Sources};
use crate::store::takes;
use crate::theory::Written;

use super::Global;
use super::exit_status::Failure;
use super::output::Output;

/// The settings of this run and where they come from.
pub struct Startup {
    /// The settings file, there or not.
    pub path: PathBuf,
    /// Everything that gave a setting.
    pub sources: Sources,
    /// The settings with their origins.
    pub resolved: Resolved,
    /// What to write behind a command so that it takes the same file: ` --config F`, or nothing.
    config: String,
    /// What was entered that takes are counted by, once it was asked for.
    entered: Mutex<Option<CountedBy>>,
}

/// What a player has entered that takes are counted by.
#[derive(Clone, Default)]
struct CountedBy {
    /// Scales and keys kept for chords of charts.
    scales: Arc<KeptScales>,
    /// Notes brought back, by take.
    brought_back: Arc<BTreeMap<u32, BTreeSet<usize>>>,
}

/// What a command does with the settings file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FileUse {
    /// Lives by it. A file named with `--config` must be there, as a misspelled name must not pass for the defaults; and
    /// no value in it may be bad, as another in its place could change figures.
    Follow,
    /// Changes it: it may be missing, and what is wrong in it may be what is to be mended.
    Change,
}

impl Startup {
    /// Finds and reads the settings; `flags` are those that the command line gives.
    pub fn new(global: &Global, flags: Vec<Flag>, file_use: FileUse) -> Result<Self, Failure> {
        let path = match &global.config {
            Some(named) => named.clone(),
            None => place::settings_path(std::env::var_os(FOLDER_VARIABLE))?,
        };
        let file = SettingsFile::read(&path)?;
        if file.is_none() && global.config.is_some() && file_use == FileUse::Follow {
            return Err(SettingsFileError::Missing { path }.into());
        }
        let config = global.config.as_deref().map(config_flag).unwrap_or_default();
        if file_use == FileUse::Follow {
            refuse_bad_values(file.as_ref(), &config)?;
        }
        let sources = Sources { flags, environment: environment(), file };
        let resolved = sources.resolve()?;
        Ok(Self { path, sources, resolved, config, entered: Mutex::new(None) })
    }

    /// What the player keeps for chords of charts. Where it cannot be read that is said, once, and nothing is kept.
    pub fn kept(&self, out: &mut Output) -> Arc<KeptScales> {
        self.entered(out).scales
    }

    /// The notes that the player brought back, by take; none where that cannot be read, which is said, once.
    pub fn brought_back(&self, out: &mut Output) -> Arc<BTreeMap<u32, BTreeSet<usize>>> {
        self.entered(out).brought_back
    }

    fn entered(&self, out: &mut Output) -> CountedBy {
        let mut entered = self.entered.lock().unwrap_or_else(PoisonError::into_inner);
        let read = || match takes::data_folder(std::env::var_os(takes::FOLDER_VARIABLE)) {
            Ok(data) => CountedBy::read(&Journal::in_folder(&data)).unwrap_or_else(|why| {
                out.remark(&format!("{why}; no scale that you kept is counted by, and no note brought back"));
                CountedBy::default()
            }),
            // Without a folder of the player's nothing can be kept.
            Err(_) => CountedBy::default(),
        };
        entered.get_or_insert_with(read).clone()
    }

    /// Says that something was kept or taken out: it is read anew when it is asked for next.
    pub fn kept_has_changed(&self) {
        *self.entered.lock().unwrap_or_else(PoisonError::into_inner) = None;
    }

    /// Everything that a review is made with by these settings.
    pub fn choices(&self, settings: &Settings, out: &mut Output) -> Choices {
        Choices { kept: self.kept(out), ..settings.choices() }
    }

    /// For whom names are written in what is printed: documents stay in concert pitch.
    pub fn written(&self, out: &Output) -> Written {
        if out.form() == OutputForm::Json { Written::C } else { self.resolved.settings.written }
    }

    /// Says what is not understood in the settings file `file` and how to mend it.
    pub fn tell_slips(&self, file: Option<&SettingsFile>, out: &mut Output) {
        for slip in file.into_iter().flat_map(SettingsFile::slips) {
            out.remark(&with_remedy(slip, &self.config));
        }
    }
}

impl CountedBy {
    fn read(journal: &Journal) -> Result<Self, JournalError> {
        let state = State::replay(journal.read()?.records.iter().map(|(_, record)| record));
        Ok(Self {
            scales: Arc::new(kept_scales::of_state(&state)),
            brought_back: Arc::new(state.brought_back),
        })
    }
}

/// Refuses a file with a bad value for a setting there is.
fn refuse_bad_values(file: Option<&SettingsFile>, config: &str) -> Result<(), Failure> {
    let bad = file.into_iter().flat_map(SettingsFile::slips).filter(|slip| !slip.is_unknown());
    let said: Vec<String> = bad.map(|slip| with_remedy(slip, config)).collect();
    if said.is_empty() { Ok(()) } else { Err(Failure::slips(said.join("\n"))) }
}

/// A slip with the command that mends it.
fn with_remedy(slip: &Slip, config: &str) -> String {
    let slip_said = slip.to_string();
    let stop = if slip_said.ends_with('?') { "" } else { "." };
    let passed_over = if slip.is_unknown() { " The line is passed over." } else { "" };
    let remedy = match slip.key().filter(|key| is_typed_as_it_is(key)) {
        Some(key) => format!("barwise settings {key} --reset{config}"),
        None => "open the file in an editor".to_owned(),
    };
    format!("{slip_said}{stop}{passed_over} To take it out: {remedy}")
}

/// The flag that names a settings file, as it is typed.
fn config_flag(path: &Path) -> String {
    let path = path.display().to_string();
    if path.contains(char::is_whitespace) {
        format!(" --config \"{path}\"")
    } else {
        format!(" --config {path}")
    }
}

/// Whether a shell and the command line take `key` for nothing but a name.
fn is_typed_as_it_is(key: &str) -> bool {
    let plain = |sign: char| sign.is_ascii_alphanumeric() || sign == '-' || sign == '_';
    let is_command = ["schema", "help"].contains(&key);
    !key.is_empty() && key.len() <= 60 && !key.starts_with('-') && key.chars().all(plain) && !is_command
}

/// The variables of the environment that may give a setting. A value that is no Unicode stands with `U+FFFD` in it, so
/// that it is refused by name rather than passed over.
fn environment() -> Vec<(String, String)> {
    let text = |value: std::ffi::OsString| value.to_string_lossy().into_owned();
    let variables = std::env::vars_os().map(|(name, value)| (text(name), text(value)));
    variables.filter(|(name, _)| name.starts_with("BARWISE_")).collect()
}
