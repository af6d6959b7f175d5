//! `azimark searched`.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use crate::{
    cli::{
        Failure, Outcome,
        divide::{HowDivided, Sheets, answer, doubts},
        evidence::Evidence,
        files, parse,
    },
    divide::{Detection, Spread, theory},
    export,
    finding::{Finding, Severity},
    geodesy::Place,
    ingest,
    observe::{Covered, Emitter, Pass},
    report::{self, InPart, PassDone},
    units::Metres,
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Searched {
    #[command(flatten)]
    evidence: Evidence,
    /// Record of passes, one JSON object a line; a new pass is added at its end
    #[arg(long, value_name = "FILE", default_value = "searched.jsonl")]
    record: PathBuf,
    /// Area that was searched: polygons of a GeoJSON file; needs --pod, or --walked with --range
    #[arg(long, value_name = "FILE", conflicts_with = "track")]
    area: Option<PathBuf>,
    /// Track that was walked: GPX, or lines of a GeoJSON file; needs --range
    #[arg(long, value_name = "FILE", requires = "range")]
    track: Option<PathBuf>,
    /// Distance within which the emitter would have been noticed
    #[arg(long, value_name = "LENGTH", value_parser = parse::length)]
    range: Option<Metres>,
    /// Length walked in the area
    #[arg(long, value_name = "LENGTH", value_parser = parse::length, requires = "range", requires = "area")]
    walked: Option<Metres>,
    /// Probability of detection, in percent [default: from coverage, 1 − e^(−coverage)]
    #[arg(long, value_name = "PERCENT", value_parser = parse::share)]
    pod: Option<f64>,
    /// Whether the emitter was on meanwhile; a pass while it was off counts nothing
    #[arg(long, value_enum, value_name = "STATE", default_value = "unknown")]
    emitter: State,
    /// With --emitter unknown: how likely it was on, in percent
    #[arg(long, value_name = "PERCENT", value_parser = parse::share, default_value = "50")]
    chance_on: f64,
    /// Who searched
    #[arg(long, value_name = "NAME", default_value = "")]
    team: String,
    /// When, in your own words
    #[arg(long, value_name = "TEXT", default_value = "")]
    time: String,
    /// Divide what is left anew, among --teams
    #[arg(long)]
    redivide: bool,
    #[command(flatten)]
    how: HowDivided,
    #[command(flatten)]
    sheets: Sheets,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum State {
    /// It was on
    On,
    /// It was off: POD 0
    Off,
    /// Not known
    Unknown,
}

/// A stated POD above this would leave nothing to search where it was wrong.
const MOST_CERTAIN: f64 = 0.99;

/// More of a record is not read.
const MOST: usize = 64 << 20;

impl Searched {
    /// Reads, adds the pass, counts, prints.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let inputs = [&self.area, &self.track, &self.how.streets_file()];
        if self.evidence.named().contains(&self.record.as_path())
            || inputs.iter().any(|i| i.as_ref() == Some(&self.record))
        {
            return Err(format!(
                "{} is one of the files to read: name another --record",
                self.record.display()
            ));
        }
        let how = self.how.read()?;
        let mut told = how.findings.clone();
        let added = self.pass(&mut told)?;
        let (mut passes, text, refused) = recorded(&self.record, added.is_some())?;
        told.extend(refused);
        let Some(answer) = answer(&self.evidence)? else { return Ok(Outcome::Short) };
        passes.extend(added.clone());
        let mut spread = Spread::of(&answer.fit);
        let (names, parts) = match how.divide(&spread) {
            Ok(division) => {
                let near = |p| division.part_near(spread.plane().to_place(p), self.how.reach());
                let parts = spread.cells().iter().map(|c| near(c.at)).collect();
                (division.parts.iter().map(|p| p.team.name.clone()).collect(), parts)
            }
            Err(why) => {
                told.push(Finding::doubtful("undivided", format!("the bookkeeping has no parts: {why}")));
                (Vec::new(), vec![None; spread.cells().len()])
            }
        };
        let mut done = Vec::new();
        for pass in &passes {
            let one = count(pass, &mut spread, &parts, &names, done.last())
                .ok_or("a pass leaves nothing: its POD is 100 % wherever the emitter may be; no search is that certain, so lower --pod")?;
            done.push(one);
        }
        if let Some(pass) = &added {
            let mut whole = text;
            if !whole.is_empty() && !whole.ends_with('\n') {
                whole.push('\n');
            }
            files::write(&self.record, &(whole + &export::pass(pass)))?;
            eprintln!(
                "written: {} ({} in it)",
                self.record.display(),
                report::count(passes.len(), "pass", "passes")
            );
        }
        files::print(&report::searched(&done, &names))?;
        told.extend(doubts(&answer));
        let short = told.iter().any(|f| f.severity == Severity::Refused);
        if !self.redivide {
            print_told(&told)?;
            return Ok(if short { Outcome::Short } else { Outcome::Answered });
        }
        files::print("\n")?;
        match how.divide(&spread) {
            Ok(division) => {
                self.sheets.write(&division, &told)?;
                Ok(if short { Outcome::Short } else { Outcome::Answered })
            }
            Err(why) => {
                files::print(&report::wrapped(&format!("Not divided: {why}."), "", ""))?;
                Ok(Outcome::Short)
            }
        }
    }

    /// The pass that the options describe, if they do.
    fn pass(&self, told: &mut Vec<Finding>) -> Result<Option<Pass>, Failure> {
        if self.pod.is_some_and(|pod| pod > MOST_CERTAIN) {
            return Err("--pod: no search is certain; write at most 99".to_owned());
        }
        let covered = match (&self.area, &self.track) {
            (Some(path), _) => self.in_area(path, told)?,
            (None, Some(path)) => self.along(path, told)?,
            (None, None) => return Ok(None),
        };
        let emitter = match self.emitter {
            State::On => Emitter::On,
            State::Off => Emitter::Off,
            State::Unknown => {
                let message = format!(
                    "nobody said whether the emitter was on: the pass counts with {:.0} %, the chance that it was",
                    100.0 * self.chance_on
                );
                let hint = "state --emitter on or off, or --chance-on";
                told.push(Finding::assumed("emitter-unknown", message).hint(hint));
                Emitter::Unknown(self.chance_on)
            }
        };
        Ok(Some(Pass { team: self.team.clone(), time: self.time.clone(), covered, emitter }))
    }

    fn in_area(&self, path: &Path, told: &mut Vec<Finding>) -> Result<Covered, Failure> {
        let (name, bytes) = files::read(path)?;
        let (ground, findings) = ingest::ground(&name, &bytes);
        told.extend(findings);
        let rings: Vec<Vec<Place>> = ground.areas.into_iter().map(opened).filter(|r| r.len() >= 3).collect();
        if rings.is_empty() {
            return Err(format!("{name} has no polygon: draw the area that was searched"));
        }
        let detection = match (self.pod, self.range, self.walked) {
            (Some(pod), ..) => pod,
            (None, Some(range), Some(walked)) => {
                let area: f64 = rings.iter().map(|r| crate::divide::area(r).value()).sum();
                let pod = theory::random_search(2.0 * range.value() * walked.value() / area);
                let message = format!(
                    "POD {:.0} % from coverage: {:.0} m walked, {:.0} m to each side, over {}",
                    100.0 * pod,
                    walked.value(),
                    range.value(),
                    report::area(crate::units::SquareMetres::new(area))
                );
                told.push(Finding::assumed("pod", message));
                pod
            }
            _ => return Err("--area needs --pod 60, or --range 40m with --walked 3km".to_owned()),
        };
        Ok(Covered::Area { rings, detection })
    }

    fn along(&self, path: &Path, told: &mut Vec<Finding>) -> Result<Covered, Failure> {
        let (name, bytes) = files::read(path)?;
        let start = bytes.iter().find(|b| !b.is_ascii_whitespace());
        let (lines, findings) = if start == Some(&b'{') {
            let (ground, findings) = ingest::ground(&name, &bytes);
            (ground.lines, findings)
        } else {
            let (track, findings) = ingest::track(&name, &bytes, None);
            let mut lines: Vec<(u32, Vec<Place>)> = Vec::new();
            for fix in track.fixes {
                match lines.last_mut() {
                    Some((stretch, line)) if *stretch == fix.stretch => line.push(fix.at),
                    _ => lines.push((fix.stretch, vec![fix.at])),
                }
            }
            (lines.into_iter().map(|l| l.1).collect(), findings)
        };
        told.extend(findings);
        let lines: Vec<Vec<Place>> = lines.into_iter().filter(|l| l.len() >= 2).collect();
        if lines.is_empty() {
            // Routes that `divide` wrote are GPX files too.
            let planned = bytes.windows(4).any(|w| w == b"<rte");
            return Err(if planned {
                format!(
                    "{name} holds a route, which says what was planned: name the track that was recorded on the way"
                )
            } else {
                format!("{name} has no track: name a GPX file, or a GeoJSON file with lines")
            });
        }
        let range = self.range.ok_or("--track needs --range 40m")?;
        Ok(Covered::Track { lines, range, detection: self.pod })
    }
}

/// Without the repetition of the first place at the end.
fn opened(mut ring: Vec<Place>) -> Vec<Place> {
    if ring.len() > 1 && ring.first() == ring.last() {
        ring.pop();
    }
    ring
}

/// The passes of a record, its text, and what of it was refused. A record that is not there is empty where a pass will be added.
fn recorded(path: &Path, adds: bool) -> Result<(Vec<Pass>, String, Vec<Finding>), Failure> {
    if adds && !path.exists() {
        return Ok((Vec::new(), String::new(), Vec::new()));
    }
    if !path.exists() {
        return Err(format!(
            "there is no record {}: begin one with a pass, --area FILE or --track FILE with --range, or name the record with --record",
            path.display()
        ));
    }
    let (name, bytes) = files::read_most(path, MOST)?;
    if bytes.len() > MOST {
        return Err(format!("{name} has more than 64 MiB: is this a record of passes?"));
    }
    let text = String::from_utf8(bytes).map_err(|_| format!("{name} is no text in UTF-8"))?;
    let reading = ingest::passes(&name, &text);
    Ok((reading.rows, text, reading.findings))
}

/// Lets the passes of a record thin out the posterior; for commands that go on from there.
pub fn replay(path: &Path, spread: &mut Spread) -> Result<Vec<Finding>, Failure> {
    let (passes, _, mut findings) = recorded(path, false)?;
    let mut left = 1.0;
    for pass in &passes {
        let detection = Detection::of(pass, &spread.plane());
        let success = spread.pass(|p| detection.at(p)).ok_or_else(|| {
            format!("{}: a pass leaves nothing, its POD is 100 % everywhere", path.display())
        })?;
        left *= 1.0 - success;
    }
    findings.push(Finding::assumed(
        "searched",
        format!(
            "{} without a find counted: together they would have found it with {:.0} %",
            report::count(passes.len(), "pass", "passes"),
            100.0 * (1.0 - left)
        ),
    ));
    Ok(findings)
}

/// Counts one pass; `None` where it leaves nothing.
fn count(
    pass: &Pass,
    spread: &mut Spread,
    part_of: &[Option<usize>],
    names: &[String],
    before: Option<&PassDone>,
) -> Option<PassDone> {
    let detection = Detection::of(pass, &spread.plane());
    let mut parts = vec![InPart::default(); names.len() + 1];
    let place = |i: usize| part_of[i].unwrap_or(names.len()).min(names.len());
    for (i, cell) in spread.cells().iter().enumerate() {
        let part = &mut parts[place(i)];
        part.before += cell.probability;
        part.success += cell.probability * detection.at(cell.at);
    }
    let success = spread.pass(|p| detection.at(p))?;
    for (i, cell) in spread.cells().iter().enumerate() {
        parts[place(i)].after += cell.probability;
    }
    for (k, part) in parts.iter_mut().enumerate() {
        let now = if part.before > 0.0 { part.success / part.before } else { 0.0 };
        part.together = theory::together(&[before.map_or(0.0, |b| b.parts[k].together), now]);
    }
    let so_far = theory::together(&[before.map_or(0.0, |b| b.so_far), success]);
    let mut who = String::new();
    for text in [&pass.team, &pass.time] {
        if !text.is_empty() {
            who = format!("{who}, {text}");
        }
    }
    Some(PassDone { who, parts, success, so_far })
}

fn print_told(told: &[Finding]) -> Result<(), Failure> {
    if told.is_empty() {
        return Ok(());
    }
    let all: Vec<&Finding> = told.iter().collect();
    let lines: Vec<String> = report::told(&all).iter().map(|l| report::wrapped(l, "  ", "    ")).collect();
    files::print(&format!("\nAssumed and doubted\n{}", lines.concat()))
}
