//! What every command starts with: the settings, each from the strongest source that gives it.

use std::path::PathBuf;

use crate::store::settings::place::{self, FOLDER_VARIABLE};
use crate::store::settings::{Flag, Resolved, SettingsFile, SettingsFileError, Sources};

use super::Global;
use super::exit_status::Failure;

/// The settings of this run and where they come from.
pub struct Startup {
    /// The settings file, there or not.
    pub path: PathBuf,
    /// Everything that gave a setting.
    pub sources: Sources,
    /// The settings with their origins.
    pub resolved: Resolved,
}

/// What to do when the file named with `--config` is not there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum IfMissing {
    /// Say so: a misspelled name must not pass for the defaults.
    Refuse,
    /// Begin a new one.
    Create,
}

impl Startup {
    /// Finds and reads the settings; `flags` are those that the command line gives.
    pub fn new(global: &Global, flags: Vec<Flag>, if_missing: IfMissing) -> Result<Self, Failure> {
        let path = match &global.config {
            Some(named) => named.clone(),
            None => place::settings_path(std::env::var_os(FOLDER_VARIABLE))?,
        };
        let file = SettingsFile::read(&path)?;
        if file.is_none() && global.config.is_some() && if_missing == IfMissing::Refuse {
            return Err(SettingsFileError::Missing { path }.into());
        }
        let sources = Sources { flags, environment: environment(), file };
        let resolved = sources.resolve()?;
        Ok(Self { path, sources, resolved })
    }
}

/// The variables of the environment that may give a setting. A value that is no Unicode stands with `U+FFFD` in it, so
/// that it is refused by name rather than passed over.
fn environment() -> Vec<(String, String)> {
    let text = |value: std::ffi::OsString| value.to_string_lossy().into_owned();
    let variables = std::env::vars_os().map(|(name, value)| (text(name), text(value)));
    variables.filter(|(name, _)| name.starts_with("BARWISE_")).collect()
}
