//! `azimark case conclude`, and computing a conclusion again.

use std::{
    fs,
    path::{Path, PathBuf},
};

use clap::{Args, Parser};

use crate::{
    case::{Concluded, Digest, Event, ORIGINALS, RESULTS, plain},
    cli::{
        Arguments, Command, Failure, Outcome,
        case::{acknowledged, folder::Writing, now, replay::in_originals, words},
        evidence::Logged,
        files, locate, whole,
    },
    export,
    ingest::{self, Kind},
    report::{self, Answer},
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Conclude {
    /// Folder of the case
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// Files of the case to locate from, by the names that show tells [default: all that hold bearings, levels, sectors, swings
    /// or a track]
    #[arg(value_name = "FILE")]
    files: Vec<String>,
    /// Who concludes, by role
    #[arg(long, value_name = "ROLE", value_parser = words)]
    by: String,
    /// Options of azimark locate, after two dashes, such as -- --environment street
    #[arg(last = true, value_name = "OPTIONS")]
    options: Vec<String>,
}

impl Conclude {
    /// Locates, keeps the answer and the entry, and prints the answer.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let mut case = Writing::begin(&self.folder)?;
        let originals = originals(&case);
        let given = match self.files.as_slice() {
            [] => usable(&case, &originals, &self.options)?,
            files => files.to_vec(),
        };
        let read = named(&self.options, &given)?;
        let inputs = inputs(&case, &originals, &read)?;
        let Some(answer) = computed(&self.folder, &self.options, &given)? else {
            eprintln!("No place, so nothing is concluded; a note may say so: azimark case note");
            return Ok(Outcome::Short);
        };
        let result = export::json(&answer);
        let name = case.free_result();
        whole::write(&case.at(RESULTS, &name), result.as_bytes())?;
        let concluded = concluded(self, &answer, given, &inputs, (name, Digest::of(result.as_bytes())));
        let entry = case.append(now(), &self.by, Event::Concluded(Box::new(concluded)))?;
        files::print(&format!("{answer}\n{}", acknowledged(&entry)))?;
        Ok(if answer.complete() { Outcome::Answered } else { Outcome::Short })
    }
}

fn concluded(
    asked: &Conclude,
    answer: &Answer,
    files: Vec<String>,
    inputs: &[(String, Digest)],
    (result, result_sha256): (String, Digest),
) -> Concluded {
    let place = answer.fit.quoted();
    Concluded {
        version: env!("CARGO_PKG_VERSION").to_owned(),
        options: asked.options.clone(),
        files,
        read: inputs.iter().map(|i| i.0.clone()).collect(),
        inputs_sha256: Concluded::digest_of_inputs(inputs),
        result,
        result_sha256,
        summary: answer.summary(),
        lat_deg: place.lat_degrees(),
        lon_deg: place.lon_degrees(),
        region95_m2: answer.region95().as_ref().ok().map(|r| r.area().value()),
    }
}

/// Files that the entries added, with their hashes.
fn originals(case: &Writing) -> Vec<(String, Digest)> {
    let added = |e: &crate::case::Entry| match &e.event {
        Event::Added(a) => Some((a.file.clone(), a.sha256)),
        _ => None,
    };
    case.entries().iter().filter_map(added).collect()
}

/// The originals that show what they hold, without those that an option names.
fn usable(
    case: &Writing,
    originals: &[(String, Digest)],
    options: &[String],
) -> Result<Vec<String>, Failure> {
    let by_option: Vec<PathBuf> = command(options, &[])
        .map(|locate| locate.named().into_iter().map(Path::to_owned).collect())
        .unwrap_or_default();
    let mut out = Vec::new();
    for (name, _) in originals.iter().filter(|(name, _)| !by_option.contains(&PathBuf::from(name))) {
        let (_, head) = files::read_most(&case.at(ORIGINALS, name), 1 << 17)?;
        match ingest::kind(&head) {
            Kind::Unknown => eprintln!("{name}: nothing to locate from; left out"),
            _ => out.push(name.clone()),
        }
    }
    if out.is_empty() && by_option.is_empty() {
        return Err("the case has no file to locate from: azimark case add copies one in".to_owned());
    }
    Ok(out)
}

/// The command that options and files make; it may name nothing but plain names, and write nothing.
pub fn command(options: &[String], given: &[String]) -> Result<locate::Locate, Failure> {
    let line = ["azimark", "locate"].into_iter().map(str::to_owned).chain(options.iter().cloned());
    // A file that is always there satisfies the parser where files are named by options alone.
    let files = ["--".to_owned()].into_iter().chain(given.iter().cloned());
    let line: Vec<String> = line.chain(files).collect();
    match Arguments::try_parse_from(line).map_err(|e| e.to_string())?.command {
        Command::Locate(locate) if locate.writes() => {
            Err("a conclusion writes its own file: leave --output and --format out".to_owned())
        }
        Command::Locate(locate) => Ok(locate),
        other => Err(format!("{other:?} is no way to locate")),
    }
}

/// Every file that the command reads, each once; each must be one of the case.
fn named(options: &[String], given: &[String]) -> Result<Vec<String>, Failure> {
    let locate = command(options, given)?;
    let mut out: Vec<String> = Vec::new();
    for path in locate.named() {
        let name = path.to_str().filter(|name| plain(name)).ok_or_else(|| {
            format!("{} is no name of a file of the case: azimark case show tells them", path.display())
        })?;
        if !out.iter().any(|n| n == name) {
            out.push(name.to_owned());
        }
    }
    Ok(out)
}

/// The hash of each file that is read; fails where one is not what was added.
fn inputs(
    case: &Writing,
    originals: &[(String, Digest)],
    read: &[String],
) -> Result<Vec<(String, Digest)>, Failure> {
    read.iter()
        .map(|name| {
            let Some((_, sha)) = originals.iter().find(|(n, _)| n == name) else {
                return Err(format!("the case has no file {name}: azimark case show tells which it has"));
            };
            match whole::digest(&case.at(ORIGINALS, name))? {
                (_, there) if there == *sha => Ok((name.clone(), *sha)),
                _ => {
                    Err(format!("{ORIGINALS}/{name} is not the file that was added: see azimark case verify"))
                }
            }
        })
        .collect()
}

/// Locates within the folder of originals, so that the answer names files alike wherever the case lies.
pub fn computed(folder: &Path, options: &[String], given: &[String]) -> Result<Option<Answer>, Failure> {
    Ok(computed_and_logged(folder, options, given)?.map(|(answer, _)| answer))
}

/// The same with the levels as they were read.
pub fn computed_and_logged(
    folder: &Path,
    options: &[String],
    given: &[String],
) -> Result<Option<(Answer, Logged)>, Failure> {
    for name in named(options, given)? {
        let path = folder.join(ORIGINALS).join(&name);
        if !fs::symlink_metadata(&path).is_ok_and(|m| m.is_file()) {
            return Err(format!("{ORIGINALS}/{name} is no file of the case"));
        }
    }
    let solved = in_originals(folder, || command(options, given)?.solved_and_logged());
    match solved? {
        Ok(solved) => Ok(Some(solved)),
        Err(none) => {
            eprint!("{}", report::wrapped(&none.why, "", ""));
            locate::tell(&none.findings);
            Ok(None)
        }
    }
}
