//! The settings as a table and as a document.

use schemars::JsonSchema;
use serde::Serialize;

use super::table::{Cell, Column, Row, Table};
use super::theme::Role;

/// One setting, ready to print.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct SettingRow {
    /// Its name.
    pub key: String,
    /// Its value: a word, a number, true or false.
    pub value: serde_json::Value,
    /// Its value, as the player types it.
    #[serde(skip)]
    pub shown: String,
    /// `default`, or the file, environment variable or flag that gave the value.
    pub origin: String,
    /// Its value when nobody sets it.
    pub default: serde_json::Value,
    /// The values it takes, in words.
    pub accepts: String,
    /// What it is, and where the default comes from.
    pub help: String,
    /// The environment variable that sets it.
    pub variable: String,
    /// Whether a figure of a review can change with it.
    pub changes_figures: bool,
}

/// The document `barwise.settings`.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "barwise.settings")]
pub struct SettingsDocument {
    /// Always `barwise.settings`.
    pub schema: String,
    /// Fields are added within a version, never renamed or given another meaning.
    pub version: u32,
    /// The program that wrote it, with its version.
    pub tool: String,
    /// The settings file, whether or not it is there yet.
    pub file: Option<String>,
    /// The settings, in the order they are listed.
    pub settings: Vec<SettingRow>,
}

/// The name of the document.
pub const SCHEMA: &str = "barwise.settings";

impl SettingsDocument {
    /// The document of `settings`, read from `file`.
    pub fn new(file: Option<String>, settings: Vec<SettingRow>) -> Self {
        let tool = concat!("barwise ", env!("CARGO_PKG_VERSION")).to_owned();
        Self { schema: SCHEMA.to_owned(), version: 1, tool, file, settings }
    }

    /// The settings as rows, what each is for below it.
    pub fn table(&self) -> Table {
        let columns = ["setting", "value", "origin", "takes"].map(Column::words);
        let mut table = Table::new(columns);
        for setting in &self.settings {
            let cells = [
                Cell::new(setting.key.as_str()),
                Cell::new(setting.shown.as_str()),
                Cell::new(setting.origin.as_str()),
                Cell::marked(setting.accepts.as_str(), Role::Dim),
            ];
            table.push(Row::new(cells).with_note(setting.help.as_str()));
        }
        table
    }
}
