//! `azimark hunt`.

use clap::Args;

use crate::{
    cli::{
        Failure, Outcome, files,
        scenes::{Format, Scenes},
    },
    trial::hunt::{self, Kind},
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Hunt {
    /// Kinds of scenes, with commas between: open, suburb, street, canyon
    #[arg(long, value_name = "KINDS", value_delimiter = ',', value_parser = kind, default_value = "street")]
    kind: Vec<Kind>,
    /// How many scenes of each kind
    #[arg(long = "scenes", value_name = "NUMBER", default_value_t = 100, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    count: u32,
    #[command(flatten)]
    scenes: Scenes,
}

fn kind(text: &str) -> Result<Kind, String> {
    let words: Vec<&str> = hunt::KINDS.iter().map(|k| k.word()).collect();
    let known = Kind::from_word(text.trim()).filter(|k| hunt::KINDS.contains(k));
    known.ok_or_else(|| format!("write some of {}", words.join(", ")))
}

impl Hunt {
    /// Hunts and prints the table.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let seed = self.scenes.seed;
        let writers = self.scenes.writers(hunt::json, hunt::plot)?;
        let wanted = hunt::tasks(&self.kind, self.count);
        let format = Format {
            name: "the file of hunts",
            header: hunt::header,
            read: hunt::read,
            line: hunt::Outcome::line,
        };
        let outcomes = self.scenes.outcomes(&wanted, &format, |o| o.task, &|left, threads, each| {
            hunt::run(seed, left, threads, each).map_err(|e| e.to_string())
        })?;
        let rows = hunt::rows(&outcomes);
        files::print(&hunt::table(&rows, seed))?;
        for (path, text) in writers {
            files::write(path, &text(&rows, seed))?;
        }
        Ok(Outcome::Answered)
    }
}
