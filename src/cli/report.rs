//! `azimark report`.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use crate::{
    cli::{
        Failure, Outcome,
        case::Again,
        files,
        locate::{background, reflected},
        whole,
    },
    page::{Content, Form, Past, page},
    solve,
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Report {
    /// Folder of the case; its last conclusion is computed again
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// File to write, ending in .html or .pdf
    #[arg(long, short, value_name = "FILE")]
    output: PathBuf,
    /// Kind of the file, where its ending does not tell
    #[arg(long, value_enum, value_name = "KIND")]
    to: Option<Kind>,
    /// Pages of a PDF
    #[arg(long, value_enum, value_name = "PAPER", default_value_t)]
    paper: Paper,
    /// GeoJSON of streets or outlines to draw the map on
    #[arg(long, value_name = "FILE")]
    map: Option<PathBuf>,
    /// For others: places rounded to 0.001° (about 100 m), without maps, remarks, notes and devices
    #[arg(long)]
    share: bool,
}

/// Kinds of files.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum Kind {
    /// One page of HTML
    Html,
    /// Tagged PDF
    Pdf,
}

/// Sizes of paper.
#[derive(Clone, Copy, Debug, Default, ValueEnum)]
enum Paper {
    /// 210 mm by 297 mm
    #[default]
    A4,
    /// 8.5 by 11 inches
    Letter,
}

impl Report {
    /// What is asked for by the option or else by the ending.
    fn kind(&self) -> Result<Kind, Failure> {
        let ends = |with: &str| self.output.extension().is_some_and(|e| e.eq_ignore_ascii_case(with));
        match self.to {
            Some(kind) => Ok(kind),
            None if ends("html") => Ok(Kind::Html),
            None if ends("pdf") => Ok(Kind::Pdf),
            None => Err(format!("{}: end the name in .html or .pdf, or say --to", self.output.display())),
        }
    }

    /// Verifies the case, computes its last conclusion again and writes the report.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let kind = self.kind()?;
        let again = Again::of(&self.folder)?;
        let answer = reflected(again.answer, self.map.as_deref())?;
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
        let bytes = match kind {
            Kind::Html => page(&content).into_bytes(),
            Kind::Pdf => pdf(&content, self.paper)?,
        };
        whole::write(&self.output, &bytes)?;
        files::print(&format!("written: {}\n", self.output.display()))?;
        Ok(if again.same { Outcome::Answered } else { Outcome::Short })
    }
}

/// The report as PDF; what it cannot show is told.
#[cfg(feature = "pdf")]
fn pdf(content: &Content, paper: Paper) -> Result<Vec<u8>, Failure> {
    let paper = match paper {
        Paper::A4 => crate::page::Paper::A4,
        Paper::Letter => crate::page::Paper::Letter,
    };
    let pdf = crate::page::pdf(content, paper)?;
    pdf.unset.iter().for_each(|told| eprintln!("{told}"));
    Ok(pdf.bytes)
}

/// Told where this build writes none.
#[cfg(not(feature = "pdf"))]
fn pdf(_: &Content, _: Paper) -> Result<Vec<u8>, Failure> {
    Err("this azimark was built without the feature pdf: write .html and print that".to_owned())
}
