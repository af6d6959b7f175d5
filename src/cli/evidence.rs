//! What was seen, as `locate` and the commands that go on from there take it: read, checked, solved.

use std::{
    ffi::OsStr,
    path::{Path, PathBuf},
};

use clap::{Args, Parser};

use crate::{
    check,
    cli::{
        Failure,
        by_kind::{self, ByKind, Said},
        files,
        gather_levels::OfLevels,
        model::OfModel,
        parse,
    },
    finding::Finding,
    ingest::{self, Kind},
    inquiry::{self, NoPlace, Seen},
    north,
    observe::{LevelReading, ReadBearing},
    radio::Environment,
    report::Answer,
    solve::{Loss, Options},
    units::{Angle, Hertz, Metres, Sigma},
};

/// What is stated once for all files.
#[derive(Args, Clone, Debug)]
pub struct Stated {
    /// North of bearings that do not say theirs: true, magnetic or grid
    #[arg(long, value_name = "NORTH", value_parser = parse::north)]
    north: Option<ingest::NorthLabel>,
    /// Grid of eastings and northings that do not say theirs, such as EPSG:2056 or "UTM 33 north"
    #[arg(long, value_name = "GRID", value_parser = parse::grid)]
    grid: Option<ingest::StatedGrid>,
    /// Time zone of times without an offset, such as America/Los_Angeles
    #[arg(long, value_name = "ZONE", value_parser = parse::zone)]
    zone: Option<String>,
    /// Date of bearings without one; the declination changes with it
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = parse::date)]
    date: Option<jiff::civil::Date>,
    /// Declination by hand instead of the model's, such as 13.9E
    #[arg(long, value_name = "DEGREES", value_parser = parse::declination, allow_hyphen_values = true)]
    declination: Option<Angle>,
    /// One standard deviation of the declination given by hand, in degrees
    #[arg(long, value_name = "DEGREES", value_parser = parse::sigma, requires = "declination", default_value = "0.5")]
    declination_sigma: Sigma<Angle>,
}

/// Files and what is stated about them.
#[derive(Args, Clone, Debug)]
pub struct Evidence {
    /// Files of bearings, swings, levels, sectors, tracks, told apart by their columns; - reads bearings
    #[arg(required_unless_present = "said", value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Kind of a file that does not show it: KIND=FILE with bearings, levels, sectors, swings or track; may be repeated
    #[arg(long = "as", value_name = "KIND=FILE", value_parser = by_kind::said)]
    said: Vec<Said>,
    #[command(flatten)]
    stated: Stated,
    #[command(flatten)]
    of_levels: OfLevels,
    /// Kind of place that levels were taken in: sets what is assumed of exponent, power and shadowing
    #[arg(long, value_name = "PLACE", value_parser = parse::environment)]
    environment: Option<Environment>,
    /// Frequency, where the files do not say it: --environment needs it
    #[arg(long, value_name = "FREQUENCY", value_parser = parse::frequency)]
    frequency: Option<Hertz>,
    #[command(flatten)]
    of_model: OfModel,
    /// How far from the stands to search, such as 30km [default: 50 km, or five times their spread]
    #[arg(long, value_name = "LENGTH", value_parser = parse::length)]
    within: Option<Metres>,
}

/// Bearings of all files with what there is to tell.
pub struct Gathered {
    pub bearings: Vec<ReadBearing>,
    pub findings: Vec<Finding>,
}

/// Levels as they were read, with the places that a track gave them.
#[derive(Default)]
pub struct Logged {
    /// Of receivers that were carried about.
    pub readings: Vec<LevelReading>,
    /// Of a receiver that stood still.
    pub monitor: Vec<LevelReading>,
}

impl Stated {
    /// What is stated about how files are written.
    pub fn settings(&self) -> ingest::Settings {
        ingest::Settings { north: self.north, zone: self.zone.clone(), grid: self.grid, ..Default::default() }
    }

    /// Reads and checks all files.
    pub fn gather(&self, paths: &[PathBuf]) -> Result<Gathered, Failure> {
        let settings = self.settings();
        let (mut rows, mut findings) = (Vec::new(), Vec::new());
        for path in paths {
            let (name, bytes) = files::read(path)?;
            let mut reading = ingest::bearings(&name, &bytes, &settings);
            rows.append(&mut reading.rows);
            findings.append(&mut reading.findings);
        }
        let mut once = check::repeats(rows);
        findings.append(&mut once.findings);
        let mut placed = check::positions(once.usable);
        findings.append(&mut placed.findings);
        Ok(Gathered { bearings: placed.usable, findings })
    }

    /// Reads and checks tables of sectors, all together: what one table alone does not show, two may.
    pub fn sectors(&self, paths: &[PathBuf], of_levels: &OfLevels) -> Result<check::CheckedSectors, Failure> {
        let settings = of_levels.stated(self.settings());
        let (mut rows, mut findings) = (Vec::new(), Vec::new());
        for path in paths {
            let (name, bytes) = files::read(path)?;
            let mut reading = ingest::sectors(&name, &bytes, &settings);
            findings.append(&mut reading.findings);
            rows.append(&mut reading.rows);
        }
        let mut resolved = north::resolve_sectors(&rows, &self.north());
        findings.append(&mut resolved.findings);
        let mut checked = check::sectors(resolved.sectors);
        findings.append(&mut checked.findings);
        Ok(check::CheckedSectors { findings, ..checked })
    }

    /// How to bring bearings to true north.
    pub fn north(&self) -> north::Settings {
        north::Settings {
            date: self.date,
            declination: self.declination.map(|angle| (angle, self.declination_sigma)),
        }
    }
}

/// Evidence without anything else.
#[derive(Parser)]
struct Bare {
    #[command(flatten)]
    evidence: Evidence,
}

impl Evidence {
    /// Reads and solves, and prints nothing.
    pub fn solved(&self, loss: Loss) -> Result<Result<Answer, NoPlace>, Failure> {
        Ok(self.solved_and_logged(loss)?.map(|(answer, _)| answer))
    }

    /// The same with the levels as they were read.
    pub fn solved_and_logged(&self, loss: Loss) -> Result<Result<(Answer, Logged), NoPlace>, Failure> {
        let files = ByKind::of(&self.files, &self.said)?;
        let (mut seen, logged) = self.seen(&files)?;
        let mut options = Options { loss, ..Options::default() };
        let prior = match self.environment {
            Some(environment) => Some(seen.prior(environment, self.frequency).ok_or_else(|| {
                format!("--environment {} needs the frequency: add --frequency 450MHz", environment.word())
            })?),
            None => None,
        };
        if let Some((law, told)) = self.of_model.law(&seen, self.environment, self.frequency)? {
            options.levels = options.levels.of_law(&law);
            seen.findings.push(told);
        }
        // A fixed law stands in place of what the kind of place lets one assume.
        let prior = prior.filter(|_| !self.of_model.stated());
        let answer = inquiry::answer(seen, &self.conditions(), prior.as_ref(), options);
        Ok(answer.map(|answer| (answer, logged)))
    }

    /// Whether levels follow a fixed model, which only answers of the command line can.
    pub const fn of_model(&self) -> bool {
        self.of_model.stated()
    }

    /// What is stated, for the library.
    pub fn conditions(&self) -> inquiry::Stated {
        inquiry::Stated {
            settings: self.of_levels.stated(self.stated.settings()),
            north: self.stated.north(),
            clock_offset: self.of_levels.clock_offset(),
            environment: self.environment,
            frequency: self.frequency,
            within: self.within,
        }
    }

    /// The files of observations with their kinds.
    pub fn documents(&self) -> Result<Vec<(Kind, PathBuf)>, Failure> {
        let by_kind = ByKind::of(&self.files, &self.said)?;
        let of = |kind: Kind, paths: Vec<PathBuf>| paths.into_iter().map(move |p| (kind, p));
        let all = of(Kind::Bearings, by_kind.bearings)
            .chain(of(Kind::Swings, by_kind.swings))
            .chain(of(Kind::Levels, by_kind.levels))
            .chain(of(Kind::Track, by_kind.tracks))
            .chain(of(Kind::Sectors, by_kind.sectors));
        Ok(all.collect())
    }

    /// The log of a receiver that stood still.
    pub const fn monitor(&self) -> Option<&PathBuf> {
        self.of_levels.monitor()
    }

    /// The only file that is named, where nothing is stated beside it: a folder of a case is named so.
    pub fn alone(&self) -> Option<&Path> {
        let [file] = self.files.as_slice() else { return None };
        // Compared with what the bare name gives, so that no option that is added later can be forgotten here.
        let bare = Bare::try_parse_from([OsStr::new("azimark"), OsStr::new("--"), file.as_os_str()]).ok()?;
        (format!("{self:?}") == format!("{:?}", bare.evidence)).then_some(file)
    }

    /// Every file that is read.
    pub fn named(&self) -> Vec<&Path> {
        let said = self.said.iter().map(Said::path);
        self.files.iter().chain(said).chain(self.of_levels.monitor()).map(PathBuf::as_path).collect()
    }

    /// Reads, places and checks everything.
    fn seen(&self, files: &ByKind) -> Result<(Seen, Logged), Failure> {
        let (mut seen, mut logged) = (Seen::default(), Logged::default());
        if !files.bearings.is_empty() {
            let mut gathered = self.stated.gather(&files.bearings)?;
            seen.bearings = gathered.bearings;
            seen.findings.append(&mut gathered.findings);
        }
        for path in &files.swings {
            let (name, bytes) = files::read(path)?;
            seen.swings(&name, &bytes, &self.of_levels.stated(self.stated.settings()));
        }
        if !files.levels.is_empty() || !files.tracks.is_empty() || self.of_levels.names_a_log() {
            let day = self.stated.north().date;
            let log = self.of_levels.gather(&files.levels, &files.tracks, self.stated.settings(), day)?;
            seen.findings.extend(log.findings);
            seen.levels(&log.readings, &log.monitor);
            logged = Logged { readings: log.readings, monitor: log.monitor };
        }
        if !files.sectors.is_empty() {
            let mut sectors = self.stated.sectors(&files.sectors, &self.of_levels)?;
            seen.findings.append(&mut sectors.findings);
            seen.sectors = sectors.usable;
        }
        Ok((seen, logged))
    }
}
