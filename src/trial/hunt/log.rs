//! Hunts as a file of lines, so that what was broken off goes on where it stopped.

use serde_json::json;

use crate::trial::{Flaw, Log, VERSION, hunt::Outcome, log::read_lines};

/// The first line, without its end.
pub fn header(seed: u64) -> String {
    json!({"hunts": "azimark", "version": VERSION, "seed": seed}).to_string()
}

/// The outcomes in the text of a file; an empty text, or one whose first line is not whole, holds none.
///
/// # Errors
/// [`Flaw`].
pub fn read(text: &str, seed: u64) -> Result<Log<Outcome>, Flaw> {
    read_lines(text, header(seed), &Outcome::of_line, &|o| (o.task.kind as u8, o.task.number))
}
