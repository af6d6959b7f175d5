//! Whether a folder is what its log says.

use std::collections::{BTreeMap, BTreeSet};

use crate::case::{Chain, Concluded, Digest, Entry, Event, LOG, MANIFEST, ORIGINALS, RESULTS, examine};

/// What lies in the folder.
#[derive(Clone, Debug, Default)]
pub struct Found {
    /// `case.toml`, if it is there.
    pub manifest: Option<Vec<u8>>,
    /// `log.jsonl`, if it is there.
    pub log: Option<Vec<u8>>,
    /// Everything below `originals` and `results`, by name with the folder before it and `/` between.
    pub files: BTreeMap<String, FoundFile>,
}

/// One thing that lies in the folder.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FoundFile {
    /// A file, with its length and hash.
    File {
        /// Length.
        bytes: u64,
        /// Hash.
        sha256: Digest,
    },
    /// A folder, a link, or something else that is no file.
    Other,
}

/// One thing that differs from what the log says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    /// The file, with its folder.
    pub file: String,
    /// Line of the file, where one can be named.
    pub line: Option<u64>,
    /// How it differs, in a sentence.
    pub message: String,
}

/// The last conclusion and whether what it rests on is unchanged.
#[derive(Clone, Debug, PartialEq)]
pub struct Basis {
    /// Number of its entry.
    pub entry: u64,
    /// When it was drawn and by whom, and what it says.
    pub conclusion: Concluded,
    /// Files it rests on that differ; the log if the entries that it rests on are not vouched for by those after them.
    pub shaken: Vec<String>,
}

/// What a check of all hashes gave.
#[derive(Clone, Debug, PartialEq)]
pub struct Checked {
    /// What differs.
    pub differences: Vec<Difference>,
    /// Files that no entry names. They are no part of the case.
    pub strangers: Vec<String>,
    /// The entries that can be read.
    pub entries: Vec<Entry>,
    /// Hash of the last line, if the log agrees with itself.
    pub last: Option<Digest>,
    /// The last conclusion.
    pub basis: Option<Basis>,
}

/// Compares a folder with its log.
pub fn verify(found: &Found) -> Checked {
    let mut differences = Vec::new();
    let log = found.log.as_deref();
    let (lines, faults) = log.map(examine).unwrap_or_default();
    if log.is_none() {
        differences.push(differs(LOG, "it is missing: nothing can be checked without it"));
    }
    differences.extend(faults.into_iter().map(|f| Difference {
        file: LOG.to_owned(),
        line: f.line,
        message: f.message,
    }));
    let entries: Vec<Entry> = lines.iter().filter_map(|l| l.entry.clone()).collect();
    let expected = expected(&entries);
    manifest(found, &entries, &mut differences);
    for (file, (entry, bytes, sha256)) in &expected {
        if let Some(message) = changed(found.files.get(file), *bytes, *sha256, *entry) {
            differences.push(differs(file, &message));
        }
    }
    let unbacked: BTreeSet<u64> =
        lines.iter().zip(1..).filter(|(l, _)| !l.backed || l.entry.is_none()).map(|(_, n)| n).collect();
    let basis = basis(&entries, &expected, &differences, &unbacked);
    Checked {
        strangers: found.files.keys().filter(|f| !expected.contains_key(*f)).cloned().collect(),
        last: log.and_then(|l| Chain::read(l).ok()).map(|c| c.last()),
        differences,
        entries,
        basis,
    }
}

fn differs(file: &str, message: &str) -> Difference {
    Difference { file: file.to_owned(), line: None, message: message.to_owned() }
}

/// Files that the entries name: who named it, its length where it was noted, its hash.
type Expected = BTreeMap<String, (u64, Option<u64>, Digest)>;

fn expected(entries: &[Entry]) -> Expected {
    let mut out = Expected::new();
    for e in entries {
        match &e.event {
            Event::Added(a) => {
                out.insert(format!("{ORIGINALS}/{}", a.file), (e.entry, Some(a.bytes), a.sha256));
            }
            Event::Concluded(c) => {
                out.insert(format!("{RESULTS}/{}", c.result), (e.entry, None, c.result_sha256));
            }
            other => {
                if let Some(kept) = other.kept() {
                    out.insert(format!("{RESULTS}/{}", kept.result), (e.entry, None, kept.result_sha256));
                }
            }
        }
    }
    out
}

fn manifest(found: &Found, entries: &[Entry], out: &mut Vec<Difference>) {
    let opened = entries.iter().find_map(|e| match e.event {
        Event::Opened { case_sha256 } => Some(case_sha256),
        _ => None,
    });
    match (&found.manifest, opened) {
        (None, _) => out.push(differs(MANIFEST, "it is missing")),
        (Some(bytes), Some(sha)) if Digest::of(bytes) != sha => {
            out.push(differs(MANIFEST, "it is not what was written when the case was opened"));
        }
        (Some(_), None) if found.log.is_some() => {
            out.push(differs(LOG, "no entry says that the case was opened: case.toml cannot be checked"));
        }
        _ => {}
    }
}

/// How a file differs from what its entry says.
fn changed(found: Option<&FoundFile>, bytes: Option<u64>, sha256: Digest, entry: u64) -> Option<String> {
    match found {
        None => Some(format!("it is missing; entry {entry} names it")),
        Some(FoundFile::Other) => Some(format!("it is no file any more; entry {entry} names it")),
        Some(FoundFile::File { bytes: there, .. }) if bytes.is_some_and(|b| b != *there) => {
            Some(format!("it has {there} bytes; entry {entry} says {}", bytes.unwrap_or_default()))
        }
        Some(FoundFile::File { sha256: there, .. }) if *there != sha256 => Some(format!(
            "its SHA-256 is {}…; entry {entry} says {}…: it was changed",
            there.short(),
            sha256.short()
        )),
        Some(FoundFile::File { .. }) => None,
    }
}

/// The last conclusion, with what has changed of its files and of the entries that vouch for them.
fn basis(
    entries: &[Entry],
    expected: &Expected,
    differences: &[Difference],
    unbacked: &BTreeSet<u64>,
) -> Option<Basis> {
    let (entry, conclusion) = entries.iter().rev().find_map(|e| match &e.event {
        Event::Concluded(c) => Some((e.entry, c)),
        _ => None,
    })?;
    let mut rests: Vec<String> = conclusion.read.iter().map(|f| format!("{ORIGINALS}/{f}")).collect();
    rests.push(format!("{RESULTS}/{}", conclusion.result));
    let vouching = rests.iter().filter_map(|f| expected.get(f).map(|e| e.0)).chain([entry]);
    let doubted = vouching.into_iter().any(|n| unbacked.contains(&n));
    let unnamed = rests.iter().any(|f| !expected.contains_key(f));
    let mut shaken: Vec<String> =
        rests.iter().filter(|f| differences.iter().any(|d| d.file == **f)).cloned().collect();
    if doubted || unnamed || !inputs_agree(conclusion, expected) {
        shaken.push(LOG.to_owned());
    }
    Some(Basis { entry, conclusion: (**conclusion).clone(), shaken })
}

/// Whether the digest of inputs is that of the files which the entries name.
fn inputs_agree(conclusion: &Concluded, expected: &Expected) -> bool {
    let inputs: Vec<(String, Digest)> = conclusion
        .read
        .iter()
        .filter_map(|f| expected.get(&format!("{ORIGINALS}/{f}")).map(|e| (f.clone(), e.2)))
        .collect();
    Concluded::digest_of_inputs(&inputs) == conclusion.inputs_sha256
}
