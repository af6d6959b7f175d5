//! `azimark check`.

use std::{fmt::Write as _, path::PathBuf};

use clap::Args;

use crate::{
    check,
    cli::{Failure, Outcome, files, locate::Stated},
    finding::Severity,
    north,
    report::count,
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Check {
    /// Files of bearings; - reads standard input
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    #[command(flatten)]
    stated: Stated,
}

impl Check {
    /// Prints how many bearings can be used, then every finding, the gravest first.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let gathered = self.stated.gather(&self.files)?;
        let mut findings = gathered.findings;
        let mut resolved = north::resolve(&gathered.bearings, &self.stated.north());
        findings.append(&mut resolved.findings);
        findings.append(&mut check::directions(&resolved.bearings));
        findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
        let refused = findings.iter().filter(|f| f.severity == Severity::Refused).count();
        let doubtful = findings.iter().filter(|f| f.severity == Severity::Doubtful).count();
        let mut out = String::new();
        let _ = writeln!(
            out,
            "{} can be used; {}, {}, {}.",
            count(resolved.bearings.len(), "bearing", "bearings"),
            count(refused, "refusal", "refusals"),
            count(doubtful, "doubt", "doubts"),
            count(findings.len() - refused - doubtful, "assumption", "assumptions")
        );
        for finding in &findings {
            let _ = writeln!(out, "{finding}");
        }
        files::print(&out)?;
        Ok(if refused == 0 && !resolved.bearings.is_empty() { Outcome::Answered } else { Outcome::Short })
    }
}
