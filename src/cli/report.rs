//! `azimark report`.

use std::path::PathBuf;

use clap::Args;

use crate::{
    cli::{Failure, Outcome, case::Again, files, locate::background, whole},
    page::{Content, Form, Past, page},
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
    /// For others: places rounded to 0.001° (about 100 m), without maps, remarks, notes and devices
    #[arg(long)]
    share: bool,
}

impl Report {
    /// Verifies the case, computes its last conclusion again and writes the page.
    pub fn run(&self) -> Result<Outcome, Failure> {
        if self.output.extension().is_none_or(|e| !e.eq_ignore_ascii_case("html")) {
            return Err(format!("{}: the page is written as .html", self.output.display()));
        }
        let again = Again::of(&self.folder)?;
        let answer = again.answer;
        let background = background(self.map.as_deref())?;
        let overturn = solve::overturn(&answer.fit);
        let case = Some(Past { manifest: &again.manifest, entries: &again.entries });
        let form = if self.share { Form::Shared } else { Form::Full };
        let content = Content {
            answer: &answer,
            overturn: overturn.as_ref(),
            background: &background,
            made: again.made,
            case,
            form,
        };
        whole::write(&self.output, page(&content).as_bytes())?;
        files::print(&format!("written: {}\n", self.output.display()))?;
        Ok(if again.same { Outcome::Answered } else { Outcome::Short })
    }
}
