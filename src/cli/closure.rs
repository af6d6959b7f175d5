//! `azimark closure`.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use jiff::Timestamp;

use crate::{
    activity::{self, ClosureVerdict, NotComparable, Question, Series},
    case::{Agreed, Closed, Entry, Event},
    cli::{
        Failure, Outcome,
        case::{about, keep, noted, words},
        closure_words::{change_in_words, closure_basis, closure_refusal, closure_summary},
        files,
        locate::tell,
        parse,
        when::{Logged, chosen, logged},
    },
    export::{self, ClosureParts},
    finding::{Finding, Severity, clipped, visible},
    ingest,
    report::{told, wrapped},
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Closure {
    /// Counters or logs of receivers that stay in their place, from before and after: times and levels or rises in decibels
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// When the cause was switched off or put right: 2026-03-17T21:05Z, or local time with --zone
    #[arg(long, value_name = "TIME")]
    corrected: String,
    /// When the interference began, in the same form: what was logged earlier is the clean reference
    #[arg(long, value_name = "TIME")]
    began: Option<String>,
    /// Level of the same receiver without interference, in the unit of the log
    #[arg(long, value_name = "DB", value_parser = parse::decibels, allow_hyphen_values = true)]
    quiet: Option<f64>,
    /// Time zone in which hours and weekdays count, and of times without an offset [default: that of the case]
    #[arg(long, value_name = "ZONE", value_parser = parse::zone)]
    zone: Option<String>,
    /// The receiver to look at, by its name in the file [default: the one whose levels differ most]
    #[arg(long, value_name = "NAME")]
    receiver: Option<String>,
    /// Who agreed that it is over, by role, with date and remark: "complainant; 2026-03-25; calls are clear again"; may be repeated
    #[arg(long, value_name = "ROLE; DATE; REMARK", value_parser = agreed)]
    agreed: Vec<Agreed>,
    /// Number of the case's note in which somebody agreed; may be repeated
    #[arg(long, value_name = "ENTRY", requires = "case")]
    agreed_in: Vec<u64>,
    /// Case to keep the comparison in; it must hold the files
    #[arg(long, value_name = "DIR", requires = "by")]
    case: Option<PathBuf>,
    /// Who compares, by role
    #[arg(long, value_name = "ROLE", value_parser = words)]
    by: Option<String>,
    /// What to print
    #[arg(long, value_enum, value_name = "FORMAT", default_value = "text")]
    format: Format,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Format {
    /// The answer in words
    Text,
    /// Everything, for programs
    Json,
}

/// `role; date; remark`, the last two may be left out.
fn agreed(text: &str) -> Result<Agreed, String> {
    let text = words(text)?;
    let mut parts = text.splitn(3, ';').map(str::trim);
    let mut next = || parts.next().filter(|p| !p.is_empty()).map(str::to_owned);
    let (who, when, remark) = (next(), next(), next());
    let who = who.ok_or("name who agreed, by role: \"complainant; 2026-03-25; calls are clear again\"")?;
    Ok(Agreed { who, when: when.map(|d| parse::date(&d).map(|d| d.to_string())).transpose()?, remark })
}

/// What was found.
struct Found {
    corrected: Timestamp,
    logged: Logged,
    receiver: Option<String>,
    closure: Result<activity::Closure, Option<NotComparable>>,
    summary: Vec<String>,
    others: Vec<(String, activity::Closure)>,
    agreed: Vec<Agreed>,
}

impl Closure {
    /// Reads, compares, prints, and keeps the comparison in a case where one is named.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let found = self.found()?;
        match self.format {
            Format::Text => files::print(&found.text())?,
            Format::Json => {
                files::print(&found.json())?;
                tell(&found.logged.findings);
            }
        }
        if let (Some(folder), Some(by)) = (&self.case, &self.by) {
            self.keep(folder, by, &found)?;
        }
        let refused = found.logged.findings.iter().any(|f| f.severity == Severity::Refused);
        let quieter = found.closure.as_ref().is_ok_and(|c| c.verdict == ClosureVerdict::Quieter);
        Ok(if quieter && !refused { Outcome::Answered } else { Outcome::Short })
    }

    /// Every file that is read.
    pub fn named(&self) -> impl Iterator<Item = &PathBuf> {
        self.files.iter()
    }

    /// The figures as they are kept; `None` where nothing was compared.
    pub fn figures(&self) -> Result<Option<String>, Failure> {
        let found = self.found()?;
        Ok(found.closure.is_ok().then(|| found.json()))
    }

    fn found(&self) -> Result<Found, Failure> {
        let case = self.case.as_deref().map(about).transpose()?;
        let zone = self.zone.clone().or_else(|| case.as_ref().and_then(|(m, _)| m.zone.clone()));
        let instant = |text: &str| ingest::instant(text, zone.as_deref());
        let corrected = instant(&self.corrected)?;
        let began = self.began.as_deref().map(instant).transpose()?;
        if began.is_some_and(|b| b >= corrected) {
            return Err("the interference began before it was put right: --began is not before --corrected"
                .to_owned());
        }
        let entries: &[Entry] = case.as_ref().map_or(&[], |(_, e)| e);
        let mut agreed = self.agreed.clone();
        for number in &self.agreed_in {
            agreed.push(noted(entries, *number)?);
        }
        let mut logged = logged(&self.files, zone.as_deref())?;
        let at = chosen(&logged.all, self.receiver.as_deref(), &mut logged.findings)?;
        let question = Question { corrected, began, quiet: self.quiet, zone: &logged.tz };
        let compared = |s: &Series| activity::closure(s, &question);
        let closure = at.map_or(Err(None), |i| compared(&logged.all[i]).map_err(Some));
        let others = logged.all.iter().enumerate().filter(|(i, _)| Some(*i) != at);
        let others = others
            .filter_map(|(_, s)| {
                Some((s.receiver().unwrap_or("without a name").to_owned(), compared(s).ok()?))
            })
            .collect();
        let summary = match &closure {
            Ok(c) => closure_summary(c),
            Err(Some(why)) => closure_refusal(why, &logged.tz),
            Err(None) => vec!["Not compared: no value can be used.".to_owned()],
        };
        let receiver = at.and_then(|i| logged.all[i].receiver()).map(str::to_owned);
        Ok(Found { corrected, receiver, closure, summary, others, agreed, logged })
    }

    fn keep(&self, folder: &std::path::Path, by: &str, found: &Found) -> Result<(), Failure> {
        let Ok(closure) = &found.closure else {
            eprintln!("nothing is kept in {}: there is no comparison", folder.display());
            return Ok(());
        };
        let (low, high) = closure.change.interval();
        let entry = keep(folder, by, &self.files, |kept| {
            Event::Closed(Box::new(Closed {
                kept,
                corrected: found.corrected,
                zone: found.logged.zone.clone(),
                receiver: found.receiver.clone(),
                summary: found.summary.clone(),
                change_db: closure.change.mean,
                low_db: low,
                high_db: high,
                hours: closure.hours.len() as u64,
                agreed: found.agreed.clone(),
            }))
        })?;
        eprintln!("entry {} is kept ({})", entry.entry, entry.time);
        Ok(())
    }
}

impl Found {
    fn json(&self) -> String {
        export::closure_json(&ClosureParts {
            corrected: &self.corrected.to_string(),
            zone: &self.logged.zone,
            receiver: self.receiver.as_deref(),
            closure: self.closure.as_ref().map_err(Option::as_ref),
            summary: &self.summary,
            others: &self.others,
            agreed: &self.agreed,
            findings: &self.logged.findings,
        })
    }

    fn text(&self) -> String {
        let mut out = String::new();
        self.summary.iter().for_each(|line| out += &wrapped(line, "", "  "));
        if self.closure.is_ok() {
            out += &wrapped(&self.agreement(), "", "  ");
        }
        if let Ok(closure) = &self.closure {
            out.push_str("\nWhat it rests on\n");
            let heard = self.receiver.as_ref().map(|r| format!("Receiver: {}.", clipped(r)));
            let others = self
                .others
                .iter()
                .map(|(name, c)| format!("Also {}: {}.", clipped(name), change_in_words(&c.change)));
            for line in heard
                .into_iter()
                .chain(closure_basis(closure, &self.logged.tz, &self.logged.zone))
                .chain(others)
            {
                out += &wrapped(&line, "  ", "    ");
            }
        }
        let mut findings: Vec<&Finding> = self.logged.findings.iter().collect();
        if !findings.is_empty() {
            let doubtful = findings.iter().any(|f| f.severity != Severity::Assumed);
            out.push_str(if doubtful { "\nDoubts and assumptions\n" } else { "\nAssumptions\n" });
        }
        findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
        told(&findings).iter().for_each(|finding| out += &format!("{finding}\n"));
        out
    }

    fn agreement(&self) -> String {
        let one = |a: &Agreed| {
            let when = a.when.as_ref().map_or(String::new(), |w| format!(", {w}"));
            let remark = a.remark.as_ref().map_or(String::new(), |r| format!(" (\"{}\")", visible(r)));
            format!("{}{when}{remark}", clipped(&a.who))
        };
        match self.agreed.as_slice() {
            [] => "Agreed: nobody is named. Ask whoever complained before you close (--agreed).".to_owned(),
            many => format!("Agreed: {}.", many.iter().map(one).collect::<Vec<_>>().join("; ")),
        }
    }
}
