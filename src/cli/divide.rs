//! `azimark divide`.

use std::path::{Path, PathBuf};

use clap::Args;

use crate::{
    cli::{Failure, Outcome, evidence::Evidence, files, locate, parse},
    divide::{self, Division, Reach, Spread, Team},
    export,
    finding::{Finding, Severity},
    ingest,
    report::{self, Answer, Heading},
    solve::Loss,
    streets::{Pace, Streets},
    units::Metres,
};

/// How the search is divided.
#[derive(Args, Clone, Debug)]
pub struct HowDivided {
    /// How many teams, or a CSV file of teams: name, lat, lon
    #[arg(long, value_name = "N|FILE", default_value = "1")]
    teams: String,
    /// GeoJSON of streets (names and kinds as OpenStreetMap writes them); without it the ground itself is divided
    #[arg(long, value_name = "FILE")]
    streets: Option<PathBuf>,
    /// Share of the probability to divide, in percent; streets that hold least for each minute are left out
    #[arg(long, value_name = "PERCENT", value_parser = parse::percent, default_value = "95")]
    share: f64,
    /// Probability farther than this from every street is put on none
    #[arg(long, value_name = "LENGTH", value_parser = parse::length, default_value = "150m")]
    off_street: Metres,
    /// Longest way without probability, by street or across open ground, that joins streets to search
    #[arg(long, value_name = "LENGTH", value_parser = parse::length, default_value = "1km")]
    join: Metres,
    /// Pace on foot, metres a minute
    #[arg(long, value_name = "METRES", value_parser = pace, default_value = "80")]
    pace: Pace,
    /// Distance between lanes on open ground
    #[arg(long, value_name = "LENGTH", value_parser = parse::length, default_value = "50m")]
    lane: Metres,
}

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Divide {
    #[command(flatten)]
    evidence: Evidence,
    #[command(flatten)]
    how: HowDivided,
    /// Searches without a find, as azimark searched keeps them: they lower what they covered
    #[arg(long, value_name = "FILE")]
    searched: Option<PathBuf>,
    #[command(flatten)]
    sheets: Sheets,
}

/// What is written for the teams.
#[derive(Args, Clone, Debug)]
pub struct Sheets {
    /// Folder for division.txt, division.geojson, and for each team a route (.gpx) and an assignment sheet (.html)
    #[arg(long, value_name = "FOLDER")]
    output: Option<PathBuf>,
    /// Name of the incident, for the sheets
    #[arg(long, value_name = "TEXT", default_value = "")]
    incident: String,
    /// Operational period, for the sheets
    #[arg(long, value_name = "TEXT", default_value = "")]
    period: String,
    /// Radio channel or telephone, for the sheets
    #[arg(long, value_name = "TEXT", default_value = "")]
    channel: String,
    /// Who prepared the sheets
    #[arg(long, value_name = "TEXT", default_value = "")]
    prepared: String,
}

fn pace(text: &str) -> Result<Pace, String> {
    let value = text.trim().parse().ok().filter(|v| (5.0..=500.0).contains(v));
    value
        .and_then(Pace::metres_a_minute)
        .ok_or_else(|| "write metres a minute from 5 to 500, such as 80".to_owned())
}

/// More teams than this are not divided for.
const MOST_TEAMS: usize = 60;

impl Divide {
    /// Reads, solves, divides, prints and writes.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let how = self.how.read()?;
        let Some(answer) = answer(&self.evidence)? else { return Ok(Outcome::Short) };
        let mut spread = Spread::of(&answer.fit);
        let mut told = doubts(&answer);
        if let Some(path) = &self.searched {
            told.extend(crate::cli::searched::replay(path, &mut spread)?);
        }
        told.extend(how.findings.clone());
        match how.divide(&spread) {
            Ok(division) => {
                self.sheets.write(&division, &told)?;
                let short = told.iter().any(|f| f.severity == Severity::Refused);
                Ok(if short { Outcome::Short } else { Outcome::Answered })
            }
            Err(why) => {
                files::print(&report::wrapped(&format!("Not divided: {why}."), "", ""))?;
                Ok(Outcome::Short)
            }
        }
    }
}

/// The posterior of the evidence; `None` after printing why there is none.
pub fn answer(evidence: &Evidence) -> Result<Option<Answer>, Failure> {
    match evidence.solved(Loss::Mixture)? {
        Ok(answer) => Ok(Some(answer)),
        Err(none) => {
            files::print(&report::wrapped(&none.why, "", ""))?;
            locate::tell(&none.findings);
            Ok(None)
        }
    }
}

/// What of an answer a division must repeat.
pub fn doubts(answer: &Answer) -> Vec<Finding> {
    let mut out: Vec<Finding> =
        answer.findings.iter().filter(|f| f.severity != Severity::Assumed).cloned().collect();
    if let Err(open) = answer.region95() {
        let hint = "take one more bearing before sending many people: azimark locate says from where";
        out.push(Finding::doubtful("region-open", open.to_string()).hint(hint));
    }
    out
}

/// What is needed to divide, read and checked.
pub struct Ready {
    teams: Vec<Team>,
    town: Option<Streets>,
    reach: Reach,
    lane: Metres,
    /// What the files gave occasion to tell.
    pub findings: Vec<Finding>,
}

impl HowDivided {
    /// Metres from a part's streets or cells within which a place belongs to it.
    pub const fn reach(&self) -> f64 {
        self.off_street.value()
    }

    /// The file of streets.
    pub fn streets_file(&self) -> Option<PathBuf> {
        self.streets.clone()
    }

    /// Reads the teams and the streets.
    pub fn read(&self) -> Result<Ready, Failure> {
        let mut findings = Vec::new();
        let teams = teams(&self.teams, &mut findings)?;
        let town = match &self.streets {
            None => None,
            Some(path) => {
                let (name, bytes) = files::read(path)?;
                let (streets, told) = Streets::read(&name, &bytes);
                if streets.edges().is_empty() {
                    let why = told.first().map_or_else(String::new, |f| format!(": {f}"));
                    return Err(format!("{name} has no streets{why}"));
                }
                findings.extend(told);
                Some(streets)
            }
        };
        let reach =
            Reach { off_street: self.off_street, share: self.share, join: self.join, pace: self.pace };
        Ok(Ready { teams, town, reach, lane: self.lane, findings })
    }
}

/// The teams of a number or a CSV file.
pub fn teams(text: &str, findings: &mut Vec<Finding>) -> Result<Vec<Team>, Failure> {
    if let Ok(count) = text.trim().parse::<usize>() {
        return if (1..=MOST_TEAMS).contains(&count) {
            Ok(Team::numbered(count))
        } else {
            Err(format!("--teams {count}: state 1 to {MOST_TEAMS} teams"))
        };
    }
    let (name, bytes) = files::read(Path::new(text))
        .map_err(|e| format!("--teams takes a number or a CSV file with the columns name, lat, lon: {e}"))?;
    let reading = ingest::teams(&name, &bytes);
    findings.extend(reading.findings);
    let teams: Vec<Team> = reading.rows.into_iter().map(|(name, place)| Team { name, place }).collect();
    match teams.len() {
        0 => {
            let why: Vec<String> = findings.iter().map(ToString::to_string).collect();
            Err(format!("{name} names no team: it needs the columns name, lat, lon\n{}", why.join("\n")))
        }
        1..=MOST_TEAMS => Ok(teams),
        more => Err(format!("{name} names {more} teams: {MOST_TEAMS} are the most")),
    }
}

impl Ready {
    /// Divides.
    pub fn divide(&self, spread: &Spread) -> Result<Division, divide::Undivided> {
        match &self.town {
            Some(town) => divide::division::streets(spread, town, &self.reach, &self.teams),
            None => divide::division::ground(spread, self.lane, &self.reach, &self.teams),
        }
    }
}

impl Sheets {
    /// Prints the division and writes its files.
    pub fn write(&self, division: &Division, told: &[Finding]) -> Result<(), Failure> {
        let text = report::division(division, told);
        files::print(&text)?;
        let Some(folder) = &self.output else { return Ok(()) };
        std::fs::create_dir_all(folder)
            .map_err(|e| format!("{} could not be made: {e}", folder.display()))?;
        files::write(&folder.join("division.txt"), &text)?;
        files::write(&folder.join("division.geojson"), &export::division(division))?;
        let heading = Heading {
            incident: self.incident.clone(),
            period: self.period.clone(),
            channel: self.channel.clone(),
            prepared: self.prepared.clone(),
        };
        for (k, part) in division.parts.iter().enumerate() {
            let name = file_name(k, &part.team.name);
            files::write(&folder.join(format!("{name}.gpx")), &export::gpx(division, k))?;
            files::write(&folder.join(format!("{name}.html")), &report::sheet(division, k, &heading))?;
        }
        eprintln!("written: {} files in {}", 2 + 2 * division.parts.len(), folder.display());
        Ok(())
    }
}

/// A name that every file system takes, with the number so that no two are alike.
fn file_name(k: usize, name: &str) -> String {
    let plain: String = name
        .chars()
        .take(40)
        .map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '_' })
        .collect();
    format!("{:02}_{plain}", k + 1)
}
