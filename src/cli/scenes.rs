//! What commands share that work through many invented scenes: the seed, how many at a time, the file that a run which was broken off
//! goes on from, and the files that the rows are written to.

use std::{
    collections::BTreeSet,
    fs::{File, OpenOptions},
    io::Write,
    path::{Path, PathBuf},
};

use clap::Args;

use crate::{
    cli::{Failure, files, progress::Progress},
    report::count,
    trial::{Flaw, Log},
};

/// Arguments of such a command.
#[derive(Args, Debug)]
pub struct Scenes {
    /// Number from which all scenes follow
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub seed: u64,
    /// How many scenes at a time; the table is the same with any number
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u16).range(1..=1024))]
    threads: Option<u16>,
    /// Keep finished scenes in this file, and do not repeat those that are in it
    #[arg(long, value_name = "FILE")]
    resume: Option<PathBuf>,
    /// Also write the rows to FILE.json, or a figure of them to FILE.svg; may be repeated
    #[arg(long, value_name = "FILE")]
    output: Vec<PathBuf>,
}

/// Finished scenes in a file may be this long.
const MOST_BYTES: usize = 1 << 30;

/// What is written to a file, from the rows and the seed.
pub type Writer<R> = fn(&[R], u64) -> String;

/// The file of one kind of outcomes.
pub struct Format<O> {
    /// What the file is, such as `the file of hunts`.
    pub name: &'static str,
    /// Its first line for a seed.
    pub header: fn(u64) -> String,
    /// Reads it.
    pub read: fn(&str, u64) -> Result<Log<O>, Flaw>,
    /// The line of an outcome.
    pub line: fn(&O) -> String,
}

/// Does tasks with so many threads and hands each outcome on as soon as it is there, until that returns false.
pub type Work<'w, T, O> = &'w dyn Fn(&[T], usize, &mut dyn FnMut(O) -> bool) -> Result<(), Failure>;

impl Scenes {
    /// Which writer each output has, before anything is done.
    pub fn writers<R>(&self, json: Writer<R>, plot: Writer<R>) -> Result<Vec<(&Path, Writer<R>)>, Failure> {
        let writer = |path: &Path| match path.extension().and_then(|e| e.to_str()) {
            Some("json") => Ok(json),
            Some("svg") => Ok(plot),
            _ => Err(format!("{}: write a name that ends in .json or .svg", path.display())),
        };
        self.output.iter().map(|path| writer(path).map(|w| (path.as_path(), w))).collect()
    }

    /// The outcomes of the tasks asked for, in no order: those of an earlier run from its file, the others by `work`, kept in the file
    /// as they come.
    pub fn outcomes<T: Copy + Ord, O>(
        &self,
        wanted: &[T],
        format: &Format<O>,
        task: impl Fn(&O) -> T,
        work: Work<'_, T, O>,
    ) -> Result<Vec<O>, Failure> {
        let (mut outcomes, mut kept) = self.kept(format)?;
        let asked: BTreeSet<T> = wanted.iter().copied().collect();
        outcomes.retain(|o| asked.contains(&task(o)));
        let done: BTreeSet<T> = outcomes.iter().map(&task).collect();
        let left: Vec<T> = wanted.iter().filter(|t| !done.contains(t)).copied().collect();
        if self.resume.is_some() && !done.is_empty() {
            let had = count(done.len(), "scene", "scenes");
            eprintln!("{had} taken from the file, {} left to do", left.len());
        }
        let cores = || std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
        let threads = self.threads.map_or_else(cores, usize::from);
        let mut progress = Progress::on_terminal("scenes", wanted.len() as u64);
        let mut written = Ok(());
        work(&left, threads, &mut |outcome| {
            if let Some(file) = &mut kept {
                written = file.write_all(format!("{}\n", (format.line)(&outcome)).as_bytes());
            }
            outcomes.push(outcome);
            progress.now_at(outcomes.len() as u64);
            written.is_ok()
        })?;
        let name = self.resume.as_deref().unwrap_or(Path::new(""));
        written.map_err(|e| format!("{} could not be written: {e}", name.display()))?;
        Ok(outcomes)
    }

    /// What the file of an earlier run holds, and the file, ready for more lines.
    fn kept<O>(&self, format: &Format<O>) -> Result<(Vec<O>, Option<File>), Failure> {
        let Some(path) = &self.resume else { return Ok((Vec::new(), None)) };
        let name = path.display();
        let text = if path.exists() {
            let (name, bytes) = files::read_most(path, MOST_BYTES)?;
            if bytes.len() > MOST_BYTES {
                return Err(format!("{name} is longer than 1 GiB: name another file"));
            }
            // Lines are of ASCII: a line that is no text is no outcome either.
            String::from_utf8(bytes).map_err(|_| format!("{name} is not {}: name another", format.name))?
        } else {
            String::new()
        };
        let log = (format.read)(&text, self.seed)
            .map_err(|flaw| format!("{name} cannot be gone on with: {flaw}"))?;
        if log.half {
            eprintln!("{name} ends within a line: that scene is done again");
        }
        let failed = |e: std::io::Error| format!("{name} could not be written: {e}");
        let mut file = OpenOptions::new().create(true).append(true).open(path).map_err(failed)?;
        file.set_len(log.whole as u64).map_err(failed)?;
        if log.whole == 0 {
            file.write_all(format!("{}\n", (format.header)(self.seed)).as_bytes()).map_err(failed)?;
        }
        Ok((log.outcomes, Some(file)))
    }
}
