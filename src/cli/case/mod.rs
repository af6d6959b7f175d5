//! `azimark case`.

mod add;
mod again;
mod conclude;
mod folder;
mod keep;
mod own_system;
mod replay;
mod show;
mod verify;

use std::path::PathBuf;

use clap::{Args, Subcommand};
use jiff::{Timestamp, Unit};

use crate::{
    case::{Entry, Event, LOG, MANIFEST, Manifest, SCHEMA},
    cli::{Failure, Outcome, files, parse, whole},
    units::Hertz,
};

pub use again::Again;
pub use conclude::command;
pub use folder::found;
pub use keep::{about, keep, noted};

use folder::Writing;

const AFTER: &str = "\
A case in six commands:
  azimark case new harbour --title \"Noise on 841.5 MHz\" --by \"spectrum manager\"
  azimark case add harbour bearings.csv walk.csv --by technician --device \"receiver 2\"
  azimark case note harbour \"The owner switched it off at 14:05; the noise went\" --by technician
  azimark case own-system harbour --on-load -118.5 --on-antenna -104 --keyed -104.2 --by technician
  azimark case conclude harbour --by \"spectrum manager\"
  azimark case verify harbour

Who: a role, not a name. Nothing that was written is changed afterwards: a mistake is corrected by a note.";

/// Arguments of the command.
#[derive(Args, Debug)]
#[command(after_help = AFTER)]
pub struct Case {
    #[command(subcommand)]
    step: Step,
}

#[derive(Debug, Subcommand)]
enum Step {
    /// Open a case in a new folder
    New(New),
    /// Copy files in as they are, with their SHA-256 and where they come from
    Add(add::Add),
    /// Note something in words
    Note(Note),
    /// Judge by levels whether the own system makes it, and keep the levels
    OwnSystem(own_system::TryOwn),
    /// Locate from files of the case and keep the answer with all that is needed to compute it again
    Conclude(conclude::Conclude),
    /// Show what the case holds
    Show(show::Show),
    /// Compute every hash and the conclusion again, and say what differs
    Verify(verify::Verify),
}

impl Case {
    /// Runs one step.
    pub fn run(&self) -> Result<Outcome, Failure> {
        match &self.step {
            Step::New(step) => step.run(),
            Step::Add(step) => step.run(),
            Step::Note(step) => step.run(),
            Step::OwnSystem(step) => step.run(),
            Step::Conclude(step) => step.run(),
            Step::Show(step) => step.run(),
            Step::Verify(step) => step.run(),
        }
    }
}

/// Arguments of `new`.
#[derive(Args, Debug)]
struct New {
    /// Folder of the case; it is made where there is none
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// What the case is about, in a few words
    #[arg(long, value_name = "WORDS", value_parser = words)]
    title: String,
    /// Who opens it, by role
    #[arg(long, value_name = "ROLE", value_parser = words)]
    by: String,
    /// Whose service suffers
    #[arg(long, value_name = "WORDS", value_parser = words)]
    victim: Option<String>,
    /// What is complained about
    #[arg(long, value_name = "WORDS", value_parser = words)]
    complaint: Option<String>,
    /// The frequency, such as 841.5MHz
    #[arg(long, value_name = "FREQUENCY", value_parser = parse::frequency)]
    frequency: Option<Hertz>,
    /// Licence or call sign of the service that suffers
    #[arg(long, value_name = "WORDS", value_parser = words)]
    licence: Option<String>,
    /// The one point of contact, by role
    #[arg(long, value_name = "WORDS", value_parser = words)]
    contact: Option<String>,
    /// Time zone to show times in beside UTC, such as America/Los_Angeles
    #[arg(long, value_name = "ZONE", value_parser = parse::zone)]
    zone: Option<String>,
}

impl New {
    fn run(&self) -> Result<Outcome, Failure> {
        let manifest = Manifest {
            schema: SCHEMA,
            title: self.title.clone(),
            opened: now(),
            by: self.by.clone(),
            victim: self.victim.clone(),
            complaint: self.complaint.clone(),
            frequency_hz: self.frequency.map(Hertz::value),
            licence: self.licence.clone(),
            contact: self.contact.clone(),
            zone: self.zone.clone(),
        };
        let entry = Writing::open_new(&self.folder, &manifest)?;
        files::print(&format!(
            "The case is open: {} says what it is about, {} what happens to it.\n{}",
            self.folder.join(MANIFEST).display(),
            self.folder.join(LOG).display(),
            acknowledged(&entry)
        ))?;
        Ok(Outcome::Answered)
    }
}

/// Arguments of `note`.
#[derive(Args, Debug)]
struct Note {
    /// Folder of the case
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// What to note; - takes notes from standard input, one a line, each kept before the next is read
    #[arg(value_name = "TEXT", allow_hyphen_values = true)]
    text: String,
    /// Who notes it, by role
    #[arg(long, value_name = "ROLE", value_parser = words)]
    by: String,
}

impl Note {
    fn run(&self) -> Result<Outcome, Failure> {
        if self.text != "-" {
            return self.keep(&self.text);
        }
        for line in whole::lines(std::io::stdin().lock()) {
            let line = line?;
            if !line.trim().is_empty() {
                self.keep(&line)?;
            }
        }
        Ok(Outcome::Answered)
    }

    fn keep(&self, text: &str) -> Result<Outcome, Failure> {
        let text = words(text).map_err(|why| format!("the note: {why}"))?;
        let entry = Writing::begin(&self.folder)?.append(now(), &self.by, Event::Note { text })?;
        files::print(&acknowledged(&entry))?;
        Ok(Outcome::Answered)
    }
}

/// The line that says that an entry is kept: whatever happens from here on, it is in the log.
fn acknowledged(entry: &Entry) -> String {
    format!("entry {} is kept ({})\n", entry.entry, entry.time)
}

/// The time of an entry, to the millisecond.
fn now() -> Timestamp {
    let now = Timestamp::now();
    now.round(Unit::Millisecond).unwrap_or(now)
}

/// Longest text of one entry, characters.
const MOST_WORDS: usize = 20_000;

/// Words that say something and are not endless.
pub fn words(text: &str) -> Result<String, String> {
    let text = text.trim();
    if text.is_empty() {
        return Err("say something".to_owned());
    }
    match text.chars().count() {
        n if n > MOST_WORDS => {
            Err(format!("{n} characters are too many: {MOST_WORDS} at most; add a file instead"))
        }
        _ => Ok(text.to_owned()),
    }
}
