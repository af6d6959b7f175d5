//! `azimark swing`.

use std::{fmt::Write as _, path::PathBuf};

use clap::{Args, ValueEnum};

use crate::{
    cli::{Failure, Outcome, evidence::Stated, files, locate::tell, parse},
    export,
    finding::{Finding, Severity},
    ingest::{self, LevelSettings, PadIn},
    north::{self, TrueBearing},
    observe::{LevelUnit, Swing, SwingAntenna},
    radio::Family,
    report,
    solve::swing::{Direction, SwingFit, bearings},
    units::Angle,
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct TurnedAntenna {
    /// Files with one row per heading: stand, position, heading, level; - reads standard input
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    #[command(flatten)]
    stated: Stated,
    /// Unit of levels that do not say theirs: dBm, dBuV (across 50 ohms) or dBuV/m
    #[arg(long, value_name = "UNIT", value_parser = parse::level_unit)]
    level_unit: Option<LevelUnit>,
    /// Whether levels beside a column of attenuators hold them already: added or not-added
    #[arg(long, value_name = "ADDED", value_parser = parse::attenuator)]
    attenuator: Option<PadIn>,
    /// The antenna, where the file does not say it
    #[arg(long, value_enum, value_name = "ANTENNA")]
    antenna: Option<Antenna>,
    /// Full half-power beamwidth in degrees, where the file does not say it
    #[arg(long, value_name = "DEGREES", value_parser = parse::beamwidth)]
    beamwidth: Option<Angle>,
    /// What to print
    #[arg(long, value_enum, value_name = "FORMAT", default_value = "text")]
    format: Format,
    /// Also draw the levels and the fitted patterns into an .svg file
    #[arg(long, value_name = "FILE")]
    plot: Option<PathBuf>,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Antenna {
    /// A main lobe: Yagi, log-periodic, panel
    Yagi,
    /// A loop with a sense antenna
    Cardioid,
    /// A loop or dipole alone: two peaks, two nulls
    Loop,
    /// A rod before the body
    Body,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Format {
    /// The bearings in words
    Text,
    /// Everything, for programs
    Json,
    /// Polar drawings
    Svg,
}

impl TurnedAntenna {
    /// Reads, fits, prints.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let settings = self.settings();
        let (mut swings, mut findings) = (Vec::new(), Vec::new());
        for path in &self.files {
            let (name, bytes) = files::read(path)?;
            let mut reading = ingest::swings(&name, &bytes, &settings);
            swings.append(&mut reading.rows);
            findings.append(&mut reading.findings);
        }
        if let Some(plot) = &self.plot {
            self.keep_inputs(plot)?;
        }
        let mut turned = bearings(&swings);
        findings.append(&mut turned.findings);
        let mut resolved = north::resolve(&turned.bearings, &self.stated.north());
        findings.append(&mut resolved.findings);
        findings.sort_by_key(|f| std::cmp::Reverse(f.severity));
        files::print(&match self.format {
            Format::Text => text(&swings, &turned.fits, &resolved.bearings, &findings),
            Format::Json => export::swings_json(&swings, &turned.fits, &resolved.bearings, &findings),
            Format::Svg => export::polar(&swings, &turned.fits),
        })?;
        if self.format != Format::Text {
            tell(&findings);
        }
        if let Some(plot) = &self.plot {
            files::write(plot, &export::polar(&swings, &turned.fits))?;
            eprintln!("written: {}", plot.display());
        }
        let refused = findings.iter().any(|f| f.severity == Severity::Refused);
        let every = !swings.is_empty() && turned.bearings.len() == swings.len();
        Ok(if every && !refused { Outcome::Answered } else { Outcome::Short })
    }

    fn settings(&self) -> ingest::Settings {
        let levels =
            LevelSettings { unit: self.level_unit, attenuator: self.attenuator, ..LevelSettings::default() };
        let family = self.antenna.map(|antenna| match antenna {
            Antenna::Yagi => Family::Lobe,
            Antenna::Cardioid => Family::Cardioid,
            Antenna::Loop => Family::FigureOfEight,
            Antenna::Body => Family::Body,
        });
        let swings = SwingAntenna { family, beamwidth: self.beamwidth };
        ingest::Settings { levels, swings, ..self.stated.settings() }
    }

    /// Notes are never overwritten by a drawing.
    fn keep_inputs(&self, plot: &PathBuf) -> Result<(), Failure> {
        let same = |a: &PathBuf| {
            a == plot || a.canonicalize().ok().is_some_and(|a| plot.canonicalize().ok() == Some(a))
        };
        if self.files.iter().any(same) {
            return Err(format!(
                "{} is one of the files to read: name another file for the drawing",
                plot.display()
            ));
        }
        let svg = plot.extension().is_some_and(|e| e.eq_ignore_ascii_case("svg"));
        if svg { Ok(()) } else { Err(format!("{}: the drawing is an .svg file", plot.display())) }
    }
}

fn text(swings: &[Swing], fits: &[SwingFit], bearings: &[TrueBearing], findings: &[Finding]) -> String {
    let mut out = String::new();
    for (swing, fit) in swings.iter().zip(fits) {
        let azimuth = bearings
            .iter()
            .find(|b| b.read().id == swing.id && b.read().origin == swing.origin())
            .map(TrueBearing::azimuth);
        out.push_str(&report::wrapped(&answer(swing, fit, azimuth), "", "  "));
        for line in details(swing, fit) {
            out.push_str(&report::wrapped(&line, "  ", "    "));
        }
    }
    if swings.is_empty() {
        out.push_str("No swing can be used.\n");
    }
    let doubtful = findings.iter().any(|f| f.severity != Severity::Assumed);
    if !findings.is_empty() {
        out.push_str(if doubtful { "\nDoubts and assumptions\n" } else { "\nAssumptions\n" });
    }
    for finding in report::told(&findings.iter().collect::<Vec<_>>()) {
        let _ = writeln!(out, "{finding}");
    }
    out
}

fn answer(swing: &Swing, fit: &SwingFit, azimuth: Option<Angle>) -> String {
    let headings = report::count(swing.points.len(), "level", "levels");
    let name = crate::finding::clipped(&swing.id);
    let Some(Direction { bearing, sigma, two_way, .. }) = fit.direction else {
        return format!("{name} ({headings}): no direction; see below why.");
    };
    let read = |angle| report::bearing(angle, swing.north);
    let truly = |angle: Angle| report::bearing(angle, crate::observe::NorthReference::True);
    let reverse =
        if two_way { format!(", or from the reverse, {}", read(bearing.reversed())) } else { String::new() };
    let from_true = match azimuth {
        Some(a) if two_way => format!("; from true north {} or {}", truly(a), truly(a.reversed())),
        Some(a) if swing.north != crate::observe::NorthReference::True => {
            format!("; from true north {}", truly(a))
        }
        _ => String::new(),
    };
    let sigma = format!("{:.0}°", sigma.to_degrees());
    format!("{name} ({headings}): the signal comes from {} ± {sigma}{reverse}{from_true}.", read(bearing))
}

fn details(swing: &Swing, fit: &SwingFit) -> Vec<String> {
    let Some((direction, pattern)) = fit.direction.zip(fit.pattern) else { return Vec::new() };
    let mut out = Vec::new();
    let read = |angle| report::bearing(angle, swing.north);
    let width = match fit.beamwidth {
        Some((width, sigma)) => {
            format!(", {:.0}° ± {:.0}° wide at half power", width.to_degrees(), sigma.to_degrees().max(1.0))
        }
        None => String::new(),
    };
    let back = match fit.front_to_back {
        Some(f) => format!("; front to back {:.0} ± {:.0} dB", f.ratio.value(), f.sigma.to_db().max(1.0)),
        None if direction.two_way => "; front and back are alike".to_owned(),
        None => "; front to back unknown".to_owned(),
    };
    let peaks = match fit.peaks[..] {
        [_, second] if !direction.two_way => format!("Two peaks, the second at {}", read(second.heading)),
        [_, _] => "Two peaks, opposite to one another".to_owned(),
        _ => "One peak".to_owned(),
    };
    out.push(format!("{peaks}{width}{back}."));
    if !fit.nulls.is_empty() {
        let nulls: Vec<String> = fit.nulls.iter().map(|n| read(n.heading)).collect();
        out.push(format!("Lowest at {}.", nulls.join(" and ")));
    }
    let share = fit.families.iter().find(|f| f.0 == pattern.family()).map_or(1.0, |f| f.1);
    let chance =
        if share < 0.995 { format!(" ({:.0} chances in 100)", 100.0 * share) } else { String::new() };
    out.push(format!(
        "Pattern: {}{chance}; the levels scatter {:.1} dB about it.",
        pattern.family().word(),
        fit.residual.value()
    ));
    out
}
