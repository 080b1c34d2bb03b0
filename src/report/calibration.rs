//! What a calibration measured, `barwise.calibration`.

use schemars::JsonSchema;
use serde::Serialize;

use super::review::TOOL;
use super::table::{Column, Row, Table};

/// The document `barwise.calibration`.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "barwise.calibration")]
pub struct CalibrationDocument {
    /// `barwise.calibration`
    pub schema: &'static str,
    /// Fields are added within a version, never renamed or given another meaning.
    pub version: u32,
    /// The program and its version.
    pub tool: &'static str,
    /// The device it holds for; none where notes from a file were measured for no device.
    pub device: Option<String>,
    /// How late notes arrive, in milliseconds: the same for all.
    pub offset_ms: f64,
    /// Periods of its own pitch that a note arrives later still.
    pub offset_periods: f64,
    /// Median absolute deviation of the notes, in milliseconds; none where the offset was moved by hand.
    pub spread_ms: Option<f64>,
    /// Notes that it rests on; none where the offset was moved by hand.
    pub notes: Option<usize>,
    /// Clicks that were counted; none where the offset was moved by hand.
    pub of: Option<usize>,
    /// The file in which it was written down; none where it was not.
    pub stored: Option<String>,
}

impl CalibrationDocument {
    /// A document that is not written down yet.
    pub const fn new(device: Option<String>, offset_ms: f64, offset_periods: f64) -> Self {
        Self {
            schema: "barwise.calibration",
            version: 1,
            tool: TOOL,
            device,
            offset_ms,
            offset_periods,
            spread_ms: None,
            notes: None,
            of: None,
            stored: None,
        }
    }

    /// One row, and what it means.
    pub fn table(&self) -> Table {
        let numbers = ["offset ms", "periods", "spread ms", "notes", "of"].map(Column::numbers);
        let mut table = Table::new([Column::words("device")].into_iter().chain(numbers));
        let or_dash = |number: Option<String>| number.unwrap_or_else(|| "-".to_owned());
        table.push(Row::new([
            self.device.as_deref().unwrap_or("-").into(),
            format!("{:.1}", self.offset_ms).into(),
            self.offset_periods.to_string().into(),
            or_dash(self.spread_ms.map(|spread| format!("{spread:.1}"))).into(),
            or_dash(self.notes.map(|notes| notes.to_string())).into(),
            or_dash(self.of.map(|of| of.to_string())).into(),
        ]));
        table.note("The offset is player and gear together; it is taken off every note's time, and changes no sound.");
        table.note(match &self.stored {
            Some(file) => format!("Kept in {file} for this device; --nudge-ms moves it. The setting offset-ms, if set, goes first."),
            None => "Not kept: notes from a file belong to no device. --midi-from NAME says whose they are.".to_owned(),
        });
        table
    }
}
