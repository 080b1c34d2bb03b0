//! The settings file: TOML, one `key = value` a line, read with places for its errors and changed with its comments kept.

use std::fs;
use std::io::{self, Read};
use std::ops::Range;
use std::path::{Path, PathBuf};

use toml_edit::{Document, DocumentMut, Item};

use super::Settings;
use super::table::{self, NotAccepted, Setting, UnknownSetting};
use crate::store::in_words::in_words;
use crate::store::replace;

/// The largest settings file that is read, in bytes; a full one has about two thousand.
pub const LARGEST: u64 = 64 * 1024;

/// Why a settings file could not be used.
#[derive(Debug, thiserror::Error)]
pub enum SettingsFileError {
    /// There is no file where the player said.
    #[error("{}: no such settings file. Without --config the usual one is read", path.display())]
    Missing {
        /// Where it was looked for.
        path: PathBuf,
    },
    /// The file is there and cannot be read.
    #[error("{}: cannot be read: {}", path.display(), in_words(source))]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The file is larger than [`LARGEST`].
    #[error("{}: more than {LARGEST} bytes, which no settings file needs", path.display())]
    TooLarge {
        /// The file.
        path: PathBuf,
    },
    /// The file is no text.
    #[error("{}: no UTF-8 text. A settings file has one setting a line: counting = \"lenient\"", path.display())]
    NotText {
        /// The file.
        path: PathBuf,
    },
    /// Something in the file is not understood.
    #[error("{}:{line}:{column}: {slip}", path.display())]
    Slip {
        /// The file.
        path: PathBuf,
        /// The line, from 1.
        line: usize,
        /// The column in characters, from 1.
        column: usize,
        /// What is not understood, and what to write instead.
        slip: Box<Slip>,
    },
    /// The file cannot be written.
    #[error("{}: cannot be written: {}. Is the folder yours? --config F names another file", path.display(), in_words(source))]
    Unwritable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}

/// What is not understood in a settings file.
#[derive(Debug, thiserror::Error)]
pub enum Slip {
    /// It is not TOML.
    #[error("{0}. Write one setting a line: counting = \"lenient\"")]
    Syntax(String),
    /// No setting has this name.
    #[error(transparent)]
    Unknown(UnknownSetting),
    /// The value is none of those taken.
    #[error(transparent)]
    Value(NotAccepted),
    /// A table, a list or a date stands where a value should.
    #[error("{0} takes one value: {0} = {1}")]
    Shape(&'static str, String),
}

/// A settings file as it stands on disk: every value in it was found good.
#[derive(Clone, Debug)]
pub struct SettingsFile {
    path: PathBuf,
    document: DocumentMut,
    values: Vec<(&'static str, String)>,
}

impl SettingsFile {
    /// Reads the file at `path`; `None` where there is none.
    pub fn read(path: &Path) -> Result<Option<Self>, SettingsFileError> {
        match read_text(path) {
            Ok(Some(text)) => Self::from_text(path, &text).map(Some),
            Ok(None) => Err(SettingsFileError::TooLarge { path: path.to_owned() }),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) if error.kind() == io::ErrorKind::InvalidData => {
                Err(SettingsFileError::NotText { path: path.to_owned() })
            }
            Err(source) => Err(SettingsFileError::Unreadable { path: path.to_owned(), source }),
        }
    }

    /// A file that is not there yet.
    pub fn empty(path: &Path) -> Self {
        Self { path: path.to_owned(), document: DocumentMut::new(), values: Vec::new() }
    }

    fn from_text(path: &Path, text: &str) -> Result<Self, SettingsFileError> {
        let slip_at = |at: usize, slip: Slip| {
            let (line, column) = line_and_column(text, at);
            SettingsFileError::Slip { path: path.to_owned(), line, column, slip: Box::new(slip) }
        };
        let document = Document::parse(text).map_err(|error| slip_at(start(error.span()), syntax(&error)))?;
        let values = read_values(&document).map_err(|(at, slip)| slip_at(at, slip))?;
        Ok(Self { path: path.to_owned(), document: document.into_mut(), values })
    }

    /// Where it stands.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Its values in the order they are written, each as the player would type it.
    pub fn values(&self) -> &[(&'static str, String)] {
        &self.values
    }

    /// Writes the value that `setting` has in `settings`, keeping everything else in the file as it stands.
    pub fn write(&self, setting: &Setting, settings: &Settings) -> Result<(), SettingsFileError> {
        let mut document = self.document.clone();
        let mut value = toml_edit::Value::from(setting.value(settings));
        match document.get_mut(setting.key).and_then(Item::as_value_mut) {
            Some(old) => {
                *value.decor_mut() = old.decor().clone();
                *old = value;
            }
            None => {
                document.insert(setting.key, Item::Value(value));
            }
        }
        self.replace_with(&document)
    }

    /// Takes `setting` out of the file, so that its default holds again.
    pub fn remove(&self, setting: &Setting) -> Result<(), SettingsFileError> {
        let mut document = self.document.clone();
        if document.remove(setting.key).is_none() {
            return Ok(());
        }
        self.replace_with(&document)
    }

    fn replace_with(&self, document: &DocumentMut) -> Result<(), SettingsFileError> {
        replace::replace(&self.path, &document.to_string())
            .map_err(|source| SettingsFileError::Unwritable { path: self.path.clone(), source })
    }
}

/// The text of a file; `None` if it is larger than [`LARGEST`].
fn read_text(path: &Path) -> io::Result<Option<String>> {
    let mut text = String::new();
    let read = fs::File::open(path)?.take(LARGEST + 1).read_to_string(&mut text)?;
    Ok((read as u64 <= LARGEST).then_some(text))
}

/// The values of a file, or where and what its first slip is.
fn read_values(document: &Document<&str>) -> Result<Vec<(&'static str, String)>, (usize, Slip)> {
    let table = document.as_table();
    let mut values = Vec::new();
    for (written, item) in table {
        let key_at = start(table.key(written).and_then(toml_edit::Key::span));
        let setting = table::find(written).map_err(|error| (key_at, Slip::Unknown(error)))?;
        let Some(value) = item.as_value().and_then(typed) else {
            let example = toml_edit::Value::from(setting.value(&Settings::default())).to_string();
            return Err((key_at, Slip::Shape(setting.key, example)));
        };
        let mut scratch = Settings::default();
        setting.set(&mut scratch, &value).map_err(|error| (start(item.span()), Slip::Value(error)))?;
        values.push((setting.key, value));
    }
    Ok(values)
}

/// Where a span starts; the start of the file for what has no place.
fn start(span: Option<Range<usize>>) -> usize {
    span.map_or(0, |span| span.start)
}

/// A value as the player would type it; `None` for lists, tables and dates.
fn typed(value: &toml_edit::Value) -> Option<String> {
    use toml_edit::Value;
    match value {
        Value::String(text) => Some(text.value().clone()),
        Value::Integer(number) => Some(number.value().to_string()),
        Value::Float(number) => Some(number.value().to_string()),
        Value::Boolean(on) => Some(if *on.value() { "on" } else { "off" }.to_owned()),
        Value::Datetime(_) | Value::Array(_) | Value::InlineTable(_) => None,
    }
}

fn syntax(error: &toml_edit::TomlError) -> Slip {
    Slip::Syntax(error.message().lines().collect::<Vec<_>>().join(", "))
}

/// The line and the column, in characters and from 1, of a byte offset.
fn line_and_column(text: &str, at: usize) -> (usize, usize) {
    let before = text.get(..at).unwrap_or(text);
    let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
    (before.matches('\n').count() + 1, before[line_start..].chars().count() + 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::settings::Tuning;
    use proptest::prelude::*;

    fn read(text: &str) -> Result<SettingsFile, String> {
        SettingsFile::from_text(Path::new("s.toml"), text).map_err(|error| error.to_string())
    }

    fn check_slip(text: &str, expect: &str) {
        let message = read(text).expect_err("a slip");
        assert!(message.starts_with(expect), "{message}");
    }

    #[test]
    fn values_are_read_as_the_player_would_type_them() {
        let file = read("counting = \"lenient\"\nascii = true # here\nrun-share = 0.5\nbend-range = 12\n")
            .expect("a file");
        let expect = [("counting", "lenient"), ("ascii", "on"), ("run-share", "0.5"), ("bend-range", "12")];
        let expect: Vec<_> = expect.into_iter().map(|(key, value)| (key, value.to_owned())).collect();
        assert_eq!(file.values(), expect);
    }

    #[test]
    fn a_slip_is_shown_at_its_place_with_what_to_write() {
        check_slip(
            "# mine\ncountign = \"lenient\"",
            "s.toml:2:1: no setting \"countign\". Did you mean counting?",
        );
        check_slip(
            "ascii = true\ncounting = \"loose\"",
            "s.toml:2:12: counting is strict, lenient, not \"loose\"",
        );
        check_slip("swing = [1]", "s.toml:1:1: swing takes one value: swing = 0.7");
        check_slip("[swing]\na = 1", "s.toml:1:2: swing takes one value: swing = 0.7");
        check_slip("ascii = true\nswing = \n", "s.toml:2:9: ");
    }

    #[test]
    fn changing_a_value_keeps_comments_order_and_everything_else() {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let path = folder.path().join("settings.toml");
        fs::write(&path, "# mine\nswing   =  0.5   # stiff\n\nascii = true\n").expect("a file");
        let file = SettingsFile::read(&path).expect("a good file").expect("a file");
        let settings = Settings { swing: 0.6, ..Settings::default() };
        file.write(table::find("swing").expect("a setting"), &settings).expect("a write");
        let text = fs::read_to_string(&path).expect("the file");
        assert_eq!(text, "# mine\nswing   =  0.6   # stiff\n\nascii = true\n");
    }

    #[test]
    fn a_value_taken_out_leaves_the_rest() {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let path = folder.path().join("settings.toml");
        fs::write(&path, "swing = 0.5\n# signs\nascii = true\n").expect("a file");
        let file = SettingsFile::read(&path).expect("a good file").expect("a file");
        file.remove(table::find("swing").expect("a setting")).expect("a write");
        assert_eq!(fs::read_to_string(&path).expect("the file"), "# signs\nascii = true\n");
    }

    #[test]
    fn a_file_that_is_not_there_is_none_and_a_huge_or_binary_one_is_refused() {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let path = folder.path().join("settings.toml");
        assert!(SettingsFile::read(&path).expect("no error").is_none());
        fs::write(&path, [0xff, 0xfe]).expect("a file");
        assert!(matches!(SettingsFile::read(&path), Err(SettingsFileError::NotText { .. })));
        fs::write(&path, "#".repeat(LARGEST as usize + 1)).expect("a file");
        assert!(matches!(SettingsFile::read(&path), Err(SettingsFileError::TooLarge { .. })));
    }

    #[test]
    fn every_default_survives_the_file() {
        let line = |setting: &Setting| {
            format!("{} = {}\n", setting.key, toml_edit::Value::from(setting.value(&Settings::default())))
        };
        let text: String = table::TABLE.iter().map(line).collect();
        assert_eq!(read(&text).expect("a file").values().len(), table::TABLE.len());
        assert!(text.contains(&format!("tuning = \"{}\"", Tuning::standard())));
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused_with_a_place(text in "[a-z=\"\\[\\]{}.#0-9 \n-]{0,60}") {
            if let Err(message) = read(&text) {
                prop_assert!(message.starts_with("s.toml:"), "{}", message);
            }
        }
    }
}
