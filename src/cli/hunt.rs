//! `azimark hunt`.

use std::{
    collections::BTreeSet,
    fs::{File, OpenOptions},
    io::Write,
    path::{Path, PathBuf},
};

use clap::Args;

use crate::{
    cli::{Failure, Outcome, files, progress::Progress},
    report::count,
    trial::hunt::{self, Kind, Row, Task},
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Hunt {
    /// Kinds of scenes, with commas between: open, suburb, street, canyon
    #[arg(long, value_name = "KINDS", value_delimiter = ',', value_parser = kind, default_value = "street")]
    kind: Vec<Kind>,
    /// How many scenes of each kind
    #[arg(long, value_name = "NUMBER", default_value_t = 100, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    scenes: u32,
    /// Number from which all scenes follow
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    seed: u64,
    /// How many scenes at a time; the table is the same with any number
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u16).range(1..=1024))]
    threads: Option<u16>,
    /// Keep finished scenes in this file, and do not hunt again in those that are in it
    #[arg(long, value_name = "FILE")]
    resume: Option<PathBuf>,
    /// Also write the rows to FILE.json, or a figure of minutes against shares to FILE.svg; may be repeated
    #[arg(long, value_name = "FILE")]
    output: Vec<PathBuf>,
}

fn kind(text: &str) -> Result<Kind, String> {
    let words: Vec<&str> = hunt::KINDS.iter().map(|k| k.word()).collect();
    let known = Kind::from_word(text.trim()).filter(|k| hunt::KINDS.contains(k));
    known.ok_or_else(|| format!("write some of {}", words.join(", ")))
}

/// Hunts in a file may be this long.
const MOST_BYTES: usize = 1 << 30;

type Writer = fn(&[Row], u64) -> String;

impl Hunt {
    /// Hunts and prints the table.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let writers = self.writers()?;
        let wanted = hunt::tasks(&self.kind, self.scenes);
        let (mut outcomes, mut kept) = self.kept()?;
        let key = |t: &Task| (t.kind as u8, t.number);
        let asked: BTreeSet<_> = wanted.iter().map(key).collect();
        outcomes.retain(|o| asked.contains(&key(&o.task)));
        let done: BTreeSet<_> = outcomes.iter().map(|o| key(&o.task)).collect();
        let left: Vec<Task> = wanted.iter().filter(|t| !done.contains(&key(t))).copied().collect();
        if self.resume.is_some() && !done.is_empty() {
            eprintln!(
                "{} taken from the file, {} to hunt in",
                count(done.len(), "scene", "scenes"),
                left.len()
            );
        }
        self.attempt(&left, wanted.len(), &mut |outcome| {
            if let Some(file) = &mut kept {
                file.write_all(format!("{}\n", outcome.line()).as_bytes())?;
            }
            outcomes.push(outcome);
            Ok(())
        })?;
        let rows = hunt::rows(&outcomes);
        files::print(&hunt::table(&rows, self.seed))?;
        for (path, text) in writers {
            files::write(path, &text(&rows, self.seed))?;
        }
        Ok(Outcome::Answered)
    }

    fn attempt(
        &self,
        left: &[Task],
        all: usize,
        each: &mut dyn FnMut(hunt::Outcome) -> std::io::Result<()>,
    ) -> Result<(), Failure> {
        let cores = || std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
        let threads = self.threads.map_or_else(cores, usize::from);
        let mut progress = Progress::on_terminal("scenes", all as u64);
        let mut done = (all - left.len()) as u64;
        let mut written = Ok(());
        hunt::run(self.seed, left, threads, &mut |outcome| {
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
    fn kept(&self) -> Result<(Vec<hunt::Outcome>, Option<File>), Failure> {
        let Some(path) = &self.resume else { return Ok((Vec::new(), None)) };
        let name = path.display();
        let text = if path.exists() {
            let (name, bytes) = files::read_most(path, MOST_BYTES)?;
            if bytes.len() > MOST_BYTES {
                return Err(format!("{name} is longer than 1 GiB: name another file"));
            }
            String::from_utf8(bytes).map_err(|_| format!("{name} is not the file of hunts: name another"))?
        } else {
            String::new()
        };
        let log =
            hunt::read(&text, self.seed).map_err(|flaw| format!("{name} cannot be gone on with: {flaw}"))?;
        if log.half {
            eprintln!("{name} ends within a line: that scene is hunted in again");
        }
        let failed = |e: std::io::Error| format!("{name} could not be written: {e}");
        let mut file = OpenOptions::new().create(true).append(true).open(path).map_err(failed)?;
        file.set_len(log.whole as u64).map_err(failed)?;
        if log.whole == 0 {
            file.write_all(format!("{}\n", hunt::header(self.seed)).as_bytes()).map_err(failed)?;
        }
        Ok((log.outcomes, Some(file)))
    }

    /// Which writer each output has, before anything is hunted.
    fn writers(&self) -> Result<Vec<(&PathBuf, Writer)>, Failure> {
        let writer = |path: &'_ PathBuf| match path.extension().and_then(|e| e.to_str()) {
            Some("json") => Ok(hunt::json as Writer),
            Some("svg") => Ok(hunt::plot as Writer),
            _ => Err(format!("{}: write a name that ends in .json or .svg", path.display())),
        };
        self.output.iter().map(|path| writer(path).map(|w| (path, w))).collect()
    }
}
