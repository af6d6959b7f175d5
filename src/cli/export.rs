//! `azimark export`.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use crate::{
    cli::{
        Failure, Outcome,
        case::Again,
        evidence::{Evidence, Logged},
        files,
        locate::{made, tell},
        next::town,
    },
    export::{Divided, Layers, Outgoing},
    plan::{self, Advice, Search, Setup},
    report::{self, Answer, Form, Made},
    solve::Loss,
    streets::Streets,
};

const AFTER: &str = "\
For other programs:
  azimark export bearings.csv -o answer.kml            a globe, or a telephone with a map
  azimark export bearings.csv -o answer.gpx            a receiver in the hand
  azimark export bearings.csv walk.csv -o answer.gpkg  a GIS
  azimark export bearings.csv --to csv -o tables       a folder with a table of each kind
  azimark export harbour -o answer.kml --share         the last conclusion of a case, in the form to pass on

bearings.csv and levels.csv of the tables are the notes as they were read: azimark locate reads them again.
In CSV a text of the notes that begins like a formula gets an apostrophe before it.";

/// Arguments of the command.
#[derive(Args, Debug)]
#[command(after_help = AFTER)]
pub struct Export {
    #[command(flatten)]
    evidence: Evidence,
    /// Format [default: by the ending of --output]
    #[arg(long, value_enum, value_name = "FORMAT")]
    to: Option<To>,
    /// File to write; for csv without --table a folder
    #[arg(long, short, value_name = "FILE")]
    output: PathBuf,
    /// The one table of csv to write, such as bearings, record, levels, stands, readings or regions
    #[arg(long, value_name = "TABLE")]
    table: Option<String>,
    /// For others: places rounded to 0.001° (about 100 m), without remarks, devices and names
    #[arg(long)]
    share: bool,
    /// Division of the search to write too: the division.geojson of azimark divide
    #[arg(long, value_name = "FILE", conflicts_with = "share")]
    division: Option<PathBuf>,
    /// How many stands for the next bearing to propose, 0 to 20
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(0..=20), default_value = "3")]
    next: u8,
    /// Map of the town, for the stands proposed: GeoJSON with streets as lines
    #[arg(long, value_name = "FILE")]
    streets: Option<PathBuf>,
}

/// A format.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum To {
    /// KML 2.3
    Kml,
    /// GPX 1.1
    Gpx,
    /// OGC GeoPackage
    Gpkg,
    /// Tables
    Csv,
    /// GeoJSON (RFC 7946)
    Geojson,
}

/// What was solved, and how.
struct Solved {
    answer: Answer,
    logged: Logged,
    made: Made,
    same: bool,
}

impl Export {
    /// Reads, solves once, and writes.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let to = self.format()?;
        self.keep_inputs()?;
        let streets = town(self.streets.as_deref())?;
        let divided = self.divided()?;
        let Some(solved) = self.solved()? else { return Ok(Outcome::Short) };
        let answer = &solved.answer;
        let advice = (self.next > 0).then(|| self.advice(answer, streets.as_ref()));
        let layers = Layers::of(Outgoing {
            answer,
            readings: &solved.logged.readings,
            monitor: &solved.logged.monitor,
            advice: advice.as_ref().filter(|a| !a.enough),
            divided,
            made: &solved.made,
            form: if self.share { Form::Shared } else { Form::Full },
        });
        self.write(to, &layers)?;
        layers.told.iter().for_each(|told| eprintln!("{told}"));
        tell(&answer.findings);
        Ok(if solved.same && answer.complete() { Outcome::Answered } else { Outcome::Short })
    }

    fn format(&self) -> Result<To, Failure> {
        let ending = self.output.extension().and_then(|e| e.to_str()).unwrap_or("").to_lowercase();
        let by_ending = match ending.as_str() {
            "kml" => Some(To::Kml),
            "gpx" => Some(To::Gpx),
            "gpkg" => Some(To::Gpkg),
            "csv" => Some(To::Csv),
            "geojson" | "json" => Some(To::Geojson),
            _ => None,
        };
        let to = self.to.or(by_ending).ok_or_else(|| {
            format!(
                "{}: the ending says what to write: .kml, .gpx, .gpkg, .csv or .geojson; or add --to",
                self.output.display()
            )
        })?;
        if cfg!(not(feature = "gpkg")) && to == To::Gpkg {
            return Err("this azimark was built without GeoPackage (the feature gpkg)".to_owned());
        }
        if self.table.is_some() && to != To::Csv {
            return Err("--table belongs to --to csv".to_owned());
        }
        Ok(to)
    }

    /// The folder of a case, where the only thing named is one.
    fn case(&self) -> Result<Option<&Path>, Failure> {
        let folder = self.evidence.named().into_iter().find(|p| p.is_dir());
        match (folder, self.evidence.alone()) {
            (None, _) => Ok(None),
            (Some(_), Some(folder)) => Ok(Some(folder)),
            (Some(folder), None) => Err(format!(
                "{} is a folder: a case goes out alone, as it was concluded, without other files and options of locate",
                folder.display()
            )),
        }
    }

    /// The answer; nothing after saying why there is none.
    fn solved(&self) -> Result<Option<Solved>, Failure> {
        if let Some(folder) = self.case()? {
            let Again { answer, logged, made, same, .. } = Again::of(folder)?;
            return Ok(Some(Solved { answer, logged, made, same }));
        }
        match self.evidence.solved_and_logged(Loss::Mixture)? {
            Ok((answer, logged)) => {
                let made = made(&self.evidence.named())?;
                Ok(Some(Solved { answer, logged, made, same: true }))
            }
            Err(none) => {
                files::print(&report::wrapped(&format!("Nothing is written. {}", none.why), "", ""))?;
                tell(&none.findings);
                Ok(None)
            }
        }
    }

    fn advice(&self, answer: &Answer, streets: Option<&Streets>) -> Advice {
        let last = answer.bearings.last().map(|b| b.read().stand.at);
        let from = last.unwrap_or_else(|| answer.fit.centre());
        let setup = Setup { from, streets, search: Search::default(), most: usize::from(self.next) };
        plan::next(&answer.fit, &answer.bearings, &setup)
    }

    fn divided(&self) -> Result<Divided, Failure> {
        let Some(path) = &self.division else { return Ok(Divided::default()) };
        let (name, bytes) = files::read(path)?;
        let text = String::from_utf8(bytes).map_err(|_| format!("{name} is not UTF-8"))?;
        Divided::read(&name, &text).map_err(|finding| finding.to_string())
    }

    /// Notes and cases are never overwritten by an answer.
    fn keep_inputs(&self) -> Result<(), Failure> {
        let mut inputs = self.evidence.named();
        inputs.extend(self.division.as_deref());
        inputs.extend(self.streets.as_deref());
        files::keep_inputs(&[&self.output], &inputs)?;
        let Some(case) = self.case()?.and_then(|c| c.canonicalize().ok()) else { return Ok(()) };
        let folder = self.output.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let inside = |p: &Path| p.canonicalize().is_ok_and(|p| p.starts_with(&case));
        if inside(folder) || inside(&self.output) {
            return Err(format!(
                "{} lies in the folder of the case: name a file outside, so that the case stays as it is",
                self.output.display()
            ));
        }
        Ok(())
    }

    fn write(&self, to: To, layers: &Layers) -> Result<(), Failure> {
        let bytes = match to {
            To::Kml => layers.kml(),
            To::Gpx => layers.gpx(),
            To::Geojson => layers.geojson().into_bytes(),
            To::Csv => return self.tables(layers),
            #[cfg(feature = "gpkg")]
            To::Gpkg => layers.gpkg().map_err(|e| e.to_string())?,
            #[cfg(not(feature = "gpkg"))]
            To::Gpkg => return self.format().map(|_| ()),
        };
        files::write_bytes(&self.output, &bytes)?;
        self.said(&format!("{} features", layers.count()))
    }

    fn said(&self, what: &str) -> Result<(), Failure> {
        let form = if self.share { "form for sharing" } else { "full form" };
        files::print(&format!("written: {} ({what}; {form})\n", self.output.display()))
    }

    /// One table into a file, all into a folder.
    fn tables(&self, layers: &Layers) -> Result<(), Failure> {
        let tables = layers.csv();
        let names: Vec<&str> = tables.iter().map(|t| t.0).collect();
        let ending = self.output.extension().is_some_and(|e| e.eq_ignore_ascii_case("csv"));
        let Some(wanted) = &self.table else {
            if ending && !self.output.is_dir() {
                return Err(format!(
                    "a file takes one table: add --table with one of {}; or name a folder for all of them",
                    names.join(", ")
                ));
            }
            return self.folder(&tables);
        };
        let Some((_, text)) = tables.iter().find(|t| t.0 == wanted) else {
            return Err(format!("there is no table {wanted}: this answer has {}", names.join(", ")));
        };
        files::write(&self.output, text)?;
        self.said(wanted)
    }

    fn folder(&self, tables: &[(&'static str, String)]) -> Result<(), Failure> {
        let folder = &self.output;
        std::fs::create_dir_all(folder)
            .map_err(|e| format!("{} could not be made: {e}", folder.display()))?;
        let at = |name: &str| folder.join(format!("{name}.csv"));
        let paths: Vec<PathBuf> = tables.iter().map(|(name, _)| at(name)).collect();
        let outputs: Vec<&Path> = paths.iter().map(PathBuf::as_path).collect();
        files::keep_inputs(&outputs, &self.evidence.named())?;
        for (path, (_, text)) in paths.iter().zip(tables) {
            files::write(path, text)?;
        }
        let older = Layers::tables().map(at).filter(|p| !paths.contains(p) && p.exists());
        for path in older {
            eprintln!("not written: {} (the older table there is not of this answer)", path.display());
        }
        self.said(&tables.iter().map(|t| format!("{}.csv", t.0)).collect::<Vec<_>>().join(", "))
    }
}
