//! NMEA 0183: what RMC and GGA of the same second say together.

use std::sync::Arc;

use jiff::civil::Date;

use crate::{
    finding::{Finding, Origin, clipped},
    ingest::{
        level_once::Rows,
        log::Log,
        track::{
            epoch::{Epoch, dated, instant},
            room,
            sentence::{Broken, Sentence, time_of_day},
        },
    },
    observe::{Fix, FixKind, FixQuality, Written},
};

/// What is told once.
#[derive(Default)]
struct Told {
    others: Rows,
    void: Rows,
    differ: Rows,
    short_years: bool,
}

/// Reads the fixes of a text.
pub fn read(name: &str, text: &str, first_day: Option<Date>, log: &mut Log) -> Vec<Fix> {
    let mut told = Told::default();
    let mut epochs: Vec<Epoch> = Vec::new();
    for (line, number) in text.lines().zip(1..) {
        let line = line.trim();
        if line.is_empty() {
            continue;
        }
        let at = || Origin::line(name, number);
        match Sentence::of(line) {
            Err(broken) => {
                log.tell_row(refusal(broken, line).at(Origin { value: Some(clipped(line)), ..at() }))
            }
            Ok(sentence) if !matches!(sentence.kind, "RMC" | "GGA") => told.others.add(number),
            Ok(sentence) => match epoch(&sentence, number, &mut told) {
                Ok(epoch) if room(name, epochs.len(), number, log) => add(&mut epochs, epoch, &mut told),
                Ok(_) => break,
                Err(field) => log.tell_row(bad_field(&sentence, field, at())),
            },
        }
    }
    if epochs.is_empty() {
        let hint = "a track is GPX 1.1, or NMEA 0183 with sentences RMC or GGA";
        log.tell(Finding::refused("empty", "the file holds no track").at(Origin::file(name)).hint(hint));
    }
    let dated = dated(&mut epochs, first_day);
    if !dated && !epochs.is_empty() {
        let message = "no sentence has a date: the track has no times";
        let hint = "state the day on which it begins, or log RMC too";
        log.tell(Finding::refused("date-missing", message).at(Origin::file(name)).hint(hint));
    }
    let fixes = fixes(name, epochs, &mut told);
    tell(name, &told, log);
    fixes
}

fn refusal(broken: Broken, line: &str) -> Finding {
    let (code, message) = match broken {
        Broken::NoSentence => ("not-a-sentence", "this is no sentence of NMEA 0183".to_owned()),
        Broken::NoChecksum => ("checksum-missing", "the sentence has no checksum".to_owned()),
        Broken::Checksum { found } => {
            let stated = line.rsplit('*').next().unwrap_or_default();
            ("checksum", format!("the checksum says {}, and the text gives {found:02X}", clipped(stated)))
        }
    };
    Finding::refused(code, message).hint("the line is damaged or cut off: it is not used")
}

fn bad_field(sentence: &Sentence, field: usize, at: Origin) -> Finding {
    let name = format!("{} field {field}", sentence.kind);
    Finding::refused("nmea-field", "this field is not what the sentence has here")
        .at(at.cell(field as u64 + 1, &name, sentence.field(field)))
        .hint("the line is not used: look at the receiver's log")
}

/// What a sentence says; the field that is wrong, where one is.
fn epoch(sentence: &Sentence, line: u64, told: &mut Told) -> Result<Epoch, usize> {
    let time = time_of_day(sentence.field(1));
    let mut out = Epoch {
        line,
        time: time.unwrap_or(-1),
        date: None,
        at: None,
        quality: FixQuality::default(),
        void: false,
    };
    if sentence.kind == "RMC" {
        // Status V: navigation receiver warning. Mode N: no fix (field 12, since version 2.3).
        out.void = match sentence.field(2) {
            "A" => sentence.field(12) == "N",
            "V" => true,
            _ => return Err(2),
        };
        out.date = date(sentence.field(9));
        if out.date.is_none() && !(out.void && sentence.field(9).is_empty()) {
            return Err(9);
        }
        told.short_years |= out.date.is_some();
        out.quality.kind = mode(sentence.field(12));
        out.at = if out.void { None } else { Some(sentence.place(3)?) };
    } else {
        let kind = sentence.field(6).parse().ok().and_then(FixKind::of_gga).ok_or(6usize)?;
        out.void = kind == FixKind::NoFix;
        out.quality.kind = Some(kind);
        out.quality.satellites = optional(sentence.field(7)).map_err(|()| 7usize)?;
        let hdop: Option<f64> = optional(sentence.field(8)).map_err(|()| 8usize)?;
        if !hdop.is_none_or(|h| h >= 0.0 && h.is_finite()) {
            return Err(8);
        }
        // Receivers write 99.99 where they know none.
        out.quality.hdop = hdop.filter(|h| *h > 0.0 && *h < 99.0);
        out.at = if out.void { None } else { Some(sentence.place(2)?) };
    }
    // A receiver that has just been switched on knows no time.
    if time.is_none() && !(out.void && sentence.field(1).is_empty()) {
        return Err(1);
    }
    Ok(out)
}

fn optional<T: std::str::FromStr>(text: &str) -> Result<Option<T>, ()> {
    if text.is_empty() { Ok(None) } else { text.parse().map(Some).map_err(|_| ()) }
}

/// `170326`. Years of two digits are taken from 1980, when satellites began to be counted in weeks, to 2079.
fn date(text: &str) -> Option<Date> {
    if text.len() != 6 || !text.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let pair = |at: usize| text[at..at + 2].parse::<i16>().ok();
    let (day, month, year) = (pair(0)?, pair(2)?, pair(4)?);
    let year = if year >= 80 { 1900 + year } else { 2000 + year };
    Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
}

/// The mode of RMC's field 12 (NMEA 0183 version 2.3).
fn mode(text: &str) -> Option<FixKind> {
    Some(match text {
        "A" => FixKind::Satellites,
        "D" => FixKind::Differential,
        "E" => FixKind::Reckoned,
        "M" => FixKind::Manual,
        "S" => FixKind::Simulated,
        "N" => FixKind::NoFix,
        _ => return None,
    })
}

/// Joins a sentence to the one before where both are of the same time.
fn add(epochs: &mut Vec<Epoch>, new: Epoch, told: &mut Told) {
    let Some(last) = epochs.last_mut().filter(|e| e.time == new.time && new.time >= 0) else {
        epochs.push(new);
        return;
    };
    if let (Some(a), Some(b)) = (last.at, new.at) {
        // Half a ten-thousandth of a minute of rounding, on either side, is 2e-6 degrees.
        let apart = (a.lat_degrees() - b.lat_degrees()).abs().max((a.lon_degrees() - b.lon_degrees()).abs());
        if apart > 1e-5 {
            told.differ.add(new.line);
        }
    }
    last.void |= new.void;
    last.date = last.date.or(new.date);
    last.at = last.at.or(new.at);
    // GGA says more than RMC.
    let quality = &mut last.quality;
    quality.hdop = quality.hdop.or(new.quality.hdop);
    quality.satellites = quality.satellites.or(new.quality.satellites);
    quality.kind =
        if new.quality.hdop.is_some() { new.quality.kind } else { quality.kind.or(new.quality.kind) };
}

fn fixes(name: &str, epochs: Vec<Epoch>, told: &mut Told) -> Vec<Fix> {
    let file: Arc<str> = name.into();
    let mut stretch = 0;
    let mut out = Vec::with_capacity(epochs.len());
    for epoch in epochs {
        match epoch.at.filter(|_| !epoch.void) {
            // Between places before and after nobody knows where the receiver was.
            None => {
                stretch += 1;
                told.void.add(epoch.line);
            }
            Some(at) => {
                let written = Written { file: file.clone(), line: epoch.line };
                let fix = |time| Fix { time, at, quality: epoch.quality, stretch, written };
                out.extend(instant(&epoch).map(fix));
            }
        }
    }
    out
}

fn tell(name: &str, told: &Told, log: &mut Log) {
    let at = |line| Origin::line(name, line);
    if let Some((count, first)) = told.others.some() {
        let message = format!("{count} sentence(s) other than RMC and GGA were passed over");
        log.tell(Finding::assumed("sentences-passed-over", message).at(at(first)));
    }
    if let Some((count, first)) = told.void.some() {
        let message =
            format!("{count} time(s) without a fix (status V, quality 0): nothing is placed across them");
        log.tell(Finding::assumed("track-without-fix", message).at(at(first)));
    }
    if let Some((count, first)) = told.differ.some() {
        let message = format!("{count} time(s) have two places: the first is used");
        let hint = "are two receivers in one file?";
        log.tell(Finding::doubtful("sentences-differ", message).at(at(first)).hint(hint));
    }
    if told.short_years {
        let message = "years of two digits are taken as 1980 to 2079";
        log.tell(Finding::assumed("two-digit-year", message).at(Origin::file(name)));
    }
}
