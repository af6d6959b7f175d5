//! `azimark trial`.

use std::{
    fs::{File, OpenOptions},
    io::Write,
    path::{Path, PathBuf},
};

use clap::Args;

use crate::{
    cli::{Failure, Outcome as Ended, files, progress::Progress},
    trial::{self, Class, Outcome, Share},
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Trial {
    /// Classes of scenes, all by default: clean, foreign-10, foreign-25, foreign-40, reflector, sigma-double, sigma-half,
    /// compass-round, compass-side, reversed, near, two-emitters, street, canyon, walk, walk-floor, walk-pattern
    #[arg(value_name = "CLASS", value_parser = class)]
    classes: Vec<Class>,
    /// Scenes of each class
    #[arg(long, value_name = "NUMBER", default_value = "100", value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    scenes: u32,
    /// Number from which every scene follows
    #[arg(long, value_name = "NUMBER", default_value = "1")]
    seed: u64,
    /// Threads; the table does not depend on them [default: as many as the machine has]
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u16).range(1..=256))]
    threads: Option<u16>,
    /// Keep every outcome in this file, and go on from what it holds already
    #[arg(long, value_name = "FILE")]
    keep: Option<PathBuf>,
    /// Also write a file, by its ending: .svg (a drawing) or .md (the table); may be repeated
    #[arg(long, short, value_name = "FILE")]
    output: Vec<PathBuf>,
}

fn class(text: &str) -> Result<Class, String> {
    Class::from_word(text).ok_or_else(|| "no such class; azimark trial --help names them".to_owned())
}

impl Trial {
    /// Draws, solves, counts.
    pub fn run(&self) -> Result<Ended, Failure> {
        for path in &self.output {
            let ending = path.extension().and_then(|e| e.to_str()).unwrap_or("");
            if !["svg", "md"].contains(&ending) {
                return Err(format!("{}: the ending says what to write: .svg or .md", path.display()));
            }
        }
        let (mut kept, mut file) = self.kept()?;
        let classes = if self.classes.is_empty() { Class::ALL.to_vec() } else { self.classes.clone() };
        let all = classes.iter().flat_map(|c| (0..self.scenes).map(|n| (*c, n)));
        let there: std::collections::BTreeSet<(String, u32)> =
            kept.iter().map(|o| (o.class.clone(), o.number)).collect();
        let tasks: Vec<(Class, u32)> =
            all.filter(|(c, n)| !there.contains(&(c.word().to_owned(), *n))).collect();
        let cores = std::thread::available_parallelism().map_or(1, usize::from);
        let mut progress = Progress::of_few("scenes", tasks.len() as u64);
        let (mut done, mut failed) = (0, None);
        trial::run(self.seed, &tasks, self.threads.map_or(cores, usize::from), &mut |found| {
            done += 1;
            progress.at(done);
            failed = file.as_mut().and_then(|f| append(f, &found).err());
            kept.extend(found);
            failed.is_none()
        })
        .map_err(|refusal| format!("a scene cannot be: {refusal}"))?;
        drop(progress);
        if let Some(error) = failed {
            return Err(format!("outcomes could not be kept: {error}"));
        }
        kept.retain(|o| classes.iter().any(|c| c.word() == o.class) && o.number < self.scenes);
        self.tell(&kept)
    }

    fn tell(&self, outcomes: &[Outcome]) -> Result<Ended, Failure> {
        let rows = trial::rows(outcomes);
        let table = trial::table(&rows);
        let told = format!("{}\n{table}\n{LEGEND}", head(trial::overall(&rows), self.seed));
        files::print(&told)?;
        for path in &self.output {
            let svg = path.extension().is_some_and(|e| e == "svg");
            files::write(path, &if svg { trial::chart(&rows) } else { table.clone() })?;
            eprintln!("written: {}", path.display());
        }
        Ok(Ended::Answered)
    }

    /// What was kept before, and the file to keep more in.
    fn kept(&self) -> Result<(Vec<Outcome>, Option<File>), Failure> {
        let Some(path) = &self.keep else { return Ok((Vec::new(), None)) };
        let failed = |e: &dyn std::fmt::Display| format!("{}: {e}", path.display());
        let text = if path.exists() {
            std::fs::read_to_string(path).map_err(|e| failed(&e))?
        } else {
            String::new()
        };
        let (outcomes, cut) = trial::read(&text, self.seed).map_err(|e| failed(&e))?;
        if cut {
            eprintln!("{}: the last line was broken off; its scene is solved again", path.display());
        }
        // What was kept is written anew without the broken line, beside the file and then in its place.
        let lines = outcomes.iter().filter_map(|o| serde_json::to_string(o).ok());
        let whole: String =
            std::iter::once(trial::header(self.seed)).chain(lines).map(|l| l + "\n").collect();
        files::write(path, &whole)?;
        let file = OpenOptions::new().append(true).open(path as &Path).map_err(|e| failed(&e))?;
        Ok((outcomes, Some(file)))
    }
}

fn append(file: &mut File, found: &[Outcome]) -> std::io::Result<()> {
    let lines: Vec<String> =
        found.iter().filter_map(|o| serde_json::to_string(o).ok()).map(|l| l + "\n").collect();
    file.write_all(lines.concat().as_bytes())
}

fn head(overall: Share, seed: u64) -> String {
    let told = overall.value().zip(overall.interval()).map_or_else(
        || "No scene has a 95 % region.".to_owned(),
        |(value, (low, high))| {
            format!(
                "The 95 % regions hold the emitter in {:.1} % of {} scenes (interval {:.1} to {:.1} %).",
                100.0 * value,
                overall.of,
                100.0 * low,
                100.0 * high
            )
        },
    );
    format!("{told} azimark {}, seed {seed}.\n", env!("CARGO_PKG_VERSION"))
}

const LEGEND: &str = "\
none: scenes whose data do not determine a region; they are not counted in the shares.
RMS / bound: root mean square miss over the least that an estimate without bias can reach.
50 %, 90 %, 95 %: how often these regions hold the emitter, in percent; interval: of the last, by Wilson's score.
area: median of the 95 % regions. sure and wrong: one place above 90 %, and the emitter outside of the 99 % region, in percent.
delivered: as azimark locate does it; customary: squared misses or independent levels, stated errors taken as exact.
";
