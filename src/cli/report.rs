//! `azimark report`.

use std::path::PathBuf;

use clap::Args;

use crate::{
    case::{Concluded, Digest, Event, Manifest, ORIGINALS, verify},
    cli::{
        Failure, Outcome,
        case::{computed, found},
        files,
        locate::background,
        whole,
    },
    export,
    page::{Content, Made, Past, page},
    solve,
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Report {
    /// Folder of the case; its last conclusion is computed again
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// File to write, ending in .html
    #[arg(long, short, value_name = "FILE")]
    output: PathBuf,
    /// GeoJSON of streets or outlines to draw the map on
    #[arg(long, value_name = "FILE")]
    map: Option<PathBuf>,
}

impl Report {
    /// Verifies the case, computes its last conclusion again and writes the page.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let name = self.folder.display();
        if self.output.extension().is_none_or(|e| !e.eq_ignore_ascii_case("html")) {
            return Err(format!("{}: the page is written as .html", self.output.display()));
        }
        let found = found(&self.folder)?;
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
        let answer =
            computed(&self.folder, &c.options, &c.files)?.ok_or("the conclusion has no place any more")?;
        let same = Digest::of(export::json(&answer).as_bytes()) == c.result_sha256;
        if !same {
            eprintln!(
                "the conclusion of entry {} was drawn by version {} and does not come out the same to the last digit now",
                basis.entry, c.version
            );
        }
        let background = background(self.map.as_deref())?;
        let overturn = solve::overturn(&answer.fit);
        let made = made(c, &checked.entries);
        let case = Some(Past { manifest: &manifest, entries: &checked.entries });
        let content =
            Content { answer: &answer, overturn: overturn.as_ref(), background: &background, made, case };
        whole::write(&self.output, page(&content).as_bytes())?;
        files::print(&format!("written: {}\n", self.output.display()))?;
        Ok(if same { Outcome::Answered } else { Outcome::Short })
    }
}

/// The command that a conclusion stands for, and the files that it read.
fn made(c: &Concluded, entries: &[crate::case::Entry]) -> Made {
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
