//! `azimark trial`.

use std::time::Instant;

use clap::Args;

use crate::{
    cli::{
        Failure, Outcome, files,
        scenes::{Format, Scenes},
    },
    trial::{self, Class, Row, Task},
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Trial {
    /// Classes of scenes, with commas between: clean, foreign-25, walk ...; all of them where nothing is named
    #[arg(long, value_name = "CLASSES", value_delimiter = ',', value_parser = class)]
    classes: Vec<Class>,
    /// How many scenes of each class of bearings
    #[arg(long = "scenes", value_name = "NUMBER", default_value_t = 100, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    count: u32,
    /// How many of each class of walks, which take long; a fifth of the others where nothing is said
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u32).range(1..=100_000))]
    walks: Option<u32>,
    #[command(flatten)]
    scenes: Scenes,
}

fn class(text: &str) -> Result<Class, String> {
    let words: Vec<&str> = Class::ALL.iter().map(|c| c.word()).collect();
    Class::from_word(text.trim()).ok_or_else(|| format!("write some of {}", words.join(", ")))
}

impl Trial {
    /// Tries the scenes and prints the table; times go to standard error, since they are never the same.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let seed = self.scenes.seed;
        let writers = self.scenes.writers(trial::json, trial::plot)?;
        let format = Format {
            name: "the file of a trial",
            header: trial::header,
            read: trial::read,
            line: trial::Outcome::line,
        };
        let began = Instant::now();
        let clock = || began.elapsed().as_secs_f64();
        let outcomes = self.scenes.outcomes(&self.tasks(), &format, |o| o.task, &|left, threads, each| {
            trial::run(seed, left, threads, &clock, each).map_err(|e| e.to_string())
        })?;
        let rows = trial::rows(&outcomes);
        files::print(&trial::table(&rows, seed))?;
        for (path, text) in writers {
            files::write(path, &text(&rows, seed))?;
        }
        times(&rows);
        Ok(Outcome::Answered)
    }

    /// The scenes asked for, in order, each once.
    fn tasks(&self) -> Vec<Task> {
        let walks = self.walks.unwrap_or_else(|| self.count.div_ceil(5));
        trial::tasks(&self.classes, self.count, walks)
    }
}

/// What a scene took.
fn times(rows: &[Row]) {
    eprintln!("Median time of a scene, which depends on the machine:");
    for row in rows {
        let ms = row.ms.map_or("–".to_owned(), |ms| format!("{ms:.1} ms"));
        eprintln!("  {:<14}{:<14}{ms:>10}", row.class.word(), row.method.word());
    }
}
