//! `azimark field`.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use crate::{
    case::{BudgetLine, Comparison, Elsewhere, Event, Measured, Sheet},
    cli::{
        Failure, Outcome,
        case::{keep, words},
        field_parts::{self as parts, Stated, Uncertainty, rule_in_words},
        files,
        locate::tell,
        parse,
    },
    export,
    finding::{Finding, Severity},
    ingest::{self, Antenna, LevelSettings},
    numeric::uncertainty::{Component, Shape, TWO_SIGMA, combined, coverage_factor, effective_freedom},
    observe::{Level, LevelReading, LevelUnit},
    page,
    radio::{
        Decision, Domain, Fall, FarField, Rule, at_distance,
        convert::{FIFTY_OHMS, antenna_factor, field_at_antenna, voltage},
        mean_level, mismatch_limit, probability_above,
    },
    report::{field_sheet, told},
    units::{Db, DbMicrovolt, DbMicrovoltPerMetre, DbPerMetre, Dbm, Hertz, Metres},
};

/// From so many effective degrees of freedom on k = 2 is used: the factor would be 2.05 at most (GUM, Table G.2).
const MANY: f64 = 50.0;

const AFTER: &str = "\
Uncertainties are written with what they are: 1.5/k=2 (an expanded uncertainty with its factor), 0.5/limits (between these limits,
all alike), 0.5/triangular, 0.5/u-shaped, 0.4/sd (a standard uncertainty); /nu=9 behind gives degrees of freedom.

  azimark field readings.csv --frequency 841.5MHz --distance 10m --height 2m --detector RMS --rbw 200kHz \\
    --antenna-factor 19.7 --certificate \"K-1234, calibration laboratory\" --calibrated 2026-01-12 --cable-loss 1 \\
    --u-receiver 1.5/k=2 --u-antenna 1.0/k=2 --u-cable 0.2/limits --mismatch 0.33,0.2 \\
    --limit 46dBuV/m --limit-source \"licence, condition 4\" --rule non-binary";

/// Arguments of the command.
#[derive(Args, Debug)]
#[command(after_help = AFTER)]
pub struct Field {
    /// Tables of readings: times and levels in dBm, dBuV or dBuV/m
    #[arg(value_name = "FILE", required_unless_present = "readings")]
    files: Vec<PathBuf>,
    /// A reading with its unit, such as -77.4dBm, 29.6dBuV or 50.3dBuV/m; may be repeated
    #[arg(long = "reading", value_name = "LEVEL", value_parser = parts::reading, allow_hyphen_values = true, conflicts_with = "files")]
    readings: Vec<Stated>,
    /// Frequency with its unit [default: the one in the files]
    #[arg(long, value_name = "FREQUENCY", value_parser = parse::frequency)]
    frequency: Option<Hertz>,
    /// Distance to the emitting antenna, not to the fence, such as 10m
    #[arg(long, value_name = "LENGTH", value_parser = parse::length)]
    distance: Option<Metres>,
    /// Height of the measuring antenna above ground, such as 2m
    #[arg(long, value_name = "LENGTH", value_parser = parts::height)]
    height: Option<Metres>,
    /// Detector, such as RMS, average, peak or quasi-peak
    #[arg(long, value_name = "WORDS", value_parser = words)]
    detector: Option<String>,
    /// Resolution bandwidth, such as 200kHz [default: the one in the files]
    #[arg(long, value_name = "BANDWIDTH", value_parser = parse::frequency)]
    rbw: Option<Hertz>,
    /// Polarisation measured, such as vertical
    #[arg(long, value_name = "WORDS", value_parser = words)]
    polarisation: Option<String>,
    /// Antenna factor at this frequency, in dB/m
    #[arg(long, value_name = "DB", value_parser = parse::decibels, allow_hyphen_values = true)]
    antenna_factor: Option<f64>,
    /// Gain of the antenna in dBi, where no antenna factor is known
    #[arg(long, value_name = "DBI", value_parser = parse::decibels, allow_hyphen_values = true, conflicts_with = "antenna_factor")]
    antenna_gain: Option<f64>,
    /// Certificate of the antenna's calibration: number and laboratory; without one the sheet is indicative
    #[arg(long, value_name = "WORDS", value_parser = words)]
    certificate: Option<String>,
    /// Date of that calibration
    #[arg(long, value_name = "DATE", value_parser = parse::date)]
    calibrated: Option<jiff::civil::Date>,
    /// Loss of the cable between antenna and receiver, in dB
    #[arg(long, value_name = "DB", value_parser = parse::loss)]
    cable_loss: Option<f64>,
    /// Where it was measured, in words
    #[arg(long, value_name = "WORDS", value_parser = words)]
    site: Option<String>,
    /// In what several readings are averaged: decibels, power or voltage
    #[arg(long, value_name = "DOMAIN", value_parser = parts::domain, default_value = "decibels")]
    mean: Domain,
    /// Uncertainty of the receiver's level
    #[arg(long, value_name = "DB/WHAT", value_parser = parts::uncertainty)]
    u_receiver: Option<Uncertainty>,
    /// Uncertainty of the antenna factor, from its certificate
    #[arg(long, value_name = "DB/WHAT", value_parser = parts::uncertainty)]
    u_antenna: Option<Uncertainty>,
    /// Uncertainty of the cable's loss
    #[arg(long, value_name = "DB/WHAT", value_parser = parts::uncertainty)]
    u_cable: Option<Uncertainty>,
    /// Magnitudes of reflection of antenna and receiver, such as 0.33,0.2: the mismatch between them
    #[arg(long, value_name = "G,G", value_parser = parts::reflections)]
    mismatch: Option<(f64, f64)>,
    /// Repeatability of one reading, where it is known from before; from several readings it is computed
    #[arg(long, value_name = "DB/WHAT", value_parser = parts::uncertainty)]
    u_repeat: Option<Uncertainty>,
    /// Another input with its uncertainty, such as site=1.0/limits; may be repeated
    #[arg(long, value_name = "NAME=DB/WHAT", value_parser = parts::named)]
    u_other: Vec<(String, Uncertainty)>,
    /// Largest dimension of the larger antenna, such as 1.2m: where its far field begins
    #[arg(long, value_name = "LENGTH", value_parser = parse::length)]
    antenna_size: Option<Metres>,
    /// Another distance to state the field for; needs --assume
    #[arg(long, value_name = "LENGTH", value_parser = parse::length, requires_all = ["assume", "distance"])]
    to: Option<Metres>,
    /// How the field falls on the way there: free-space, or a path loss exponent such as exponent=3.5
    #[arg(long, value_name = "HOW", value_parser = parts::fall, requires = "to")]
    assume: Option<Fall>,
    /// Limit to compare with, such as 46dBuV/m; needs --rule
    #[arg(long, value_name = "LEVEL", value_parser = parts::limit, requires = "rule")]
    limit: Option<f64>,
    /// Distance at which the limit applies
    #[arg(long, value_name = "LENGTH", value_parser = parse::length, requires = "limit")]
    limit_distance: Option<Metres>,
    /// Whose limit
    #[arg(long, value_name = "WORDS", value_parser = words, requires = "limit")]
    limit_source: Option<String>,
    /// Decision rule: simple, guarded-acceptance, guarded-rejection or non-binary
    #[arg(long, value_name = "RULE", value_parser = parts::rule, requires = "limit")]
    rule: Option<Rule>,
    /// Time zone of times in the files without an offset
    #[arg(long, value_name = "ZONE", value_parser = parse::zone)]
    zone: Option<String>,
    /// Case to keep the sheet in; it must hold the files
    #[arg(long, value_name = "DIR", requires = "by", requires = "files")]
    case: Option<PathBuf>,
    /// Who measured, by role
    #[arg(long, value_name = "ROLE", value_parser = words)]
    by: Option<String>,
    /// What to print
    #[arg(long, value_enum, value_name = "FORMAT", default_value = "text")]
    format: Format,
    /// Also write a file, by its ending: .json, .html or .txt; may be repeated
    #[arg(long, short, value_name = "FILE")]
    output: Vec<PathBuf>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Format {
    /// The sheet in words
    Text,
    /// Everything, for programs
    Json,
    /// The sheet as a page to print
    Html,
}

/// Readings as field strengths, and what they say of themselves.
#[derive(Default)]
struct Read {
    fields: Vec<f64>,
    /// The antenna factor was in the readings.
    own_antenna: bool,
    frequency: Option<f64>,
    bandwidth: Option<f64>,
    height: Option<f64>,
    times: Vec<jiff::Timestamp>,
    findings: Vec<Finding>,
}

impl Field {
    /// Reads, computes, prints, writes, and keeps the sheet in a case where one is named.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let writers =
            self.output.iter().map(|p| Ok((p, self.writer(p)?))).collect::<Result<Vec<_>, Failure>>()?;
        let mut read = self.read()?;
        let Some(sheet) = self.sheet(&mut read)? else {
            tell(&read.findings);
            eprintln!("No field strength: no reading can be used.");
            return Ok(Outcome::Short);
        };
        let written = |format| match format {
            Format::Text => text(&sheet, &read.findings),
            Format::Json => export::field_json(&sheet, &read.findings),
            Format::Html => page::field_page(&sheet),
        };
        files::print(&written(self.format))?;
        if self.format != Format::Text {
            tell(&read.findings);
        }
        for (path, format) in writers {
            files::write(path, &written(format))?;
            eprintln!("written: {}", path.display());
        }
        if let (Some(folder), Some(by)) = (&self.case, &self.by) {
            let entry = keep(folder, by, &self.files, |kept| {
                Event::Measured(Box::new(Measured { kept, sheet: sheet.clone() }))
            })?;
            eprintln!("entry {} is kept ({})", entry.entry, entry.time);
        }
        let refused = read.findings.iter().any(|f| f.severity == Severity::Refused);
        let undecided = self.limit.is_some() && sheet.comparison.is_none();
        Ok(if refused || undecided { Outcome::Short } else { Outcome::Answered })
    }

    /// Every file that is read.
    pub fn named(&self) -> impl Iterator<Item = &PathBuf> {
        self.files.iter()
    }

    /// The figures as they are kept; `None` where no reading can be used.
    pub fn figures(&self) -> Result<Option<String>, Failure> {
        let mut read = self.read()?;
        Ok(self.sheet(&mut read)?.map(|sheet| export::field_json(&sheet, &read.findings)))
    }

    fn writer(&self, path: &Path) -> Result<Format, Failure> {
        if self.files.iter().any(|f| f == path) {
            return Err(format!(
                "{} is one of the files to read: name another for the sheet",
                path.display()
            ));
        }
        match path.extension().and_then(|e| e.to_str()).unwrap_or("").to_lowercase().as_str() {
            "json" => Ok(Format::Json),
            "html" => Ok(Format::Html),
            "txt" => Ok(Format::Text),
            _ => Err(format!("{}: the ending says what to write: .json, .html or .txt", path.display())),
        }
    }

    fn read(&self) -> Result<Read, Failure> {
        let mut out = Read::default();
        if !self.readings.is_empty() {
            let frequency = self.frequency.ok_or("state the --frequency of the readings")?;
            for stated in &self.readings {
                let field = match *stated {
                    Stated::Dbm(v) => {
                        self.field(voltage(Dbm::new(v), FIFTY_OHMS), self.cable(), frequency)?
                    }
                    Stated::Microvolt(v) => self.field(DbMicrovolt::new(v), self.cable(), frequency)?,
                    Stated::Field(v) => v,
                };
                out.fields.push(field);
            }
            let own = self.readings.iter().filter(|r| matches!(r, Stated::Field(_))).count();
            out.own_antenna = own > 0;
            if own > 0 && own < self.readings.len() {
                return Err("some readings are field strengths and some are not: make two sheets".to_owned());
            }
            return Ok(out);
        }
        let settings = ingest::Settings {
            zone: self.zone.clone(),
            levels: LevelSettings {
                cable_loss: self.cable_loss,
                // Field strengths are taken as they are written; the reader wants an antenna to bring them to levels.
                antenna: Some(
                    self.antenna_factor
                        .map(Antenna::Factor)
                        .or(self.antenna_gain.map(Antenna::Gain))
                        .unwrap_or(Antenna::Factor(0.0)),
                ),
                ..LevelSettings::default()
            },
            ..ingest::Settings::default()
        };
        let mut rows: Vec<LevelReading> = Vec::new();
        for path in &self.files {
            let (name, bytes) = files::read(path)?;
            let mut reading = ingest::levels(&name, &bytes, &settings);
            rows.append(&mut reading.rows);
            out.findings.append(&mut reading.findings);
        }
        // Nobody needs a place beside a stated distance.
        out.findings.retain(|f| !f.code.contains("place") && f.code != "position-missing");
        self.rows(&rows, &mut out)?;
        Ok(out)
    }

    fn rows(&self, rows: &[LevelReading], out: &mut Read) -> Result<(), Failure> {
        out.frequency =
            one(rows.iter().filter_map(|r| r.frequency.map(Hertz::value)), "frequencies", "--frequency")
                .or_else(|e| if self.frequency.is_some() { Ok(None) } else { Err(e) })?;
        out.bandwidth = one(rows.iter().filter_map(|r| r.bandwidth.map(Hertz::value)), "bandwidths", "--rbw")
            .or_else(|e| if self.rbw.is_some() { Ok(None) } else { Err(e) })?;
        out.height = one(rows.iter().filter_map(|r| r.height.map(Metres::value)), "heights", "--height")
            .or_else(|e| if self.height.is_some() { Ok(None) } else { Err(e) })?;
        let frequency = self.frequency.map(Hertz::value).or(out.frequency);
        let frequency = frequency.map(Hertz::new).ok_or("state the --frequency: the files have none")?;
        let mut own = 0;
        for row in rows {
            let Level::Measured(level) = row.level else {
                let message = "a reading below the floor, or while it was off, is no field strength: it is left out, and the mean is too high by that";
                let hint = "measure nearer, or with a narrower bandwidth";
                out.findings
                    .push(Finding::refused("below-floor", message).at(row.written.origin()).hint(hint));
                continue;
            };
            let field = match row.raw.filter(|r| r.unit == LevelUnit::MicrovoltPerMetre) {
                Some(raw) => {
                    own += 1;
                    let pad = row.attenuator.filter(|_| !row.attenuator_in_raw).map_or(0.0, Db::value);
                    raw.value + pad
                }
                // The cable is in the level already.
                None => self.field(voltage(level, FIFTY_OHMS), Db::new(0.0), frequency)?,
            };
            out.fields.push(field);
            out.times.extend(row.time.as_ref().map(|t| t.utc()));
        }
        out.own_antenna = own > 0;
        if own > 0 && own < out.fields.len() {
            return Err("some rows are field strengths and some are not: make two sheets".to_owned());
        }
        Ok(())
    }

    fn cable(&self) -> Db {
        Db::new(self.cable_loss.unwrap_or(0.0))
    }

    fn factor(&self, frequency: Hertz) -> Option<DbPerMetre> {
        let gain = self.antenna_gain.map(|g| antenna_factor(Db::new(g), frequency, FIFTY_OHMS));
        self.antenna_factor.map(DbPerMetre::new).or(gain)
    }

    /// Field strength of a voltage behind a cable.
    fn field(&self, reading: DbMicrovolt, cable: Db, frequency: Hertz) -> Result<f64, Failure> {
        let factor = self.factor(frequency).ok_or(
            "a field strength needs the antenna: state --antenna-factor from its certificate, or --antenna-gain",
        )?;
        Ok(field_at_antenna(reading, factor, cable).value())
    }

    fn sheet(&self, read: &mut Read) -> Result<Option<Sheet>, Failure> {
        let mut fields = read.fields.clone();
        if fields.is_empty() {
            return Ok(None);
        }
        let frequency = self.frequency.map(Hertz::value).or(read.frequency).map(Hertz::new);
        let frequency = frequency.ok_or("state the --frequency")?;
        let mean = mean_level(&fields, self.mean).map_or(fields[0], |m| m.mean);
        let factor = self.factor(frequency).filter(|_| !read.own_antenna);
        let mut sheet = Sheet {
            field_dbuv_m: mean,
            frequency_hz: frequency.value(),
            distance_m: self.distance.map(Metres::value),
            height_m: self.height.map(Metres::value).or(read.height),
            detector: self.detector.clone(),
            rbw_hz: self.rbw.map(Hertz::value).or(read.bandwidth),
            polarisation: self.polarisation.clone(),
            antenna_factor_db_m: factor.map(DbPerMetre::value),
            gain_dbi: self.antenna_gain.filter(|_| !read.own_antenna),
            certificate: self.certificate.clone(),
            calibrated: self.calibrated.map(|d| d.to_string()),
            site: self.site.clone(),
            first: read.times.iter().min().map(ToString::to_string),
            last: read.times.iter().max().map(ToString::to_string),
            averaged: self.mean.word().to_owned(),
            ..Sheet::default()
        };
        self.budget(read, &mut sheet);
        sheet.readings_dbuv_m = std::mem::take(&mut fields);
        self.doubts(frequency, &mut sheet);
        self.elsewhere(frequency, &mut sheet)?;
        self.compared(&mut sheet)?;
        Ok(Some(sheet))
    }

    /// The budget, what is missing in it, and the expanded uncertainty.
    fn budget(&self, read: &Read, sheet: &mut Sheet) {
        let mut components: Vec<Component> = Vec::new();
        let mut add = |sheet: &mut Sheet,
                       input: &str,
                       estimate: String,
                       evaluation: char,
                       u: Uncertainty,
                       word: &str| {
            let divisor = u.shape.divisor();
            let component = Component { standard: u.stated / divisor, sensitivity: 1.0, freedom: u.freedom };
            components.push(component);
            sheet.budget.push(BudgetLine {
                input: input.to_owned(),
                estimate,
                evaluation,
                distribution: word.to_owned(),
                stated_db: u.stated,
                divisor,
                sensitivity: component.sensitivity,
                contribution_db: component.contribution(),
                freedom: u.freedom.is_finite().then_some(u.freedom),
            });
        };
        match (mean_level(&read.fields, self.mean), self.u_repeat) {
            (Some(m), _) => {
                // The divisor of a mean is the root of the number of readings.
                let n = read.fields.len() as f64;
                let u =
                    Uncertainty { stated: m.deviation, shape: Shape::Normal(n.sqrt()), freedom: m.freedom };
                add(sheet, "repeatability", format!("{n:.0} readings"), 'A', u, "normal");
            }
            (None, Some(u)) => add(sheet, "repeatability", "from before".to_owned(), 'B', u, u.shape.word()),
            (None, None) => sheet.missing.push("repeatability (one reading)".to_owned()),
        }
        let factor = sheet.antenna_factor_db_m.map_or("in readings".to_owned(), |f| format!("{f:.2} dB/m"));
        let cable = self.cable_loss.map_or("as in the file".to_owned(), |c| format!("{c:.2} dB"));
        for (input, estimate, u) in [
            ("receiver", "0.00 dB".to_owned(), self.u_receiver),
            ("antenna factor", factor, self.u_antenna),
            ("cable", cable, self.u_cable),
        ] {
            match u {
                Some(u) => add(sheet, input, estimate, 'B', u, u.shape.word()),
                None => sheet.missing.push(input.to_owned()),
            }
        }
        match self.mismatch.and_then(|(a, b)| mismatch_limit(a, b)) {
            Some(limit) => {
                let u = Uncertainty { stated: limit.value(), shape: Shape::UShaped, freedom: f64::INFINITY };
                add(sheet, "mismatch", "0.00 dB".to_owned(), 'B', u, u.shape.word());
            }
            None => sheet.missing.push("mismatch".to_owned()),
        }
        for (name, u) in &self.u_other {
            add(sheet, name, "0.00 dB".to_owned(), 'B', *u, u.shape.word());
        }
        if components.is_empty() {
            return;
        }
        let (standard, freedom) = (combined(&components), effective_freedom(&components));
        let k = if freedom >= MANY { Some(2.0) } else { coverage_factor(TWO_SIGMA, freedom) };
        sheet.standard_db = Some(standard);
        sheet.freedom = freedom.is_finite().then_some(freedom);
        sheet.k = k;
        sheet.expanded_db = k.map(|k| k * standard);
    }

    /// Why the sheet is indicative, and what the reader must know.
    fn doubts(&self, frequency: Hertz, sheet: &mut Sheet) {
        if self.certificate.is_none() {
            sheet.indicative.push("no calibration of the antenna is named".to_owned());
        } else if self.calibrated.is_none() {
            sheet.warnings.push("the date of the antenna's calibration is not stated".to_owned());
        }
        if sheet.gain_dbi.is_some() {
            sheet.indicative.push("the antenna factor is computed from a gain".to_owned());
        }
        let needed = ["receiver", "antenna factor"];
        if sheet.missing.iter().any(|m| needed.contains(&m.as_str())) {
            sheet.indicative.push("the uncertainty of receiver or antenna is not stated".to_owned());
        }
        let far = FarField::of(frequency, self.antenna_size);
        let Some(distance) = self.distance else {
            sheet
                .warnings
                .push("the distance is not stated: a field strength without one says little".to_owned());
            return;
        };
        if distance.value() < far.reactive.value() {
            sheet.warnings.push(format!(
                "near field: {} m is less than λ/2π = {:.2} m; electric and magnetic field do not go together there, and antenna factor and \
                 power density do not hold",
                distance.value(),
                far.reactive.value()
            ));
        } else if let Some(size) = far.of_size.filter(|s| distance.value() < s.value()) {
            sheet.warnings.push(format!(
                "near field: {} m is less than 2D²/λ = {:.1} m of an antenna of {} m; the field does not fall with distance as in the far field",
                distance.value(),
                size.value(),
                self.antenna_size.map_or(0.0, Metres::value)
            ));
        }
    }

    fn elsewhere(&self, frequency: Hertz, sheet: &mut Sheet) -> Result<(), Failure> {
        let (Some(from), Some(to), Some(fall)) = (self.distance, self.to, self.assume) else { return Ok(()) };
        let begins = FarField::of(frequency, self.antenna_size).from();
        let nearest = if from.value() < to.value() { from } else { to };
        if nearest.value() < begins.value() {
            return Err(format!(
                "the field is not carried over to {} m: the far field begins at {:.2} m, and {} m is nearer; measure there",
                to.value(),
                begins.value(),
                nearest.value()
            ));
        }
        let assumption = match fall {
            Fall::FreeSpace => {
                "the field falls as in free space, 20 dB for ten times the distance".to_owned()
            }
            Fall::Exponent(n) => format!(
                "the field falls with a path loss exponent of {n}, {} dB for ten times the distance",
                10.0 * n
            ),
        };
        let field = at_distance(DbMicrovoltPerMetre::new(sheet.field_dbuv_m), from, to, fall);
        sheet.elsewhere = Some(Elsewhere { distance_m: to.value(), field_dbuv_m: field.value(), assumption });
        Ok(())
    }

    fn compared(&self, sheet: &mut Sheet) -> Result<(), Failure> {
        let (Some(limit), Some(rule)) = (self.limit, self.rule) else { return Ok(()) };
        let field = match (self.limit_distance.map(Metres::value), sheet.distance_m, &sheet.elsewhere) {
            (None, ..) => sheet.field_dbuv_m,
            (Some(at), Some(here), _) if same(at, here) => sheet.field_dbuv_m,
            (Some(at), _, Some(e)) if same(at, e.distance_m) => e.field_dbuv_m,
            (Some(at), ..) => {
                return Err(format!(
                    "the limit applies at {at} m, where nobody measured: measure there, or state --to {at}m with what to --assume"
                ));
            }
        };
        let expanded = match (rule, sheet.expanded_db) {
            (Rule::Simple, u) => u.unwrap_or(0.0),
            (_, Some(u)) => u,
            (_, None) => {
                let why = "the decision rule needs U, and no uncertainty is stated: nothing is decided";
                sheet.warnings.push(why.to_owned());
                return Ok(());
            }
        };
        let (e, l) = (DbMicrovoltPerMetre::new(field), DbMicrovoltPerMetre::new(limit));
        let decision = rule.decide(e, Db::new(expanded), l);
        let above = sheet.standard_db.filter(|u| *u > 0.0);
        let freedom = sheet.freedom.unwrap_or(f64::INFINITY);
        sheet.comparison = Some(Comparison {
            limit_dbuv_m: limit,
            distance_m: self.limit_distance.map(Metres::value),
            source: self.limit_source.clone(),
            field_dbuv_m: field,
            rule: rule_in_words(rule).to_owned(),
            decision: in_words(decision, rule, (e - l).value(), sheet.expanded_db),
            above: above.map(|u| probability_above(e - l, Db::new(u), freedom)),
        });
        Ok(())
    }
}

fn same(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs())
}

fn in_words(decision: Decision, rule: Rule, over: f64, u: Option<f64>) -> String {
    let by = format!("by {:.1} dB", over.abs());
    let side = if over > 0.0 { "over" } else { "below" };
    let beside = u.map_or(String::new(), |u| {
        if over.abs() > u {
            format!(", more than U = {u:.1} dB")
        } else {
            format!(", less than U = {u:.1} dB")
        }
    });
    match decision {
        Decision::Within if rule == Rule::GuardedRejection => {
            format!("NOT SHOWN TO EXCEED the limit: the measured value lies {side} it {by}{beside}.")
        }
        Decision::Within => format!("WITHIN the limit: the measured value lies {side} it {by}{beside}."),
        Decision::Above if rule == Rule::GuardedAcceptance => {
            format!("NOT SHOWN TO BE WITHIN the limit: the measured value lies {side} it {by}{beside}.")
        }
        Decision::Above => format!("ABOVE the limit: the measured value lies {side} it {by}{beside}."),
        Decision::NotTold => {
            format!(
                "NEITHER within nor above the limit can be said: the measured value lies {side} it {by}{beside}."
            )
        }
    }
}

/// The one value that all rows have; `None` where none has any.
fn one(values: impl Iterator<Item = f64>, what: &str, option: &str) -> Result<Option<f64>, Failure> {
    let mut all: Vec<f64> = values.collect();
    all.sort_by(f64::total_cmp);
    all.dedup();
    match all.as_slice() {
        [] => Ok(None),
        [one] => Ok(Some(*one)),
        many => Err(format!(
            "the rows have {} different {what}: a sheet is for one; divide the file, or state {option}",
            many.len()
        )),
    }
}

fn text(sheet: &Sheet, findings: &[Finding]) -> String {
    let mut out = field_sheet(sheet);
    if !findings.is_empty() {
        out.push_str("\nDoubts and assumptions\n");
        let findings: Vec<&Finding> = findings.iter().collect();
        told(&findings).iter().for_each(|finding| out += &format!("{finding}\n"));
    }
    out
}
