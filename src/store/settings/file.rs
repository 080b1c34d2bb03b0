//! The settings file: TOML, one `key = value` a line, read with places for its errors and changed with its comments kept.

use std::fs;
use std::io::{self, Read};
use std::ops::Range;
use std::path::{Path, PathBuf};

use toml_edit::{Document, DocumentMut, Item};

use super::Settings;
use super::bad_line::{Fault, Slip};
use super::table::{self, Setting};
use crate::store::error_words::in_words;
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
    /// The file is no TOML.
    #[error(transparent)]
    Syntax(Box<Slip>),
    /// The file cannot be written.
    #[error("{}: cannot be written: {}. Is the folder yours? --config F names another file", path.display(), in_words(source))]
    Unwritable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}

/// A settings file as it stands on disk: the values found good, and what was not understood.
#[derive(Clone, Debug)]
pub struct SettingsFile {
    path: PathBuf,
    document: DocumentMut,
    values: Vec<(&'static str, String)>,
    slips: Vec<Slip>,
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
        Self { path: path.to_owned(), document: DocumentMut::new(), values: Vec::new(), slips: Vec::new() }
    }

    fn from_text(path: &Path, text: &str) -> Result<Self, SettingsFileError> {
        let document = Document::parse(text).map_err(|error| {
            let slip = Slip::at(start(error.span()), (path, text), None, syntax(&error));
            SettingsFileError::Syntax(Box::new(slip))
        })?;
        let mut file = Self::empty(path);
        for (key, item) in document.as_table() {
            match read_value(key, item) {
                Ok(value) => file.values.push(value),
                Err(fault) => {
                    let place = match fault {
                        Fault::Value(_) => item.span(),
                        _ => document.as_table().key(key).and_then(toml_edit::Key::span),
                    };
                    file.slips.push(Slip::at(start(place), (path, text), Some(key), fault));
                }
            }
        }
        Ok(Self { document: document.into_mut(), ..file })
    }

    /// Where it stands.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Its good values in the order they are written, each as the player would type it.
    pub fn values(&self) -> &[(&'static str, String)] {
        &self.values
    }

    /// What is not understood in it, in the order it is written.
    pub fn slips(&self) -> &[Slip] {
        &self.slips
    }

    /// Writes the value that `setting` has in `settings`, keeping everything else in the file as it stands.
    pub fn write(&self, setting: &Setting, settings: &Settings) -> Result<(), SettingsFileError> {
        let mut document = self.document.clone();
        let mut value = toml_edit::Value::from(setting.value(settings));
        if let Some(old) = document.get_mut(setting.key).and_then(Item::as_value_mut) {
            *value.decor_mut() = old.decor().clone();
            *old = value;
        } else {
            // What stands there is no value but a table: it goes with its header.
            document.remove(setting.key);
            document.insert(setting.key, Item::Value(value));
        }
        self.replace_with(&document)
    }

    /// Takes what is written under `key` out of the file, a setting or not; false if nothing is.
    pub fn remove(&self, key: &str) -> Result<bool, SettingsFileError> {
        let mut document = self.document.clone();
        if document.remove(key).is_none() {
            return Ok(false);
        }
        self.replace_with(&document)?;
        Ok(true)
    }

    fn replace_with(&self, document: &DocumentMut) -> Result<(), SettingsFileError> {
        let made = self.path.parent().map_or(Ok(()), fs::create_dir_all);
        made.and_then(|()| replace::replace(&self.path, &document.to_string()))
            .map_err(|source| SettingsFileError::Unwritable { path: self.path.clone(), source })
    }
}

/// The text of a file; `None` if it is larger than [`LARGEST`].
fn read_text(path: &Path) -> io::Result<Option<String>> {
    let mut text = String::new();
    let read = fs::File::open(path)?.take(LARGEST + 1).read_to_string(&mut text)?;
    Ok((read as u64 <= LARGEST).then_some(text))
}

/// The setting called `key` and its value, as the player would type it.
fn read_value(key: &str, item: &Item) -> Result<(&'static str, String), Fault> {
    let setting = table::find(key)?;
    let value = item.as_value().and_then(typed).ok_or_else(|| {
        let example = toml_edit::Value::from(setting.value(&Settings::default())).to_string();
        Fault::Shape(setting.key, example)
    })?;
    setting.set(&mut Settings::default(), &value)?;
    Ok((setting.key, value))
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

fn syntax(error: &toml_edit::TomlError) -> Fault {
    Fault::Syntax(error.message().lines().collect::<Vec<_>>().join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::neck::Tuning;
    use proptest::prelude::*;

    fn read(text: &str) -> Result<SettingsFile, String> {
        SettingsFile::from_text(Path::new("s.toml"), text).map_err(|error| error.to_string())
    }

    /// What is said about `text`, slip by slip.
    fn said(text: &str) -> Vec<String> {
        read(text).map_or_else(|error| vec![error], |file| file.slips().iter().map(Slip::to_string).collect())
    }

    /// The text of a file that held `text`, after a change.
    fn changed(text: &str, change: impl FnOnce(&SettingsFile)) -> String {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let path = folder.path().join("settings.toml");
        fs::write(&path, text).expect("a file");
        change(&SettingsFile::read(&path).expect("TOML").expect("a file"));
        fs::read_to_string(&path).expect("the file")
    }

    fn with_swing(text: &str, swing: f64) -> String {
        let settings = Settings { swing, ..Settings::default() };
        changed(text, |file| {
            file.write(table::find("swing").expect("a setting"), &settings).expect("written");
        })
    }

    fn without(text: &str, key: &str) -> String {
        changed(text, |file| assert!(file.remove(key).expect("written"), "{key} stands there"))
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
        let check = |text: &str, expect: &str| {
            let said = said(text);
            assert!(matches!(&said[..], [only] if only.starts_with(expect)), "{said:?}");
        };
        check(
            "# mine\ncountign = \"lenient\"",
            "s.toml:2:1: no setting \"countign\". Did you mean counting?",
        );
        check(
            "ascii = true\ncounting = \"loose\"",
            "s.toml:2:12: counting is strict, lenient, not \"loose\"",
        );
        check("swing = [1]", "s.toml:1:1: swing takes one value, as in swing = 0.7");
        check("[swing]\na = 1", "s.toml:1:2: swing takes one value, as in swing = 0.7");
        check("ascii = true\nswing = \n", "s.toml:2:9: this is no setting (");
    }

    #[test]
    fn what_is_not_understood_takes_nothing_from_the_rest() {
        let file = read("swing = 9\nfuture = 1\nascii = true\n[section]\nswing = 0.2\n").expect("TOML");
        assert_eq!(file.values(), [("ascii", "on".to_owned())]);
        let slips: Vec<_> = file.slips().iter().map(|slip| (slip.key(), slip.is_unknown())).collect();
        assert_eq!(slips, [(Some("swing"), false), (Some("future"), true), (Some("section"), true)]);
    }

    #[test]
    fn changing_a_value_keeps_comments_order_and_everything_else() {
        let text = "# mine\nswing   =  0.5   # stiff\n\nascii = true\n";
        assert_eq!(with_swing(text, 0.6), "# mine\nswing   =  0.6   # stiff\n\nascii = true\n");
    }

    #[test]
    fn whatever_stands_under_a_name_can_be_written_over() {
        assert_eq!(
            with_swing("swing = \"much\" # hm\nascii = true\n", 0.4),
            "swing = 0.4 # hm\nascii = true\n"
        );
        assert_eq!(with_swing("swing = [1, 2]\n", 0.4), "swing = 0.4\n");
        for text in ["[swing]\na = 1\n", "swing.a = 1\n", "[[swing]]\na = 1\n", "swing = { a = 1 }\n"] {
            assert_eq!(with_swing(text, 0.4).trim(), "swing = 0.4", "{text}");
        }
        let beside_a_table = with_swing("ascii = true\n[section]\na = 1\n", 0.4);
        assert_eq!(beside_a_table, "ascii = true\nswing = 0.4\n[section]\na = 1\n");
    }

    #[test]
    fn what_is_taken_out_leaves_the_rest() {
        assert_eq!(without("swing = 0.5\n# signs\nascii = true\n", "swing"), "# signs\nascii = true\n");
        assert_eq!(without("swing = 9\nascii = true\n", "swing"), "ascii = true\n");
        assert_eq!(without("future = 1\nascii = true\n", "future"), "ascii = true\n");
        assert_eq!(without("ascii = true\n[section]\na = 1\n", "section"), "ascii = true\n");
        assert!(!read("ascii = true").expect("a file").remove("swing").expect("nothing to write"));
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
            for message in said(&text) {
                prop_assert!(message.starts_with("s.toml:"), "{}", message);
            }
        }
    }
}
