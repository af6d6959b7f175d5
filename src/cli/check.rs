//! `azimark check`.

use std::{
    fmt::Write as _,
    path::{Path, PathBuf},
};

use clap::Args;

use crate::{
    check,
    cli::{
        Failure, Outcome,
        by_kind::{self, ByKind, Said},
        evidence::Stated,
        files,
        gather_levels::OfLevels,
    },
    finding::{Finding, Severity},
    ingest, north,
    report::{count, told},
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Check {
    /// Files of bearings, logs of levels, tables of sectors, swings of an antenna, tracks (GPX, NMEA 0183); - reads standard input
    #[arg(required_unless_present = "said", value_name = "FILE")]
    files: Vec<PathBuf>,
    #[command(flatten)]
    stated: Stated,
    #[command(flatten)]
    of_levels: OfLevels,
    /// Kind of a file that does not show it: KIND=FILE with bearings, levels, sectors, swings or track; may be repeated
    #[arg(long = "as", value_name = "KIND=FILE", value_parser = by_kind::said)]
    said: Vec<Said>,
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
        let ByKind { bearings, levels: logs, sectors, swings: turned, tracks } =
            ByKind::of(&self.files, &self.said)?;
        if !bearings.is_empty() {
            self.bearings(&bearings, &mut told)?;
        }
        if !logs.is_empty() || !tracks.is_empty() || self.of_levels.names_a_log() {
            self.levels(&logs, &tracks, &mut told)?;
        }
        for path in &turned {
            self.swings(path, &mut told)?;
        }
        if !sectors.is_empty() {
            self.sectors(&sectors, &mut told)?;
        }
        told.print()
    }

    /// All tables together: what one table alone does not show, two may.
    fn sectors(&self, paths: &[PathBuf], told: &mut Told) -> Result<(), Failure> {
        let mut checked = self.stated.sectors(paths, &self.of_levels)?;
        told.findings.append(&mut checked.findings);
        told.sentences.push(format!("{} can be used.", count(checked.usable.len(), "sector", "sectors")));
        told.used += checked.usable.len();
        Ok(())
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

    fn levels(&self, logs: &[PathBuf], tracks: &[PathBuf], told: &mut Told) -> Result<(), Failure> {
        let gathered =
            self.of_levels.gather(logs, tracks, self.stated.settings(), self.stated.north().date)?;
        told.findings.extend(gathered.findings);
        let mut labelled = check::levels(&gathered.readings, &gathered.monitor);
        told.findings.append(&mut labelled.findings);
        for path in logs {
            let name = path.display().to_string();
            let own = |i: &usize| *gathered.readings[*i].written.file == *name;
            let rows: Vec<usize> = (0..gathered.readings.len()).filter(own).collect();
            let left_out = rows.iter().filter(|i| labelled.left_out(**i)).count();
            told.sentences.push(format!(
                "{name}: {} of levels; {} can be used, {left_out} would be left out.",
                count(rows.len(), "reading", "readings"),
                rows.len() - left_out
            ));
            told.used += rows.len() - left_out;
        }
        for (name, fixes) in &gathered.fixes {
            told.sentences.push(format!("{name}: {} of a track.", count(*fixes, "fix", "fixes")));
            told.used += fixes;
        }
        let mut prepared = check::usable(&gathered.readings, &labelled.labels);
        told.findings.append(&mut prepared.findings);
        Ok(())
    }

    fn swings(&self, path: &Path, told: &mut Told) -> Result<(), Failure> {
        let (name, bytes) = files::read(path)?;
        let mut reading = ingest::swings(&name, &bytes, &self.of_levels.stated(self.stated.settings()));
        told.findings.append(&mut reading.findings);
        told.sentences.push(format!(
            "{name}: {} of an antenna can be used.",
            count(reading.rows.len(), "swing", "swings")
        ));
        told.used += reading.rows.len();
        Ok(())
    }
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
