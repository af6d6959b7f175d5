//! `azimark case show`.

use std::path::PathBuf;

use clap::Args;
use jiff::{Timestamp, tz::TimeZone};

use crate::{
    case::{Entry, Event, LOG, Manifest, verify},
    cli::{
        Failure, Outcome,
        case::folder::{found, newer},
        files,
    },
    finding::{clipped, visible},
    report::{field_headline, wrapped},
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Show {
    /// Folder of the case
    #[arg(value_name = "DIR")]
    folder: PathBuf,
}

impl Show {
    /// Prints what the case is about and every entry.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let found = found(&self.folder)?;
        let checked = verify(&found);
        let manifest = found.manifest.as_deref().map(Manifest::read);
        let mut out = String::new();
        let mut zone = None;
        match &manifest {
            Some(Ok(manifest)) => {
                zone = manifest.zone.as_deref().and_then(|z| TimeZone::get(z).ok());
                about(manifest, &mut out);
            }
            Some(Err(why)) => out += &wrapped(&format!("case.toml cannot be read: {why}"), "", "  "),
            None => out += "case.toml is missing\n",
        }
        out.extend(newer(&found).map(|told| wrapped(&told, "", "  ")));
        out.push('\n');
        for entry in &checked.entries {
            out += &wrapped(&line(entry, zone.as_ref()), "", "    ");
        }
        out += &match checked.differences.as_slice() {
            [] => String::new(),
            many => {
                format!("\n{} thing(s) differ from the log: azimark case verify tells which\n", many.len())
            }
        };
        if let Some(last) = checked.last {
            out += &wrapped(
                &format!(
                    "\nlast line of {LOG}: SHA-256 {last}. Give it to somebody else, and changes show later."
                ),
                "",
                "  ",
            );
        }
        files::print(&out)?;
        let sound = checked.differences.is_empty() && matches!(manifest, Some(Ok(_)));
        Ok(if sound { Outcome::Answered } else { Outcome::Short })
    }
}

fn about(manifest: &Manifest, out: &mut String) {
    *out += &wrapped(&clipped(&manifest.title), "", "  ");
    let frequency = manifest.frequency_hz.map(|f| format!("{} MHz", f / 1e6));
    let facts = [
        ("victim", manifest.victim.clone()),
        ("complaint", manifest.complaint.clone()),
        ("frequency", frequency),
        ("licence", manifest.licence.clone()),
        ("contact", manifest.contact.clone()),
        ("opened by", Some(manifest.by.clone())),
    ];
    for (name, what) in facts {
        if let Some(what) = what {
            *out += &wrapped(&format!("{name}: {}", clipped(&what)), "  ", "    ");
        }
    }
}

/// A time in UTC, and in the case's zone beside it.
fn when(time: Timestamp, zone: Option<&TimeZone>) -> String {
    let utc = time.to_zoned_datetime(TimeZone::UTC).strftime("%Y-%m-%d %H:%M:%S UTC").to_string();
    match zone {
        Some(zone) => format!("{utc} ({})", time.to_zoned_datetime(zone.clone()).strftime("%H:%M:%S %Z")),
        None => utc,
    }
}

fn line(entry: &Entry, zone: Option<&TimeZone>) -> String {
    let what = match &entry.event {
        Event::Opened { .. } => "opened the case".to_owned(),
        Event::Added(a) => {
            let device = a.device.as_ref().map_or(String::new(), |d| format!(", recorded by {}", clipped(d)));
            format!("added {} ({} bytes, SHA-256 {}…{device})", a.file, a.bytes, a.sha256.short())
        }
        Event::Note { text } => format!("noted: {}", visible(text)),
        Event::Concluded(c) => {
            format!("concluded from {}: {}", c.read.join(", "), visible(&c.summary))
        }
        Event::Closed(c) => {
            format!(
                "compared before and after, from {}: {}",
                c.kept.read.join(", "),
                visible(&c.summary.join(" "))
            )
        }
        Event::Measured(m) => {
            format!(
                "measured a field strength, from {}: {}",
                m.kept.read.join(", "),
                field_headline(&m.sheet)
            )
        }
        Event::Timed(t) => {
            let found: Vec<&str> = t.switched.iter().chain(&t.summary).map(String::as_str).collect();
            format!("looked when it is on, from {}: {}", t.kept.read.join(", "), visible(&found.join(" ")))
        }
        Event::OwnSystem(o) => format!("tried the own system: {}", visible(&o.summary.join(" "))),
        Event::Unknown => "something that a newer azimark wrote".to_owned(),
    };
    format!("{:>3}  {}  {}: {what}", entry.entry, when(entry.time, zone), clipped(&entry.by))
}
