//! `azimark when`.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use jiff::{Timestamp, tz::TimeZone};

use crate::{
    activity::{self, Activity, Series, Switched, Window},
    case::{Event, Timed},
    cli::{
        Failure, Outcome,
        case::{about, keep, words},
        files,
        locate::tell,
        parse,
        when_words::Words,
    },
    export::{self, ActivityParts},
    finding::{Finding, Severity},
    ingest,
    report::{told, wrapped},
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct When {
    /// Counters or logs of receivers that stay in their place: times and levels or rises in decibels; - reads standard input
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Time zone in which hours and weekdays count, and of times without an offset, such as America/Los_Angeles [default: that of
    /// the case]
    #[arg(long, value_name = "ZONE", value_parser = parse::zone)]
    zone: Option<String>,
    /// The receiver to look at, by its name in the file [default: the one whose levels differ most]
    #[arg(long, value_name = "NAME")]
    receiver: Option<String>,
    /// Times at which a suspect was switched, a file with time_utc and state (on, off): does the level follow?
    #[arg(long, value_name = "FILE")]
    switched: Option<PathBuf>,
    /// From when on to say when it is likely on, such as 2026-03-17T15:00:00Z [default: the end of the log]
    #[arg(long, value_name = "TIME", value_parser = moment)]
    from: Option<Timestamp>,
    /// What to print
    #[arg(long, value_enum, value_name = "FORMAT", default_value = "text")]
    format: Format,
    /// Also write a file, by its ending: .json, .svg or .txt; may be repeated
    #[arg(long, short, value_name = "FILE")]
    output: Vec<PathBuf>,
    /// Case to keep what was found in; it must hold the files
    #[arg(long, value_name = "DIR", requires = "by")]
    case: Option<PathBuf>,
    /// Who looks, by role
    #[arg(long, value_name = "ROLE", value_parser = words)]
    by: Option<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Format {
    /// The answer in words
    Text,
    /// Everything, for programs
    Json,
    /// The week as a figure
    Svg,
}

fn moment(text: &str) -> Result<Timestamp, String> {
    text.parse().map_err(|_| "write a time with its offset, such as 2026-03-17T15:00:00Z".to_owned())
}

/// What was found.
struct Found {
    series: Option<Series>,
    activity: Option<Activity>,
    windows: Vec<Window>,
    switched: Option<Switched>,
    findings: Vec<Finding>,
    zone: String,
    tz: TimeZone,
    asked: bool,
}

impl When {
    /// Reads, looks, prints and writes.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let writers = self.writers()?;
        let found = self.found()?;
        files::print(&found.written(self.format))?;
        if self.format != Format::Text {
            tell(&found.findings);
        }
        for (path, format) in writers {
            files::write(path, &found.written(format))?;
            eprintln!("written: {}", path.display());
        }
        if let (Some(folder), Some(by)) = (&self.case, &self.by) {
            self.keep(folder, by, &found)?;
        }
        let refused = found.findings.iter().any(|f| f.severity == Severity::Refused);
        let answered = found.activity.is_some() && found.asked == found.switched.is_some();
        Ok(if answered && !refused { Outcome::Answered } else { Outcome::Short })
    }

    /// Every file that is read.
    pub fn named(&self) -> impl Iterator<Item = &PathBuf> {
        self.files.iter().chain(&self.switched)
    }

    /// The figures as they are kept; `None` where nothing was read.
    pub fn figures(&self) -> Result<Option<String>, Failure> {
        let found = self.found()?;
        Ok(found.series.is_some().then(|| found.written(Format::Json)))
    }

    fn keep(&self, folder: &Path, by: &str, found: &Found) -> Result<(), Failure> {
        let Some(series) = &found.series else {
            eprintln!("nothing is kept in {}: no value can be used", folder.display());
            return Ok(());
        };
        let inputs: Vec<PathBuf> = self.named().cloned().collect();
        let entry = keep(folder, by, &inputs, |kept| {
            Event::Timed(Box::new(Timed {
                kept,
                zone: found.zone.clone(),
                receiver: series.receiver().map(str::to_owned),
                from: series.samples()[0].at,
                to: series.end(),
                summary: found.summary(),
                switched: found.by_switching(),
                week: found.activity.as_ref().map_or_else(Vec::new, |a| a.week.rows()),
            }))
        })?;
        eprintln!("entry {} is kept ({})", entry.entry, entry.time);
        Ok(())
    }

    fn found(&self) -> Result<Found, Failure> {
        let case = self.case.as_deref().map(about).transpose()?;
        let stated = self.zone.clone().or_else(|| case.and_then(|(manifest, _)| manifest.zone));
        let settings = ingest::Settings { zone: stated.clone(), ..ingest::Settings::default() };
        let Logged { mut all, mut findings, zone, tz } = logged(&self.files, stated.as_deref())?;
        let at = chosen(&all, self.receiver.as_deref(), &mut findings)?;
        let series = at.map(|i| all.swap_remove(i));
        let activity = series.as_ref().and_then(|s| activity::activity(s, &tz));
        if series.is_some() && activity.is_none() {
            let message =
                "the levels do not fall into two groups, on and off, 3 dB and four of their spreads apart";
            let hint = "does this receiver hear the emitter? was it on all the time? try another receiver or a longer log";
            findings.push(Finding::doubtful("one-level", message).hint(hint));
        }
        let windows = match (&series, &activity) {
            (Some(series), Some(activity))
                if matches!(activity.pattern, activity::Pattern::Established(_)) =>
            {
                activity::windows(&activity.week, &tz, self.from.unwrap_or_else(|| series.end()))
            }
            _ => Vec::new(),
        };
        let switched = match (&self.switched, &series) {
            (Some(path), Some(series)) => self.test(path, series, &settings, &mut findings)?,
            _ => None,
        };
        let asked = self.switched.is_some();
        Ok(Found { series, activity, windows, switched, findings, zone, tz, asked })
    }

    fn test(
        &self,
        path: &Path,
        series: &Series,
        settings: &ingest::Settings,
        findings: &mut Vec<Finding>,
    ) -> Result<Option<Switched>, Failure> {
        let (name, bytes) = files::read(path)?;
        let mut reading = ingest::switches(&name, &bytes, settings);
        reading.findings.retain(|f| f.code != "zone-from-header");
        findings.append(&mut reading.findings);
        Ok(match activity::switched(series, &reading.rows) {
            Ok(test) => Some(test),
            Err((code, message, hint)) => {
                findings.push(Finding::refused(code, message).hint(hint));
                None
            }
        })
    }

    fn writers(&self) -> Result<Vec<(&PathBuf, Format)>, Failure> {
        let same = |a: &PathBuf, b: &PathBuf| {
            a == b || a.canonicalize().ok().is_some_and(|x| b.canonicalize().ok() == Some(x))
        };
        let inputs: Vec<&PathBuf> = self.files.iter().chain(&self.switched).collect();
        let writer = |path: &'_ PathBuf| {
            if inputs.iter().any(|i| same(i, path)) {
                return Err(format!(
                    "{} is one of the files to read: name another file for the answer",
                    path.display()
                ));
            }
            match path.extension().and_then(|e| e.to_str()).unwrap_or("").to_lowercase().as_str() {
                "json" => Ok(Format::Json),
                "svg" => Ok(Format::Svg),
                "txt" => Ok(Format::Text),
                _ => Err(format!("{}: the ending says what to write: .json, .svg or .txt", path.display())),
            }
        };
        self.output.iter().map(|path| Ok((path, writer(path)?))).collect()
    }
}

/// What counters and logs hold.
pub struct Logged {
    /// Receiver by receiver.
    pub all: Vec<Series>,
    /// What there is to tell.
    pub findings: Vec<Finding>,
    /// The zone in which hours count.
    pub zone: String,
    /// The same, to compute with.
    pub tz: TimeZone,
}

/// Reads counters and logs of receivers that stay in their place; hours count in the zone, or else in UTC.
pub fn logged(paths: &[PathBuf], stated: Option<&str>) -> Result<Logged, Failure> {
    let settings = ingest::Settings { zone: stated.map(str::to_owned), ..ingest::Settings::default() };
    let (mut counters, mut findings) = (Vec::new(), Vec::new());
    for path in paths {
        let (name, bytes) = files::read_most(path, ingest::MAX_LEVEL_BYTES)?;
        let mut reading = ingest::counters(&name, &bytes, &settings);
        counters.append(&mut reading.rows);
        findings.append(&mut reading.findings);
    }
    // The zone says in which hours to count; a header that says UTC is expected, and no contradiction.
    findings.retain(|f| f.code != "zone-from-header");
    let zone = stated.unwrap_or("UTC").to_owned();
    let tz = TimeZone::get(&zone).map_err(|e| format!("{zone}: {e}"))?;
    if stated.is_none() {
        let message = "hours and weekdays count in UTC";
        let hint = "state the place's zone: people keep local time, as in --zone America/Los_Angeles";
        findings.push(Finding::assumed("zone-missing", message).hint(hint));
    }
    let (all, mut doubts) = activity::series(&counters);
    findings.append(&mut doubts);
    Ok(Logged { all, findings, zone, tz })
}

/// Which series is that of a receiver, or of the one at which on and off lie furthest apart.
pub fn chosen(
    all: &[Series],
    receiver: Option<&str>,
    findings: &mut Vec<Finding>,
) -> Result<Option<usize>, Failure> {
    let names: Vec<String> =
        all.iter().filter_map(|s| s.receiver()).take(20).map(crate::finding::clipped).collect();
    if let Some(name) = receiver {
        let at = all.iter().position(|s| s.receiver() == Some(name));
        let missing = || format!("no receiver is called {name}: the files have {}", names.join(", "));
        return at.map(Some).ok_or_else(missing);
    }
    let gap = |s: &Series| {
        let levels = activity::two_levels(s.samples().iter().map(|x| x.db));
        levels.map_or(f64::NEG_INFINITY, |l| l.on - l.off)
    };
    let gaps: Vec<f64> = all.iter().map(gap).collect();
    // Of equals the first.
    let best = (0..all.len()).rev().max_by(|a, b| gaps[*a].total_cmp(&gaps[*b]));
    let Some(best) = best else { return Ok(None) };
    if all.len() > 1 {
        let name =
            all[best].receiver().map_or_else(|| "the one without a name".to_owned(), crate::finding::clipped);
        let message =
            format!("of {} receivers {name} is looked at: on and off lie furthest apart there", all.len());
        let hint = format!("for another add --receiver; there are {}", names.join(", "));
        findings.push(Finding::assumed("receiver-chosen", message).hint(hint));
    }
    Ok(Some(best))
}

impl Found {
    fn written(&self, format: Format) -> String {
        match format {
            Format::Text => self.text(),
            Format::Json => export::activity_json(&ActivityParts {
                series: self.series.as_ref(),
                activity: self.activity.as_ref(),
                zone: &self.zone,
                windows: &self.windows,
                switched: self.switched.as_ref(),
                findings: &self.findings,
            }),
            Format::Svg => {
                let empty = activity::Week::of(&[]);
                let title = match self.series.as_ref().map(Series::receiver) {
                    Some(Some(name)) => {
                        format!("Share of time on, heard by {}", crate::finding::clipped(name))
                    }
                    _ => "Share of time on".to_owned(),
                };
                export::week(self.activity.as_ref().map_or(&empty, |a| &a.week), &title, &self.zone)
            }
        }
    }

    fn words(&self) -> Words<'_> {
        Words { tz: &self.tz, zone: &self.zone }
    }

    /// What was found, in sentences that stay true: not when it is likely on next.
    fn summary(&self) -> Vec<String> {
        match (&self.series, &self.activity) {
            (Some(series), Some(activity)) => {
                let details = self.words().details(series, activity);
                let head = self.words().past(activity);
                std::iter::once(head).chain(details).filter(|line| !line.is_empty()).collect()
            }
            _ => vec!["When it is on cannot be told: the levels have no two groups, on and off.".to_owned()],
        }
    }

    /// The test by switching, in sentences.
    fn by_switching(&self) -> Vec<String> {
        match &self.switched {
            Some(test) => self.words().switched(test),
            None if self.asked => {
                let why = self.findings.iter().filter(|f| f.severity == Severity::Refused);
                let why: Vec<&str> = why.map(|f| f.message.as_str()).collect();
                vec![format!("The test by switching cannot be judged: {}.", why.join("; "))]
            }
            None => Vec::new(),
        }
    }

    /// The answer in words: the test by switching first where it was asked, then when to go, then the figures.
    fn text(&self) -> String {
        let words = self.words();
        let mut out = String::new();
        if self.asked {
            self.by_switching().iter().for_each(|line| out.push_str(&wrapped(line, "", "  ")));
            out.push('\n');
        }
        match (&self.series, &self.activity) {
            (Some(series), Some(activity)) => {
                out.push_str(&wrapped(&words.headline(activity, &self.windows), "", "  "));
                words.next(&self.windows).iter().for_each(|line| out.push_str(&wrapped(line, "  ", "    ")));
                for line in words.details(series, activity) {
                    out.push_str(&wrapped(&line, "", "  "));
                }
            }
            (Some(_), None) => {
                out.push_str("When it is on cannot be told: the levels have no two groups, on and off.\n")
            }
            (None, _) => out.push_str("When it is on cannot be told: no value can be used.\n"),
        }
        if !self.findings.is_empty() {
            let doubtful = self.findings.iter().any(|f| f.severity != Severity::Assumed);
            out.push_str(if doubtful { "\nDoubts and assumptions\n" } else { "\nAssumptions\n" });
        }
        let mut findings: Vec<&Finding> = self.findings.iter().collect();
        findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
        for finding in told(&findings) {
            out.push_str(&finding);
            out.push('\n');
        }
        out
    }
}
