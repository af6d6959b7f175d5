//! `azimark trial`.

use std::{
    fs::{File, OpenOptions},
    io::Write,
    path::{Path, PathBuf},
    time::Instant,
};

use clap::Args;

use crate::{
    cli::{Failure, Outcome, files, progress::Progress},
    report::count,
    trial::{self, Class, Row, Task},
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Trial {
    /// Classes of scenes, with commas between: clean, foreign-25, walk ...; all of them where nothing is named
    #[arg(long, value_name = "CLASSES", value_delimiter = ',', value_parser = class)]
    classes: Vec<Class>,
    /// How many scenes of each class of bearings
    #[arg(long, value_name = "NUMBER", default_value_t = 100, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    scenes: u32,
    /// How many of each class of walks, which take long; a fifth of the others where nothing is said
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u32).range(1..=100_000))]
    walks: Option<u32>,
    /// Number from which all scenes follow
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    seed: u64,
    /// How many scenes at a time; the table is the same with any number
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u16).range(1..=1024))]
    threads: Option<u16>,
    /// Keep finished scenes in this file, and do not try again those that are in it
    #[arg(long, value_name = "FILE")]
    resume: Option<PathBuf>,
    /// Also write the rows to FILE.json, or a figure of stated against real shares to FILE.svg; may be repeated
    #[arg(long, value_name = "FILE")]
    output: Vec<PathBuf>,
}

fn class(text: &str) -> Result<Class, String> {
    let words: Vec<&str> = Class::ALL.iter().map(|c| c.word()).collect();
    Class::from_word(text.trim()).ok_or_else(|| format!("write some of {}", words.join(", ")))
}

/// A trial in a file may be this long.
const MOST_BYTES: usize = 1 << 30;

type Writer = fn(&[Row], u64) -> String;

impl Trial {
    /// Tries the scenes and prints the table; times go to standard error, since they are never the same.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let writers = self.writers()?;
        let wanted = self.tasks();
        let (mut outcomes, mut kept) = self.kept()?;
        outcomes.retain(|o| wanted.binary_search(&o.task).is_ok());
        let mut done: Vec<Task> = outcomes.iter().map(|o| o.task).collect();
        done.sort_unstable();
        let left: Vec<Task> = wanted.iter().filter(|t| done.binary_search(t).is_err()).copied().collect();
        if self.resume.is_some() && !done.is_empty() {
            let (had, more) = (count(done.len(), "scene", "scenes"), left.len());
            eprintln!("{had} taken from the file, {more} to try");
        }
        self.attempt(&left, wanted.len(), &mut |outcome| {
            if let Some(file) = &mut kept {
                file.write_all(format!("{}\n", outcome.line()).as_bytes())?;
            }
            outcomes.push(outcome);
            Ok(())
        })?;
        let rows = trial::rows(&outcomes);
        files::print(&trial::table(&rows, self.seed))?;
        for (path, text) in writers {
            files::write(path, &text(&rows, self.seed))?;
        }
        times(&rows);
        Ok(Outcome::Answered)
    }

    /// The scenes asked for, in order, each once.
    fn tasks(&self) -> Vec<Task> {
        let walks = self.walks.unwrap_or_else(|| self.scenes.div_ceil(5));
        trial::tasks(&self.classes, self.scenes, walks)
    }

    fn attempt(
        &self,
        left: &[Task],
        all: usize,
        each: &mut dyn FnMut(trial::Outcome) -> std::io::Result<()>,
    ) -> Result<(), Failure> {
        let cores = || std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
        let threads = self.threads.map_or_else(cores, usize::from);
        let began = Instant::now();
        let clock = || began.elapsed().as_secs_f64();
        let mut progress = Progress::on_terminal("scenes", all as u64);
        let mut done = (all - left.len()) as u64;
        let mut written = Ok(());
        trial::run(self.seed, left, threads, &clock, &mut |outcome| {
            done += 1;
            progress.now_at(done);
            written = each(outcome);
            written.is_ok()
        })
        .map_err(|e| e.to_string())?;
        let name = self.resume.as_deref().unwrap_or(Path::new(""));
        written.map_err(|e| format!("{} could not be written: {e}", name.display()))
    }

    /// What the file of an earlier run holds, and the file, ready for more lines.
    fn kept(&self) -> Result<(Vec<trial::Outcome>, Option<File>), Failure> {
        let Some(path) = &self.resume else { return Ok((Vec::new(), None)) };
        let name = path.display();
        let text = if path.exists() {
            let (name, bytes) = files::read_most(path, MOST_BYTES)?;
            if bytes.len() > MOST_BYTES {
                return Err(format!("{name} is longer than 1 GiB: name another file"));
            }
            // Lines are of ASCII: a line that is no text is no outcome either.
            String::from_utf8(bytes)
                .map_err(|_| format!("{name} is not the file of a trial: name another"))?
        } else {
            String::new()
        };
        let log =
            trial::read(&text, self.seed).map_err(|flaw| format!("{name} cannot be gone on with: {flaw}"))?;
        if log.half {
            eprintln!("{name} ends within a line: that scene is tried again");
        }
        let failed = |e: std::io::Error| format!("{name} could not be written: {e}");
        let mut file = OpenOptions::new().create(true).append(true).open(path).map_err(failed)?;
        file.set_len(log.whole as u64).map_err(failed)?;
        if log.whole == 0 {
            file.write_all(format!("{}\n", trial::header(self.seed)).as_bytes()).map_err(failed)?;
        }
        Ok((log.outcomes, Some(file)))
    }

    /// Which writer each output has, before anything is tried.
    fn writers(&self) -> Result<Vec<(&PathBuf, Writer)>, Failure> {
        let writer = |path: &'_ PathBuf| match path.extension().and_then(|e| e.to_str()) {
            Some("json") => Ok(trial::json as Writer),
            Some("svg") => Ok(trial::plot as Writer),
            _ => Err(format!("{}: write a name that ends in .json or .svg", path.display())),
        };
        self.output.iter().map(|path| writer(path).map(|w| (path, w))).collect()
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
