//! The kinds of settings: which values each takes, how a value is typed, and where it is kept.

use std::fmt;
use std::str::FromStr;

use super::Settings;
use super::choice::Choice;
use crate::band::Levels;
use crate::neck::Tuning;
use crate::store::sound_font_file::SoundFontPath;

/// What is typed for a number that the program finds out by itself.
const AUTO: &str = "auto";
/// What is typed where no file is meant.
const NONE: &str = "none";

/// Which values a setting takes, and its place in [`Settings`].
pub(super) enum Kind {
    /// One of a few words.
    Word(fn(&mut Settings) -> &mut dyn Choice),
    /// On or off.
    Switch(fn(&mut Settings) -> &mut bool),
    /// A whole number within a range.
    Whole { low: u8, high: u8, field: fn(&mut Settings) -> &mut u8 },
    /// A whole number within a range, or found out by the program.
    WholeOrAuto { low: u8, high: u8, field: fn(&mut Settings) -> &mut Option<u8> },
    /// A number within a range.
    Number { low: f64, high: f64, field: fn(&mut Settings) -> &mut f64 },
    /// A file, or none.
    File(fn(&mut Settings) -> &mut Option<String>),
    /// Open strings.
    Strings(fn(&mut Settings) -> &mut Tuning),
    /// Levels of the parts.
    Levels(fn(&mut Settings) -> &mut Levels),
    /// A SoundFont, or none.
    SoundFont(fn(&mut Settings) -> &mut Option<SoundFontPath>),
}

/// A setting's value, ready to print in any notation.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A word or a text.
    Word(String),
    /// On or off.
    Switch(bool),
    /// A whole number.
    Whole(u8),
    /// A number.
    Number(f64),
}

/// That a text is no value of a kind; `detail` says more where there is more to say.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Refusal {
    pub detail: String,
}

impl Kind {
    /// The values taken, to print.
    pub fn accepts(&self) -> String {
        match self {
            Self::Word(field) => field(&mut Settings::default()).words().join(", "),
            Self::Switch(_) => "on, off".to_owned(),
            Self::Whole { low, high, .. } => format!("a whole number from {low} to {high}"),
            Self::WholeOrAuto { low, high, .. } => format!("{AUTO}, or a whole number from {low} to {high}"),
            Self::Number { low, high, .. } => format!("a number from {low} to {high}"),
            Self::File(_) => format!("the path of a file, or {NONE}"),
            Self::Strings(_) => format!("{}, or notes", Tuning::names().collect::<Vec<_>>().join(", ")),
            Self::Levels(_) => "usual, or parts with their decibels as in bass=-6,ride=+3".to_owned(),
            Self::SoundFont(_) => format!("{NONE}, or a file whose name ends in .sf2"),
        }
    }

    /// Whether `value` is the path of a file for it.
    pub fn names_a_file(&self, value: &str) -> bool {
        matches!(self, Self::File(_) | Self::SoundFont(_)) && value != NONE && !value.trim().is_empty()
    }

    /// The value in `settings`.
    pub fn value(&self, settings: &Settings) -> Value {
        // The place of a value is named once, for writing; so it is read from a copy that could be written to.
        let copy = &mut settings.clone();
        match self {
            Self::Word(field) => Value::Word(field(copy).word().to_owned()),
            Self::Switch(field) => Value::Switch(*field(copy)),
            Self::Whole { field, .. } => Value::Whole(*field(copy)),
            Self::WholeOrAuto { field, .. } => {
                field(copy).map_or_else(|| Value::Word(AUTO.to_owned()), Value::Whole)
            }
            Self::Number { field, .. } => Value::Number(*field(copy)),
            Self::File(field) => Value::Word(field(copy).clone().unwrap_or_else(|| NONE.to_owned())),
            Self::Strings(field) => Value::Word(field(copy).to_string()),
            Self::Levels(field) => Value::Word(field(copy).to_string()),
            Self::SoundFont(field) => {
                Value::Word(field(copy).as_ref().map_or_else(|| NONE.to_owned(), ToString::to_string))
            }
        }
    }

    /// Reads `text` into its place in `settings`; on refusal nothing changes.
    pub fn set(&self, settings: &mut Settings, text: &str) -> Result<(), Refusal> {
        let taken = match self {
            Self::Word(field) => field(settings).choose(text),
            Self::Switch(field) => read_switch(text).map(|on| *field(settings) = on),
            Self::Whole { low, high, field } => within(text, low, high).map(|whole| *field(settings) = whole),
            Self::WholeOrAuto { low, high, field } => {
                let whole = if text == AUTO { Some(None) } else { within(text, low, high).map(Some) };
                whole.map(|whole| *field(settings) = whole)
            }
            Self::Number { low, high, field } => {
                within(text, low, high).map(|number| *field(settings) = number)
            }
            Self::File(field) => (!text.trim().is_empty()).then(|| {
                *field(settings) = (text != NONE).then(|| text.to_owned());
            }),
            Self::Strings(field) => {
                *field(settings) = read(text)?;
                Some(())
            }
            Self::Levels(field) => {
                *field(settings) = read(text)?;
                Some(())
            }
            Self::SoundFont(field) => {
                *field(settings) = if text == NONE { None } else { Some(read(text)?) };
                Some(())
            }
        };
        taken.ok_or_else(Refusal::default)
    }
}

/// Reads a text that says itself why it is not taken.
fn read<T: FromStr<Err: fmt::Display>>(text: &str) -> Result<T, Refusal> {
    text.parse().map_err(|error: T::Err| Refusal { detail: format!(": {error}") })
}

/// Reads a number that lies within its range; no text that is not a number does.
fn within<N: FromStr + PartialOrd>(text: &str, low: &N, high: &N) -> Option<N> {
    text.parse().ok().filter(|number| (low..=high).contains(&number))
}

fn read_switch(text: &str) -> Option<bool> {
    match text {
        "on" | "true" | "yes" | "1" => Some(true),
        "off" | "false" | "no" | "0" => Some(false),
        _ => None,
    }
}

/// Prints the value as the player types it.
impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Word(word) => f.write_str(word),
            Self::Switch(on) => f.write_str(if *on { "on" } else { "off" }),
            Self::Whole(number) => number.fmt(f),
            Self::Number(number) => number.fmt(f),
        }
    }
}

/// A word, a number, true or false in JSON.
impl From<Value> for serde_json::Value {
    fn from(value: Value) -> Self {
        match value {
            Value::Word(word) => word.into(),
            Value::Switch(on) => on.into(),
            Value::Whole(number) => number.into(),
            Value::Number(number) => number.into(),
        }
    }
}

/// A word, a number, true or false in TOML.
impl From<Value> for toml_edit::Value {
    fn from(value: Value) -> Self {
        match value {
            Value::Word(word) => word.into(),
            Value::Switch(on) => on.into(),
            Value::Whole(number) => i64::from(number).into(),
            Value::Number(number) => number.into(),
        }
    }
}
