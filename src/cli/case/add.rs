//! `azimark case add`.

use std::path::{Path, PathBuf};

use clap::Args;
use jiff::Timestamp;

use crate::{
    case::{Added, Digest, Event, ORIGINALS, another},
    cli::{
        Failure, Outcome,
        case::{acknowledged, folder::Writing, now, words},
        files, parse, whole,
    },
    finding::clipped,
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Add {
    /// Folder of the case
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// Files to copy in; they are not changed
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Who adds them, by role
    #[arg(long, value_name = "ROLE", value_parser = words)]
    by: String,
    /// What recorded them
    #[arg(long, value_name = "WORDS", value_parser = words)]
    device: Option<String>,
    /// Seconds to add to the device's times to get UTC: what its clock is slow, negative if it is fast
    #[arg(long, value_name = "SECONDS", value_parser = parse::seconds, allow_hyphen_values = true)]
    clock_offset: Option<f64>,
    /// When they were recorded, such as 2026-03-17T15:40Z
    #[arg(long, value_name = "TIME", value_parser = time)]
    acquired: Option<Timestamp>,
    /// Who recorded them, by role
    #[arg(long, value_name = "ROLE", value_parser = words)]
    acquired_by: Option<String>,
    /// What they were handed over for
    #[arg(long, value_name = "WORDS", value_parser = words)]
    purpose: Option<String>,
}

fn time(text: &str) -> Result<Timestamp, String> {
    text.parse().map_err(|_| {
        "write a time with its offset, such as 2026-03-17T15:40Z or 2026-03-17T08:40-07:00".to_owned()
    })
}

impl Add {
    /// Copies one file after the other; each is kept before the next is begun.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let mut there_already = false;
        for path in &self.files {
            let told = self.one(path)?;
            there_already |= told.is_none();
            if let Some(told) = told {
                files::print(&told)?;
            }
        }
        Ok(if there_already { Outcome::Short } else { Outcome::Answered })
    }

    /// Copies a file, or says that its bytes are in the case already.
    fn one(&self, path: &Path) -> Result<Option<String>, Failure> {
        let came_as = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        let (_, sha256) = whole::digest(path)?;
        let mut case = Writing::begin(&self.folder)?;
        if let Some((entry, file)) = holds(&case, sha256) {
            eprintln!("{}: the case has the same bytes already, as {file} (entry {entry})", path.display());
            return Ok(None);
        }
        let (name, to) = free(&case, &came_as);
        let (bytes, sha256) = whole::copy(path, &to)?;
        let added = Added {
            came_as: (name != came_as).then(|| clipped(&came_as)),
            file: name.clone(),
            bytes,
            sha256,
            device: self.device.clone(),
            clock_offset_s: self.clock_offset,
            acquired: self.acquired,
            acquired_by: self.acquired_by.clone(),
            purpose: self.purpose.clone(),
        };
        let entry = case.append(now(), &self.by, Event::Added(added))?;
        Ok(Some(format!("{name}  {bytes} bytes  sha256 {sha256}\n{}", acknowledged(&entry))))
    }
}

/// The entry that added these bytes.
fn holds(case: &Writing, sha256: Digest) -> Option<(u64, String)> {
    case.entries().iter().find_map(|e| match &e.event {
        Event::Added(a) if a.sha256 == sha256 => Some((e.entry, a.file.clone())),
        _ => None,
    })
}

/// A name that nothing in the folder has. What an addition that was broken off left behind keeps its name and belongs to nobody.
/// Names that differ only in capitals are one name on some systems.
fn free(case: &Writing, came_as: &str) -> (String, PathBuf) {
    let taken = |name: &str| {
        case.at(ORIGINALS, name).symlink_metadata().is_ok()
            || case
                .entries()
                .iter()
                .any(|e| matches!(&e.event, Event::Added(a) if a.file.eq_ignore_ascii_case(name)))
    };
    let name = (1..).map(|count| another(came_as, count)).find(|name| !taken(name)).unwrap_or_default();
    let path = case.at(ORIGINALS, &name);
    (name, path)
}
