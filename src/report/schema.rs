//! The published shapes: every document the program prints, by name, with its JSON Schema (draft 2020-12).

use schemars::{Schema, SchemaGenerator, generate::SchemaSettings};

use crate::theory::nearest;

use super::assignment::AssignmentDocument;
use super::beside::BesideDocument;
use super::calibration::CalibrationDocument;
use super::class::ClassDocument;
use super::model::ModelDocument;
use super::neck::NeckDocument;
use super::progress::ProgressDocument;
use super::reading::ReadingDocument;
use super::review::Review;
use super::settings::SettingsDocument;
use super::soundcheck::SoundcheckDocument;
use super::takes::TakesDocument;
use super::verdict::VerdictDocument;

/// A document and how its schema is made.
struct Published {
    name: &'static str,
    schema: fn(SchemaGenerator) -> Schema,
}

/// Every document, by the word after `barwise.` in its `schema` field.
static DOCUMENTS: &[Published] = &[
    Published { name: "review", schema: SchemaGenerator::into_root_schema_for::<Review> },
    Published { name: "beside", schema: SchemaGenerator::into_root_schema_for::<BesideDocument> },
    Published { name: "reading", schema: SchemaGenerator::into_root_schema_for::<ReadingDocument> },
    Published { name: "neck", schema: SchemaGenerator::into_root_schema_for::<NeckDocument> },
    Published { name: "verdict", schema: SchemaGenerator::into_root_schema_for::<VerdictDocument> },
    Published { name: "assignment", schema: SchemaGenerator::into_root_schema_for::<AssignmentDocument> },
    Published { name: "model", schema: SchemaGenerator::into_root_schema_for::<ModelDocument> },
    Published { name: "class", schema: SchemaGenerator::into_root_schema_for::<ClassDocument> },
    Published { name: "take", schema: SchemaGenerator::into_root_schema_for::<TakesDocument> },
    Published { name: "progress", schema: SchemaGenerator::into_root_schema_for::<ProgressDocument> },
    Published { name: "soundcheck", schema: SchemaGenerator::into_root_schema_for::<SoundcheckDocument> },
    Published { name: "calibration", schema: SchemaGenerator::into_root_schema_for::<CalibrationDocument> },
    Published { name: "settings", schema: SchemaGenerator::into_root_schema_for::<SettingsDocument> },
];

/// Says that no document has this name.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("no document \"{written}\". There are: {names}. Did you mean {nearest}?", names = names().join(", "))]
pub struct UnknownDocument {
    written: String,
    nearest: String,
}

/// The names of all documents.
pub fn names() -> Vec<&'static str> {
    DOCUMENTS.iter().map(|document| document.name).collect()
}

/// The JSON Schema of the document `name` (`settings`, or in full `barwise.settings`).
pub fn schema(name: &str) -> Result<Schema, UnknownDocument> {
    let short = name.strip_prefix("barwise.").unwrap_or(name);
    let document = DOCUMENTS.iter().find(|document| document.name == short);
    let document = document.ok_or_else(|| UnknownDocument {
        written: name.chars().take(60).collect(),
        nearest: nearest(short, names().into_iter().map(str::to_owned)).unwrap_or_default(),
    })?;
    Ok((document.schema)(SchemaSettings::draft2020_12().for_serialize().into_generator()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_schema_says_its_draft_its_title_and_the_three_fields_all_documents_have() {
        for name in names() {
            let schema = schema(name).expect("a document").to_value();
            assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
            assert_eq!(schema["title"], format!("barwise.{name}"));
            for field in ["schema", "version", "tool"] {
                let required = schema["required"].as_array().expect("required fields");
                assert!(required.iter().any(|required| required == field), "{name}: {field}");
            }
        }
    }

    #[test]
    fn a_name_is_taken_short_or_in_full_and_an_unknown_one_is_met_with_the_nearest() {
        assert!(schema("barwise.settings").is_ok());
        let message = schema("setings").expect_err("no document").to_string();
        assert!(message.contains("Did you mean settings?"), "{message}");
    }
}
