//! What a case concluded last, computed again for a report or an export.

use std::path::Path;

use crate::{
    case::{Concluded, Digest, Entry, Event, Manifest, ORIGINALS, verify},
    cli::{
        Failure,
        case::{conclude::computed_and_logged, folder::found},
        evidence::Logged,
    },
    export,
    report::{Answer, Made},
};

/// A conclusion that was computed again.
pub struct Again {
    /// What the case is about.
    pub manifest: Manifest,
    /// What happened to it.
    pub entries: Vec<Entry>,
    /// The answer.
    pub answer: Answer,
    /// Levels as they were read.
    pub logged: Logged,
    /// How to compute it.
    pub made: Made,
    /// Whether it is the same to the last digit; told on standard error where not.
    pub same: bool,
}

impl Again {
    /// Verifies a case and computes its last conclusion; fails where anything was changed or nothing concluded.
    pub fn of(folder: &Path) -> Result<Self, Failure> {
        let name = folder.display();
        let found = found(folder)?;
        let checked = verify(&found);
        let Some(basis) = &checked.basis else {
            return Err(format!("no conclusion was drawn in {name} yet: azimark case conclude draws one"));
        };
        if let Some(first) = checked.differences.first() {
            return Err(format!(
                "{}: {}; no report is made of a case that was changed: see azimark case verify {name}",
                first.file, first.message
            ));
        }
        let manifest = found.manifest.as_deref().map(Manifest::read);
        let Some(Ok(manifest)) = manifest else { return Err(format!("{name}: case.toml cannot be read")) };
        let c = &basis.conclusion;
        let (answer, logged) = computed_and_logged(folder, &c.options, &c.files)?
            .ok_or("the conclusion has no place any more")?;
        let same = Digest::of(export::json(&answer).as_bytes()) == c.result_sha256;
        if !same {
            eprintln!(
                "the conclusion of entry {} was drawn by version {} and does not come out the same to the last digit now",
                basis.entry, c.version
            );
        }
        let made = made(c, &checked.entries);
        Ok(Self { manifest, entries: checked.entries, answer, logged, made, same })
    }
}

/// The command that a conclusion stands for, and the files that it read.
fn made(c: &Concluded, entries: &[Entry]) -> Made {
    let of = |name: &String| {
        entries.iter().find_map(|e| match &e.event {
            Event::Added(a) if a.file == *name => Some((format!("{ORIGINALS}/{name}"), a.sha256)),
            _ => None,
        })
    };
    let words: Vec<&str> = c.options.iter().chain(&c.files).map(String::as_str).collect();
    Made {
        version: env!("CARGO_PKG_VERSION").to_owned(),
        command: format!("locate {}", words.join(" ")),
        inputs: c.read.iter().filter_map(of).collect(),
    }
}
