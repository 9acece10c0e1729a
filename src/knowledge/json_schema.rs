//! The JSON Schema (2020-12) of pack files and case files, generated from the types that read them.
//!
//! What is read by hand-written code says here what that code takes. What a schema can't know (that an id exists, that bands
//! meet, that a field is missing from *every* pack) stays with `check`.

use std::borrow::Cow;

use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde_json::{Map, Value, json};

use super::frequency::{Frequency, WORDS};
use super::schema::{Case, CaseReading, SiteValue};
use super::sections::{ENTRY_SECTIONS, WHOLE_SECTIONS};
use crate::quantity::Unit;

/// What an id looks like.
const ID: &str = "^[a-z0-9-]{1,60}$";

const PACK: &str = "A file of a pack: any of the sections below, each a map from an id to an entry. An entry's fields are all optional \
here, because packs layer field by field and a later pack may write one field alone; that none is missing once all packs are \
laid over each other, that ids exist and that chances add up is what `pintle check` finds.";

/// The schema of a pack file.
#[must_use]
pub fn pack_file() -> Value {
    let mut generator = SchemaSettings::draft2020_12().into_generator();
    let mut properties = Map::new();
    for section in WHOLE_SECTIONS {
        let schema = (section.schema)(&mut generator);
        properties.insert(section.name.to_owned(), described(schema, section.about));
    }
    for section in ENTRY_SECTIONS {
        let mut entry = (section.schema)(&mut generator);
        entry.remove("required");
        let map = json!({
            "description": section.about,
            "type": ["object", "null"],
            "propertyNames": {"pattern": ID},
            "additionalProperties": entry,
        });
        properties.insert(section.name.to_owned(), map);
    }
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Pack file",
        "description": PACK,
        "type": ["object", "null"],
        "properties": properties,
        "additionalProperties": false,
        "$defs": generator.take_definitions(true),
    })
}

/// The schema of a case file.
#[must_use]
pub fn case_file() -> Value {
    let generator = SchemaSettings::draft2020_12().into_generator();
    generator.into_root_schema_for::<Case>().to_value()
}

fn described(mut schema: Schema, about: &str) -> Value {
    schema.insert("description".to_owned(), about.into());
    schema.to_value()
}

/// Fact → values: none named would never apply.
pub(super) fn when(_: &mut SchemaGenerator) -> Schema {
    json_schema!({
        "type": "object",
        "additionalProperties": {"type": "array", "minItems": 1, "items": {"type": "string"}},
    })
}

impl JsonSchema for Frequency {
    fn schema_name() -> Cow<'static, str> {
        "Frequency".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let words = WORDS
            .iter()
            .map(|(word, chance)| json!({"const": word, "description": format!("{chance}")}));
        let mut ways = vec![json!({"type": "number", "minimum": 0, "maximum": 1})];
        ways.extend(words);
        json_schema!({
            "description": "How often: a number from 0 to 1, or one word of the scale.",
            "anyOf": ways,
        })
    }
}

impl JsonSchema for Unit {
    fn schema_name() -> Cow<'static, str> {
        "Unit".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let mut spellings: Vec<Value> = Self::all().map(|unit| unit.symbol().into()).collect();
        for other in Self::all().flat_map(Self::other_spellings).map(Value::from) {
            if !spellings.contains(&other) {
                spellings.push(other);
            }
        }
        spellings.push(1.into());
        json_schema!({
            "description": "A unit by its symbol or another usual spelling; 1 for a plain number.",
            "enum": spellings,
        })
    }
}

/// Any scalar: it is read as the text that was meant.
fn scalar() -> Value {
    json!({"type": ["string", "number", "boolean"]})
}

impl JsonSchema for SiteValue {
    fn schema_name() -> Cow<'static, str> {
        "SiteValue".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "A fact's value: the id of a choice, or a number with its unit.",
            "type": ["string", "number", "boolean"],
        })
    }
}

impl JsonSchema for CaseReading {
    fn schema_name() -> Cow<'static, str> {
        "CaseReading".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "What a test shows: the id of an outcome, a reading with its unit, `cannot`, or a map from reading to text.",
            "anyOf": [scalar(), {"type": "object", "additionalProperties": scalar()}],
        })
    }
}
