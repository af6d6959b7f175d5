//! The case: what was seen, by whom and when, so that another person with the same folder can tell whether anything in it
//! was changed. Pure: bytes in, bytes and judgements out; `cli` reads and writes the folder.
//!
//! A folder holds `case.toml` (written once), `log.jsonl` (one entry a line, each with the hash of the line before; a closing
//! line counts them and holds the hash of the last), `originals` (files as they came) and `results` (answers).
//!
//! What the hashes cannot do: whoever writes every file anew, the log included, makes a case that agrees with itself. The
//! hash of the last entry ([`Chain::last`]), given to somebody else at the time, shows that as well.

mod chain;
mod digest;
mod entry;
mod kept;
mod manifest;
mod names;
mod own;
mod sheet;
mod verify;

pub use chain::{Chain, Fault, Line, examine};
pub use digest::{Digest, Digester};
pub use entry::{Added, Concluded, Entry, Event};
pub use kept::{Agreed, Closed, Kept, Timed};
pub use manifest::{Manifest, SCHEMA, schema_of};
pub use names::{another, plain};
pub use own::OwnSystem;
pub use sheet::{BudgetLine, Comparison, Elsewhere, Measured, Sheet};
pub use verify::{Basis, Checked, Difference, Found, FoundFile, verify};

/// Name of the file that says what the case is about.
pub const MANIFEST: &str = "case.toml";
/// Name of the log.
pub const LOG: &str = "log.jsonl";
/// Folder of the files as they came.
pub const ORIGINALS: &str = "originals";
/// Folder of the answers.
pub const RESULTS: &str = "results";
