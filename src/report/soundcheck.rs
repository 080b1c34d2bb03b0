//! What a sound check found, `barwise.soundcheck`: a row a check, with what to do where something is amiss.

use schemars::JsonSchema;
use serde::Serialize;
use serde_json::{Map, Value};

use super::review::TOOL;
use super::table::{Cell, Column, Row, Table};
use super::theme::Role;

/// The document `barwise.soundcheck`.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "barwise.soundcheck")]
pub struct SoundcheckDocument {
    /// `barwise.soundcheck`
    pub schema: &'static str,
    /// Fields are added within a version, never renamed or given another meaning.
    pub version: u32,
    /// The program and its version.
    pub tool: &'static str,
    /// The operating system and the processor: `linux x86_64`.
    pub system: String,
    /// The checks, in the order they were made.
    pub checks: Vec<Check>,
}

/// One check.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Check {
    /// What was looked at: `notes-in`, `sound-out`, `terminal`, `store`, `settings`, `clock`.
    pub check: &'static str,
    /// How it came out.
    pub result: Grade,
    /// What was found, in words.
    pub found: String,
    /// What to do; none where all is well.
    pub fix: Option<String>,
    /// What was found, by name, units in the names.
    pub facts: Map<String, Value>,
}

/// How a check came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Grade {
    /// All is well.
    Ok,
    /// It works, with a caution or with less than there could be.
    Warn,
    /// What was asked for does not work.
    Fail,
}

impl Grade {
    const fn word(self) -> &'static str {
        match self {
            Self::Ok => "ok",
            Self::Warn => "warn",
            Self::Fail => "fail",
        }
    }
}

impl Check {
    /// A check that came out well.
    pub fn ok(check: &'static str, found: impl Into<String>) -> Self {
        Self { check, result: Grade::Ok, found: found.into(), fix: None, facts: Map::new() }
    }

    /// A check that came out with a caution, and what to do.
    pub fn warn(check: &'static str, found: impl Into<String>, fix: impl Into<String>) -> Self {
        Self { result: Grade::Warn, fix: Some(fix.into()), ..Self::ok(check, found) }
    }

    /// A check that failed, and what to do.
    pub fn fail(check: &'static str, found: impl Into<String>, fix: impl Into<String>) -> Self {
        Self { result: Grade::Fail, fix: Some(fix.into()), ..Self::ok(check, found) }
    }

    /// The check with something found, by name.
    #[must_use]
    pub fn with(mut self, name: &'static str, value: impl Into<Value>) -> Self {
        self.facts.insert(name.to_owned(), value.into());
        self
    }
}

impl SoundcheckDocument {
    /// The document of these checks, made on `system`.
    pub const fn new(system: String, checks: Vec<Check>) -> Self {
        Self { schema: "barwise.soundcheck", version: 1, tool: TOOL, system, checks }
    }

    /// The checks as rows, what to do below each.
    pub fn table(&self) -> Table {
        let mut table = Table::new(["check", "result", "found"].map(Column::words));
        for check in &self.checks {
            let word = check.result.word();
            let result = match check.result {
                Grade::Ok => Cell::new(word),
                Grade::Warn | Grade::Fail => Cell::marked(word, Role::Outside),
            };
            let row = Row::new([check.check.into(), result, check.found.as_str().into()]);
            table.push(match &check.fix {
                Some(fix) => row.with_note(fix.as_str()),
                None => row,
            });
        }
        table
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::{Ink, OutputForm, Signs};

    #[test]
    fn a_row_a_check_and_what_to_do_behind_it() {
        let checks = vec![
            Check::ok("clock", "fine"),
            Check::warn("notes-in", "none", "plug one in").with("inputs", 0),
        ];
        let document = SoundcheckDocument::new("here".to_owned(), checks);
        let piped = OutputForm::Piped { ink: Ink::Plain, signs: Signs::Ascii };
        let text = document.table().text(piped).expect("rows");
        assert_eq!(
            text,
            "check\tresult\tfound\tnote\nclock\tok\tfine\t\nnotes-in\twarn\tnone\tplug one in\n"
        );
        let json = serde_json::to_value(&document).expect("a document");
        assert_eq!(
            (json["checks"][1]["result"].as_str(), json["checks"][1]["facts"]["inputs"].as_i64()),
            (Some("warn"), Some(0))
        );
    }
}
