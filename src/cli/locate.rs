//! `azimark locate`.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use crate::{
    cli::{
        Failure, Outcome,
        evidence::{Evidence, Logged},
        files,
        next::Plain,
        whole,
    },
    export::{self, Background},
    finding::{Finding, Severity},
    ingest,
    inquiry::NoPlace,
    numeric::loss,
    page::{self, Content, Made},
    report::{self, Answer},
    solve::{self, Loss},
    streets,
    units::{Metres, Sigma},
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Locate {
    #[command(flatten)]
    evidence: Evidence,
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
    /// Also draw levels against their distance from the place quoted, as an .svg
    #[arg(long, value_name = "FILE")]
    profile: Option<PathBuf>,
    /// GeoJSON of streets and buildings: an .svg is drawn on it, and its façades may explain bearings that disagree
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

impl Locate {
    /// Reads, solves, prints and writes.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let writers = self.writers()?;
        self.keep_inputs()?;
        let background = background(self.map.as_deref())?;
        let answer = match self.solved()? {
            Ok(answer) => reflected(answer, self.map.as_deref())?,
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
        if let Some(path) = &self.profile {
            profile(path, &answer)?;
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

    /// The format of a command that prints no drawing and writes no files.
    pub fn plain_format(&self) -> Result<Plain, Failure> {
        if !self.output.is_empty() || self.explain || self.map.is_some() || self.profile.is_some() {
            return Err(
                "--output, --explain, --profile and --map belong to locate: send what is printed into a file"
                    .to_owned(),
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

    /// What was seen.
    pub const fn evidence(&self) -> &Evidence {
        &self.evidence
    }

    /// Reads and solves, and prints nothing.
    pub fn solved(&self) -> Result<Result<Answer, NoPlace>, Failure> {
        self.evidence.solved(self.loss.loss())
    }

    /// The same with the levels as they were read.
    pub fn solved_and_logged(&self) -> Result<Result<(Answer, Logged), NoPlace>, Failure> {
        self.evidence.solved_and_logged(self.loss.loss())
    }

    /// Every file that is read.
    pub fn named(&self) -> Vec<&Path> {
        self.evidence.named().into_iter().chain(self.map.as_deref()).collect()
    }

    /// Whether it would print something else than the answer in words, or write files.
    pub fn writes(&self) -> bool {
        !self.output.is_empty() || self.format != Format::Text || self.explain || self.profile.is_some()
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

    /// The record.
    fn page(&self, answer: &Answer, background: &Background) -> Result<String, Failure> {
        let made = made(&self.named())?;
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

    /// Notes are never overwritten by an answer.
    fn keep_inputs(&self) -> Result<(), Failure> {
        let outputs: Vec<&Path> = self.output.iter().map(PathBuf::as_path).collect();
        files::keep_inputs(&outputs, &self.named())
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

/// The command as it was given less what it wrote, and the files that it read.
pub fn made(files: &[&Path]) -> Result<Made, Failure> {
    let given = without_outputs(std::env::args_os().skip(1).map(|a| a.to_string_lossy().into_owned()));
    let files = files.iter().filter(|p| p.as_os_str() != "-");
    let inputs: Result<Vec<_>, Failure> =
        files.map(|p| Ok((p.display().to_string(), whole::digest(p)?.1))).collect();
    Ok(Made { version: env!("CARGO_PKG_VERSION").to_owned(), command: given.join(" "), inputs: inputs? })
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

/// The answer with the façades of a map tried on the bearings that disagree. What is wrong with the map has been told.
pub fn reflected(mut answer: Answer, map: Option<&Path>) -> Result<Answer, Failure> {
    if let Some(path) = map {
        let (name, bytes) = files::read(path)?;
        answer.tried_on(&streets::facades(&name, &bytes).0);
    }
    Ok(answer)
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

/// Writes the levels against their distance, with the law that they follow; one metre is where the law begins.
fn profile(path: &Path, answer: &Answer) -> Result<(), Failure> {
    let Some(law) = answer.law else {
        return Err("--profile draws levels, and there are none that count here".to_owned());
    };
    let point = |a: &report::Against| export::ProfilePoint {
        distance: a.distance,
        level: a.level,
        heard: if a.below { export::Heard::BelowFloor } else { export::Heard::Measured },
    };
    let points: Vec<export::ProfilePoint> = answer.against().iter().map(point).collect();
    let sigma = Sigma::db(law.shadowing.value());
    let line = sigma.map(|sigma| export::FitLine {
        start: law.start.0,
        reference: Metres::new(1.0),
        exponent: law.exponent.0,
        sigma,
    });
    files::write(
        path,
        &export::profile("Levels against distance from the place quoted", &points, line.as_ref()),
    )?;
    eprintln!("written: {}", path.display());
    Ok(())
}
