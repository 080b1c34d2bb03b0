//! Which value wins: flag, then environment, then file, then default; and the memory of who said it.

use std::fmt;
use std::path::PathBuf;

use super::table::{self, NotAccepted};
use super::{Setting, Settings, SettingsFile, TABLE};

/// A setting given by a flag on the command line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Flag {
    /// The flag as typed: `--lenient`.
    pub flag: &'static str,
    /// The setting it gives.
    pub key: &'static str,
    /// The value.
    pub text: String,
}

/// Everything that can give a setting.
#[derive(Clone, Debug, Default)]
pub struct Sources {
    /// Flags, the strongest.
    pub flags: Vec<Flag>,
    /// Environment variables, names and values; those that name no setting are passed over.
    pub environment: Vec<(String, String)>,
    /// The settings file, if there is one.
    pub file: Option<SettingsFile>,
}

/// Where a value comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Origin {
    /// Nobody set it.
    Default,
    /// The settings file.
    File(PathBuf),
    /// An environment variable.
    Environment(String),
    /// A flag.
    Flag(&'static str),
}

/// Prints `default`, the file, the variable or the flag.
impl fmt::Display for Origin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Default => f.write_str("default"),
            Self::File(path) => path.display().fmt(f),
            Self::Environment(variable) => f.write_str(variable),
            Self::Flag(flag) => f.write_str(flag),
        }
    }
}

/// Why a source could not be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{origin}: {slip}")]
pub struct SourcesError {
    origin: Origin,
    slip: NotAccepted,
}

/// Settings with the origin of each.
#[derive(Clone, Debug)]
pub struct Resolved {
    /// The values.
    pub settings: Settings,
    origins: Vec<Origin>,
}

impl Resolved {
    /// Each setting in the order they are listed, with the origin of its value.
    pub fn with_origins(&self) -> impl Iterator<Item = (&'static Setting, &Origin)> {
        TABLE.iter().zip(&self.origins)
    }
}

impl Sources {
    /// The settings that result, each from the strongest source that gives it. A bad value is an error also where a
    /// stronger source overrules it.
    pub fn resolve(&self) -> Result<Resolved, SourcesError> {
        let mut resolved =
            Resolved { settings: Settings::default(), origins: vec![Origin::Default; TABLE.len()] };
        for (row, setting) in TABLE.iter().enumerate() {
            for (origin, text) in self.weakest_first(setting) {
                let set = setting.set(&mut resolved.settings, text);
                set.map_err(|slip| SourcesError { origin: origin.clone(), slip })?;
                resolved.origins[row] = origin;
            }
        }
        Ok(resolved)
    }

    /// The settings that result where a take brings those of its day: they win over everything but a flag. A value that is
    /// no longer taken is passed over.
    pub fn resolve_for_take(
        &self,
        stored: &serde_json::Map<String, serde_json::Value>,
    ) -> Result<Settings, SourcesError> {
        let mut settings = self.resolve()?.settings;
        for setting in TABLE.iter().filter(|setting| setting.changes_figures) {
            let flagged = self.flags.iter().any(|flag| flag.key == setting.key);
            if let Some(text) = stored.get(setting.key).filter(|_| !flagged).and_then(typed) {
                // On error nothing changes, which is what is wanted.
                let _ = setting.set(&mut settings, &text);
            }
        }
        Ok(settings)
    }

    /// What the sources say about one setting, the strongest last.
    fn weakest_first(&self, setting: &Setting) -> Vec<(Origin, &str)> {
        let variable = setting.variable();
        let file = self.file.iter().flat_map(|file| {
            let values = file.values().iter().filter(|(key, _)| *key == setting.key);
            values.map(|(_, text)| (Origin::File(file.path().to_owned()), text.as_str()))
        });
        let environment =
            self.environment.iter().filter(|(name, text)| *name == variable && !text.is_empty());
        let environment = environment.map(|(name, text)| (Origin::Environment(name.clone()), text.as_str()));
        let flags = self.flags.iter().filter(|flag| flag.key == setting.key);
        let flags = flags.map(|flag| (Origin::Flag(flag.flag), flag.text.as_str()));
        file.chain(environment).chain(flags).collect()
    }
}

/// A value of a document as the player would type it.
pub(super) fn typed(value: &serde_json::Value) -> Option<String> {
    match value {
        serde_json::Value::String(text) => Some(text.clone()),
        serde_json::Value::Bool(on) => Some(if *on { "on" } else { "off" }.to_owned()),
        serde_json::Value::Number(number) => Some(number.to_string()),
        _ => None,
    }
}

impl Resolved {
    /// Where the value of `key` comes from; `None` for no setting.
    pub fn origin(&self, key: &str) -> Option<&Origin> {
        let sought = table::find(key).ok()?;
        self.with_origins().find(|(setting, _)| setting.key == sought.key).map(|(_, origin)| origin)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    fn flag(text: &str) -> Vec<Flag> {
        vec![Flag { flag: "--swing", key: "swing", text: text.to_owned() }]
    }

    fn environment(text: &str) -> Vec<(String, String)> {
        vec![("BARWISE_SWING".to_owned(), text.to_owned()), ("BARWISE_UNKNOWN".to_owned(), "1".to_owned())]
    }

    fn file(text: &str) -> Option<SettingsFile> {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let path = folder.path().join("settings.toml");
        fs::write(&path, text).expect("a file");
        SettingsFile::read(&path).expect("a good file")
    }

    fn swing(sources: &Sources) -> (f64, String) {
        let resolved = sources.resolve().expect("good sources");
        let origin = resolved.origin("swing").expect("a setting").to_string();
        (resolved.settings.swing, origin.rsplit('/').next().unwrap_or_default().to_owned())
    }

    #[test]
    fn a_flag_beats_the_environment_beats_the_file_beats_the_default() {
        let mut sources = Sources::default();
        assert_eq!(swing(&sources), (0.7, "default".to_owned()));
        sources.file = file("swing = 0.1");
        assert_eq!(swing(&sources), (0.1, "settings.toml".to_owned()));
        sources.environment = environment("0.2");
        assert_eq!(swing(&sources), (0.2, "BARWISE_SWING".to_owned()));
        sources.flags = flag("0.3");
        assert_eq!(swing(&sources), (0.3, "--swing".to_owned()));
    }

    #[test]
    fn an_empty_variable_is_as_good_as_none() {
        let sources = Sources { environment: environment(""), ..Sources::default() };
        assert_eq!(swing(&sources), (0.7, "default".to_owned()));
    }

    #[test]
    fn a_bad_value_names_its_source_even_when_overruled() {
        let sources = Sources { environment: environment("much"), flags: flag("0.3"), ..Sources::default() };
        let message = sources.resolve().expect_err("a bad value").to_string();
        assert_eq!(message, "BARWISE_SWING: swing is a number from 0 to 1, not \"much\"");
    }
}
