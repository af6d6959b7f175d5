//! A field-strength sheet for programs.

use serde::Serialize;

use crate::{case::Sheet, export::schema::FindingTwin, finding::Finding};

/// Name and version of the schema of [`field_json`].
pub const FIELD_SCHEMA: &str = "azimark-field/1";

#[derive(Serialize)]
struct Twin<'a> {
    schema: &'static str,
    version: &'static str,
    #[serde(flatten)]
    sheet: &'a Sheet,
    findings: Vec<FindingTwin<'a>>,
}

/// The sheet as JSON: `schema`, `version`, the members of [`Sheet`] under their names, `findings`. Levels are in dBµV/m, uncertainties in
/// dB, neither rounded; what is not stated is null.
pub fn field_json(sheet: &Sheet, findings: &[Finding]) -> String {
    let findings = findings.iter().map(FindingTwin::of).collect();
    let twin = Twin { schema: FIELD_SCHEMA, version: env!("CARGO_PKG_VERSION"), sheet, findings };
    // Strings, numbers and lists always serialise.
    let mut text = serde_json::to_string_pretty(&twin).unwrap_or_default();
    text.push('\n');
    text
}
