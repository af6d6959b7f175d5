//! `azimark check`.

use std::{
    fmt::Write as _,
    path::{Path, PathBuf},
};

use clap::Args;

use crate::{
    check,
    cli::{Failure, Outcome, files, locate::Stated, parse},
    finding::{Finding, Severity},
    ingest::{self, Kind, LevelSettings, PadIn},
    north,
    observe::{LevelReading, LevelUnit},
    report::{count, told},
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Check {
    /// Files of bearings, logs of levels, tracks (GPX, NMEA 0183); - reads standard input
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    #[command(flatten)]
    stated: Stated,
    /// Unit of levels that do not say theirs: dBm, dBuV (across 50 ohms) or dBuV/m
    #[arg(long, value_name = "UNIT", value_parser = parse::level_unit)]
    level_unit: Option<LevelUnit>,
    /// Whether levels beside a column of attenuators hold them already: added or not-added
    #[arg(long, value_name = "ADDED", value_parser = parse::attenuator)]
    attenuator: Option<PadIn>,
    /// Log of a receiver that stood still meanwhile: it tells when the emitter was off
    #[arg(long, value_name = "FILE")]
    monitor: Option<PathBuf>,
}

/// What was read, in a sentence each, with everything there is to tell.
#[derive(Default)]
struct Told {
    sentences: Vec<String>,
    findings: Vec<Finding>,
    used: usize,
}

impl Check {
    /// Prints what can be used of each kind, then every finding, the gravest first.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let mut told = Told::default();
        let (mut bearings, mut logs, mut tracks, mut turned) = <(Vec<_>, Vec<_>, Vec<_>, Vec<_>)>::default();
        for path in &self.files {
            match kind(path)? {
                Kind::Levels => logs.push(path),
                Kind::Swings => turned.push(path),
                Kind::Track => tracks.push(path),
                Kind::Sectors => {
                    return Err(format!("{} is a table of sectors, which is not read yet", path.display()));
                }
                Kind::Bearings | Kind::Unknown => bearings.push(path.clone()),
            }
        }
        if !bearings.is_empty() {
            self.bearings(&bearings, &mut told)?;
        }
        let monitor = self.monitor.as_ref().map_or(Ok(Vec::new()), |path| self.log(path, &mut told))?;
        for path in logs {
            self.levels(path, &monitor, &mut told)?;
        }
        for path in turned {
            self.swings(path, &mut told)?;
        }
        for path in tracks {
            let (name, bytes) = files::read_most(path, ingest::MAX_LEVEL_BYTES)?;
            let (track, mut findings) = ingest::track(&name, &bytes, self.stated.north().date);
            told.sentences.push(format!("{name}: {} of a track.", count(track.fixes.len(), "fix", "fixes")));
            told.used += track.fixes.len();
            told.findings.append(&mut findings);
        }
        told.print()
    }

    fn bearings(&self, paths: &[PathBuf], told: &mut Told) -> Result<(), Failure> {
        let gathered = self.stated.gather(paths)?;
        told.findings.extend(gathered.findings);
        let mut resolved = north::resolve(&gathered.bearings, &self.stated.north());
        told.findings.append(&mut resolved.findings);
        told.findings.append(&mut check::directions(&resolved.bearings));
        told.sentences
            .push(format!("{} can be used.", count(resolved.bearings.len(), "bearing", "bearings")));
        told.used += resolved.bearings.len();
        Ok(())
    }

    fn levels(&self, path: &Path, monitor: &[LevelReading], told: &mut Told) -> Result<(), Failure> {
        let rows = self.log(path, told)?;
        let mut labelled = check::levels(&rows, monitor);
        let left_out = (0..rows.len()).filter(|i| labelled.left_out(*i)).count();
        told.sentences.push(format!(
            "{}: {} of levels; {} can be used, {left_out} would be left out.",
            path.display(),
            count(rows.len(), "reading", "readings"),
            rows.len() - left_out
        ));
        told.used += rows.len() - left_out;
        told.findings.append(&mut labelled.findings);
        Ok(())
    }

    fn settings(&self) -> ingest::Settings {
        let levels =
            LevelSettings { unit: self.level_unit, attenuator: self.attenuator, ..LevelSettings::default() };
        ingest::Settings { levels, ..self.stated.settings() }
    }

    fn swings(&self, path: &Path, told: &mut Told) -> Result<(), Failure> {
        let (name, bytes) = files::read(path)?;
        let mut reading = ingest::swings(&name, &bytes, &self.settings());
        told.findings.append(&mut reading.findings);
        told.sentences.push(format!(
            "{name}: {} of an antenna can be used.",
            count(reading.rows.len(), "swing", "swings")
        ));
        told.used += reading.rows.len();
        Ok(())
    }

    fn log(&self, path: &Path, told: &mut Told) -> Result<Vec<LevelReading>, Failure> {
        let settings = self.settings();
        let (name, bytes) = files::read_most(path, ingest::MAX_LEVEL_BYTES)?;
        let mut reading = ingest::levels(&name, &bytes, &settings);
        told.findings.append(&mut reading.findings);
        Ok(reading.rows)
    }
}

/// The kind of a file by its beginning. Standard input is taken for bearings: it can be read only once.
fn kind(path: &Path) -> Result<Kind, Failure> {
    if path.as_os_str() == "-" {
        return Ok(Kind::Bearings);
    }
    let (_, head) = files::read_most(path, 1 << 17)?;
    Ok(ingest::kind(&head))
}

impl Told {
    fn print(mut self) -> Result<Outcome, Failure> {
        self.findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
        let of = |severity| self.findings.iter().filter(|f| f.severity == severity).count();
        let (refused, doubtful) = (of(Severity::Refused), of(Severity::Doubtful));
        let mut out = String::new();
        for sentence in &self.sentences {
            let _ = writeln!(out, "{sentence}");
        }
        let _ = writeln!(
            out,
            "{}, {}, {}.",
            count(refused, "refusal", "refusals"),
            count(doubtful, "doubt", "doubts"),
            count(self.findings.len() - refused - doubtful, "assumption", "assumptions")
        );
        for finding in told(&self.findings.iter().collect::<Vec<_>>()) {
            let _ = writeln!(out, "{finding}");
        }
        files::print(&out)?;
        Ok(if refused == 0 && self.used > 0 { Outcome::Answered } else { Outcome::Short })
    }
}
