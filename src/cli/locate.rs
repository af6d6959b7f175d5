//! `azimark locate`.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use crate::{
    check,
    cli::{
        Failure, Outcome,
        by_kind::{self, ByKind, Said},
        files,
        gather_levels::OfLevels,
        next::Plain,
        parse, whole,
    },
    export::{self, Background},
    finding::{Finding, Severity},
    ingest::{self, Kind},
    inquiry::{self, NoPlace, Seen},
    north,
    numeric::loss,
    observe::ReadBearing,
    page::{self, Content, Made},
    radio::Environment,
    report::{self, Answer},
    solve::{self, Loss, Options},
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

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Locate {
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
    /// How far from the stands to search, such as 30km [default: 50 km, or five times their spread]
    #[arg(long, value_name = "LENGTH", value_parser = parse::length)]
    within: Option<Metres>,
    /// How a miss is judged
    #[arg(long, value_enum, value_name = "LOSS", default_value = "mixture")]
    loss: LossName,
    /// Also print the reasoning: what each observation says, which disagree, what would change the answer
    #[arg(long)]
    explain: bool,
    /// What to print
    #[arg(long, value_enum, value_name = "FORMAT", default_value = "text")]
    format: Format,
    /// Also write a file, by its ending: .html (the record, to print), .geojson, .json, .svg or .txt; may be repeated
    #[arg(long, short, value_name = "FILE")]
    output: Vec<PathBuf>,
    /// GeoJSON of streets or outlines to draw an .svg on
    #[arg(long, value_name = "FILE")]
    map: Option<PathBuf>,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum LossName {
    /// Each bearing may be direct, reversed or foreign
    Mixture,
    /// Squared misses: every bearing counts in full
    Squared,
    /// Huber's loss, constant 1.345
    Huber,
    /// Tukey's biweight, constant 4.685
    Tukey,
    /// Cauchy's loss, constant 2.385
    Cauchy,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Format {
    /// The answer in words
    Text,
    /// Everything, for programs
    Json,
    /// Features for a map
    Geojson,
    /// A drawing
    Svg,
    /// The record as a page to print
    Html,
}

/// Bearings of all files with what there is to tell.
pub struct Gathered {
    pub bearings: Vec<ReadBearing>,
    pub findings: Vec<Finding>,
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

impl Locate {
    /// Reads, solves, prints and writes.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let writers = self.writers()?;
        self.keep_inputs()?;
        let background = background(self.map.as_deref())?;
        let answer = match self.solved()? {
            Ok(answer) => answer,
            Err(none) => {
                self.without(&none.why, &none.findings)?;
                return Ok(self.kept(&writers));
            }
        };
        files::print(&self.written(self.format, &answer, &background)?)?;
        if self.explain {
            self.reasoning(&answer)?;
        }
        for (path, format) in writers {
            files::write(path, &self.written(format, &answer, &background)?)?;
            eprintln!("written: {}", path.display());
        }
        if self.format != Format::Text {
            tell(&answer.findings);
        }
        Ok(if answer.complete() { Outcome::Answered } else { Outcome::Short })
    }

    /// Says which older files are left as they are, where there is no answer.
    fn kept(&self, writers: &[(&PathBuf, Format)]) -> Outcome {
        for (path, _) in writers.iter().filter(|(path, _)| path.exists()) {
            eprintln!("not written: {} (the older file there is not an answer to this)", path.display());
        }
        Outcome::Short
    }

    /// The command for this evidence with everything else as it is by default.
    pub fn of(
        files: Vec<PathBuf>,
        said: Vec<Said>,
        stated: Stated,
        of_levels: OfLevels,
        (environment, frequency, within): (Option<Environment>, Option<Hertz>, Option<Metres>),
    ) -> Self {
        let (loss, format) = (LossName::Mixture, Format::Text);
        let (output, map) = (Vec::new(), None);
        let explain = false;
        Self {
            files,
            said,
            stated,
            of_levels,
            environment,
            frequency,
            within,
            loss,
            explain,
            format,
            output,
            map,
        }
    }

    /// The format of a command that prints no drawing and writes no files.
    pub fn plain_format(&self) -> Result<Plain, Failure> {
        if !self.output.is_empty() || self.explain || self.map.is_some() {
            return Err(
                "--output, --explain and --map belong to locate: send what is printed into a file".to_owned()
            );
        }
        match self.format {
            Format::Text => Ok(Plain::Text),
            Format::Json => Ok(Plain::Json),
            Format::Geojson => Ok(Plain::Geojson),
            Format::Svg | Format::Html => {
                Err("there is no drawing of this: write --format geojson for a map".to_owned())
            }
        }
    }

    /// Reads and solves, and prints nothing.
    pub fn solved(&self) -> Result<Result<Answer, NoPlace>, Failure> {
        let files = ByKind::of(&self.files, &self.said)?;
        self.answer(self.seen(&files)?)
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

    /// Every file that is read.
    pub fn named(&self) -> Vec<&Path> {
        let said = self.said.iter().map(Said::path);
        let all = self.files.iter().chain(said).chain(self.of_levels.monitor()).chain(&self.map);
        all.map(PathBuf::as_path).collect()
    }

    /// Whether it would print something else than the answer in words, or write files.
    pub fn writes(&self) -> bool {
        !self.output.is_empty() || self.format != Format::Text || self.explain
    }

    /// Reads, places and checks everything.
    fn seen(&self, files: &ByKind) -> Result<Seen, Failure> {
        let mut seen = Seen::default();
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
        }
        if !files.sectors.is_empty() {
            let mut sectors = self.stated.sectors(&files.sectors, &self.of_levels)?;
            seen.findings.append(&mut sectors.findings);
            seen.sectors = sectors.usable;
        }
        Ok(seen)
    }

    /// The answer, or why there is none.
    fn answer(&self, seen: Seen) -> Result<Result<Answer, NoPlace>, Failure> {
        let prior = match self.environment {
            Some(environment) => Some(seen.prior(environment, self.frequency).ok_or_else(|| {
                format!("--environment {} needs the frequency: add --frequency 450MHz", environment.word())
            })?),
            None => None,
        };
        let options = Options { loss: self.loss.loss(), ..Options::default() };
        Ok(inquiry::answer(seen, &self.conditions(), prior.as_ref(), options))
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

    fn written(&self, format: Format, answer: &Answer, background: &Background) -> Result<String, Failure> {
        Ok(match format {
            Format::Text => answer.to_string(),
            Format::Json => export::json(answer),
            Format::Geojson => export::geojson(answer),
            Format::Svg => export::drawing(answer, background),
            Format::Html => self.page(answer, background)?,
        })
    }

    /// The record, with the command as it was given less what it wrote, and the files that it read.
    fn page(&self, answer: &Answer, background: &Background) -> Result<String, Failure> {
        let given = without_outputs(std::env::args_os().skip(1).map(|a| a.to_string_lossy().into_owned()));
        let files = self.named().into_iter().filter(|p| p.as_os_str() != "-");
        let inputs: Result<Vec<_>, Failure> =
            files.map(|p| Ok((p.display().to_string(), whole::digest(p)?.1))).collect();
        let made =
            Made { version: env!("CARGO_PKG_VERSION").to_owned(), command: given.join(" "), inputs: inputs? };
        let overturn = solve::overturn(&answer.fit);
        Ok(page::page(&Content {
            answer,
            overturn: overturn.as_ref(),
            background,
            made,
            case: None,
            form: page::Form::Full,
        }))
    }

    /// The reasoning, after the answer in words; on standard error where the answer is for programs.
    fn reasoning(&self, answer: &Answer) -> Result<(), Failure> {
        let text = answer.explanation(solve::overturn(&answer.fit).as_ref());
        if self.format == Format::Text {
            return files::print(&text);
        }
        eprint!("{text}");
        Ok(())
    }

    fn without(&self, summary: &str, findings: &[Finding]) -> Result<(), Failure> {
        files::print(&match self.format {
            Format::Json => export::json_without(summary, findings),
            Format::Geojson => export::geojson_without(summary, findings),
            Format::Text | Format::Svg | Format::Html => report::wrapped(summary, "", ""),
        })?;
        tell(findings);
        Ok(())
    }

    fn writers(&self) -> Result<Vec<(&PathBuf, Format)>, Failure> {
        self.output
            .iter()
            .map(|path| {
                let ending = path.extension().and_then(|e| e.to_str()).unwrap_or("").to_lowercase();
                let format = match ending.as_str() {
                    "geojson" => Format::Geojson,
                    "json" => Format::Json,
                    "html" | "htm" => Format::Html,
                    "svg" => Format::Svg,
                    "txt" => Format::Text,
                    _ => {
                        return Err(format!(
                            "{}: the ending says what to write: .html, .geojson, .json, .svg or .txt",
                            path.display()
                        ));
                    }
                };
                Ok((path, format))
            })
            .collect()
    }

    /// Notes are never overwritten by an answer, under whatever name they are reached.
    fn keep_inputs(&self) -> Result<(), Failure> {
        let same = |a: &PathBuf, b: &PathBuf| {
            a == b || a.canonicalize().ok().is_some_and(|x| b.canonicalize().ok() == Some(x))
        };
        let inputs: Vec<PathBuf> = self.named().into_iter().map(Path::to_owned).collect();
        match self.output.iter().find(|o| inputs.iter().any(|i| same(i, o))) {
            Some(path) => Err(format!(
                "{} is one of the files to read: name another file for the answer",
                path.display()
            )),
            None => Ok(()),
        }
    }
}

impl LossName {
    fn loss(self) -> Loss {
        match self {
            Self::Mixture => Loss::Mixture,
            Self::Squared => Loss::Classic(loss::Loss::Squared),
            Self::Huber => Loss::Classic(loss::Loss::Huber(loss::HUBER)),
            Self::Tukey => Loss::Classic(loss::Loss::Tukey(loss::TUKEY)),
            Self::Cauchy => Loss::Classic(loss::Loss::Cauchy(loss::CAUCHY)),
        }
    }
}

/// The words of a command without the files that it writes.
fn without_outputs(words: impl Iterator<Item = String>) -> Vec<String> {
    let mut out = Vec::new();
    let mut file_follows = false;
    for word in words {
        let names = ["--output", "-o"].contains(&word.as_str());
        if !names && !file_follows && !word.starts_with("--output=") {
            out.push(word);
        }
        file_follows = names;
    }
    out
}

/// What a drawing lies on.
pub fn background(map: Option<&Path>) -> Result<Background, Failure> {
    let Some(path) = map else { return Ok(Background::default()) };
    let (name, bytes) = files::read(path)?;
    let (ground, findings) = ingest::ground(&name, &bytes);
    if let Some(refusal) = findings.iter().find(|f| f.severity == Severity::Refused) {
        return Err(refusal.to_string());
    }
    tell(&findings);
    Ok(Background { lines: ground.lines, areas: ground.areas })
}

/// Doubts and refusals on standard error, for those who print something else than the text.
pub fn tell(findings: &[Finding]) {
    let doubts: Vec<&Finding> = findings.iter().filter(|f| f.severity != Severity::Assumed).collect();
    for finding in report::told(&doubts) {
        eprintln!("{finding}");
    }
}
