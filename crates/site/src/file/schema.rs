//! JSON Schemas of the files, from their types.

use schemars::generate::SchemaSettings;

use super::written::SiteFile;
use super::written_visit::VisitFile;

/// JSON Schema (draft 2020-12) of a site file.
pub fn schema_site() -> serde_json::Value {
    let schema = SchemaSettings::draft2020_12()
        .into_generator()
        .into_root_schema_for::<SiteFile>();
    schema.to_value()
}

/// JSON Schema (draft 2020-12) of a visit file.
pub fn schema_visit() -> serde_json::Value {
    let schema = SchemaSettings::draft2020_12()
        .into_generator()
        .into_root_schema_for::<VisitFile>();
    schema.to_value()
}
