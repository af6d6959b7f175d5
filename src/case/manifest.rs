//! `case.toml`.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

/// The newest schema that this version writes and understands.
pub const SCHEMA: u32 = 1;

/// What the case is about. Written once, when it is opened.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Manifest {
    /// Version of how the folder is written.
    pub schema: u32,
    /// In a few words.
    pub title: String,
    /// When the case was opened.
    pub opened: Timestamp,
    /// Who opened it, by role.
    pub by: String,
    /// Whose service suffers.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub victim: Option<String>,
    /// What is complained about.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub complaint: Option<String>,
    /// The frequency in hertz.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub frequency_hz: Option<f64>,
    /// Licence or call sign of the service that suffers.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub licence: Option<String>,
    /// The one point of contact, by role.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub contact: Option<String>,
    /// Time zone in which times are shown beside UTC, such as America/Los_Angeles.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub zone: Option<String>,
}

impl Manifest {
    /// The text of the file.
    pub fn text(&self) -> String {
        // Strings and finite numbers always serialise.
        let body = toml::to_string(self).unwrap_or_default();
        format!("# Written once. Its hash is in the log: corrections go there, by azimark case note.\n{body}")
    }

    /// Reads the file.
    ///
    /// # Errors
    /// Where it is no TOML, lacks something, or is of a newer schema with other fields; in a sentence.
    pub fn read(bytes: &[u8]) -> Result<Self, String> {
        let text = std::str::from_utf8(bytes).map_err(|_| "it is not UTF-8".to_owned())?;
        toml::from_str(text).map_err(|e| e.message().to_owned())
    }
}

/// The schema that a `case.toml` states, also where nothing else of it can be read.
pub fn schema_of(bytes: &[u8]) -> Option<u32> {
    #[derive(Deserialize)]
    struct Stated {
        schema: u32,
    }
    toml::from_str::<Stated>(std::str::from_utf8(bytes).ok()?).ok().map(|s| s.schema)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_written_is_read_whatever_people_write() {
        let hostile = "\"\"\"\n[schema]\nschema = 9\r\u{1b}[2J <script> '''";
        let manifest = Manifest {
            schema: SCHEMA,
            title: hostile.to_owned(),
            opened: Timestamp::from_second(1_773_762_000).unwrap(),
            by: "technician".to_owned(),
            victim: Some(hostile.to_owned()),
            complaint: None,
            frequency_hz: Some(841.5e6),
            licence: None,
            contact: Some(hostile.to_owned()),
            zone: None,
        };
        assert_eq!(Manifest::read(manifest.text().as_bytes()), Ok(manifest.clone()));
        assert_eq!(schema_of(manifest.text().as_bytes()), Some(SCHEMA));
    }

    #[test]
    fn a_newer_schema_is_seen_even_if_nothing_else_is() {
        assert_eq!(schema_of(b"schema = 7\nheading = [1, 2]"), Some(7));
        assert!(Manifest::read(b"schema = 7\nheading = [1, 2]").is_err());
        assert_eq!(schema_of(b"schema = -1"), None);
        assert_eq!(schema_of(&[0xff]), None);
    }
}
