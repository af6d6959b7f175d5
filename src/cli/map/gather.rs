//! Notes and conditions of a case, in tables that can be changed and files that cannot.

use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::{
    cli::{
        Failure, divide,
        evidence::Evidence,
        files,
        map::{Gathered, Log},
    },
    export::Notes,
    finding::{Finding, Origin, Severity},
    ingest::{self, Kind, Settings, tiles},
    live::{self, Conditions, File, Request, Seat},
    observe::{LevelReading, ReadBearing},
};

/// Longer logs are computed with as they came: a list of them helps nobody, and a table in the page is larger than the log.
const MOST_LISTED: usize = 3000;

/// Reads the files of the evidence and the base maps.
pub fn of_files(evidence: &Evidence, maps: &[PathBuf], title: String) -> Result<Gathered, Failure> {
    if evidence.of_model() {
        return Err(
            "a page fits the law of distance itself: leave --model out, or use azimark locate".to_owned()
        );
    }
    let stated = evidence.conditions();
    let mut request = Request { conditions: Conditions::of(&stated), ..Request::default() };
    let (mut rows, mut told, mut logs) = (Vec::new(), Vec::new(), Vec::new());
    for (kind, path) in evidence.documents()? {
        let (name, bytes) = files::read_most(&path, ingest::MAX_LEVEL_BYTES)?;
        if kind == Kind::Bearings {
            match changeable(&name, &bytes, &stated.settings, &rows) {
                Some((mut read, mut findings)) => {
                    rows.append(&mut read);
                    told.append(&mut findings);
                    continue;
                }
                None => told.push(fixed(&name, "bearings")),
            }
        }
        if kind == Kind::Levels {
            match log(&name, &bytes, &stated.settings) {
                Some((log, mut findings)) => {
                    logs.push(log);
                    told.append(&mut findings);
                    continue;
                }
                None => told.push(fixed(&name, "levels")),
            }
        }
        request.files.push(File::new(&name, live::kind_word(kind), &bytes));
    }
    if let Some(path) = evidence.monitor() {
        let (name, bytes) = files::read_most(path, ingest::MAX_LEVEL_BYTES)?;
        request.monitor = Some(File::new(&name, "levels", &bytes));
    }
    let tiles_file = ground(maps, &mut request)?;
    let own = own_name(&logs, &request);
    logs.push(Log { name: own, notes: Notes::of_levels(&[]) });
    let (notes, nothing) = (Notes::of(&rows), || Value::Null);
    Ok(Gathered { title, notes, logs, request, tiles_file, tiles: nothing(), division: nothing(), told })
}

/// The base maps; where one is an archive of tiles, its path.
fn ground(maps: &[PathBuf], request: &mut Request) -> Result<Option<PathBuf>, Failure> {
    let mut archive = None;
    for path in maps {
        let (name, bytes) = files::read(path)?;
        if tiles::begins(&bytes) {
            if archive.replace(path.clone()).is_some() {
                return Err(format!(
                    "{name}: one archive of tiles is drawn, and another one is named already"
                ));
            }
            continue;
        }
        let (_, findings) = ingest::ground(&name, &bytes);
        if let Some(refusal) = findings.iter().find(|f| f.severity == Severity::Refused) {
            return Err(refusal.to_string());
        }
        if request.town.replace(File::new(&name, "map", &bytes)).is_some() {
            return Err(format!(
                "{name}: one GeoJSON is drawn, and another one is named already: put both in one"
            ));
        }
    }
    Ok(archive)
}

fn fixed(name: &str, what: &str) -> Finding {
    let message = format!("its {what} are shown and counted, and cannot be changed on the page");
    Finding::assumed("not-changeable", message)
        .at(Origin::file(name))
        .hint("a table of the page would not say all that the file says, or would be too long")
}

/// A name for the page's own table of levels that no other file has.
fn own_name(logs: &[Log], request: &Request) -> String {
    let taken = |name: &str| {
        let ends = |other: &str| Path::new(other).file_name().is_some_and(|n| n == name);
        logs.iter().any(|l| ends(&l.name)) || request.files.iter().any(|f| ends(&f.name))
    };
    let more = |n: usize| live::LEVELS.replace(".csv", &format!("_{n}.csv"));
    let mut name = live::LEVELS.to_owned();
    let mut number = 2;
    while taken(&name) {
        name = more(number);
        number += 1;
    }
    name
}

/// The bearings of a file, where a table of notes says all that the file says and no identifier occurs twice; with what there
/// was to tell.
fn changeable(
    name: &str,
    bytes: &[u8],
    settings: &Settings,
    others: &[ReadBearing],
) -> Option<(Vec<ReadBearing>, Vec<Finding>)> {
    let read = ingest::bearings(name, bytes, settings);
    let again = ingest::bearings(live::NOTES, Notes::of(&read.rows).csv().as_bytes(), settings);
    let same =
        read.rows.len() == again.rows.len() && read.rows.iter().zip(&again.rows).all(|(a, b)| same(a, b));
    let unique = read.rows.iter().all(|r| others.iter().all(|o| o.id != r.id));
    (same && unique && !read.rows.is_empty()).then_some((read.rows, read.findings))
}

/// Whether two bearings say the same, wherever it was written.
fn same(a: &ReadBearing, b: &ReadBearing) -> bool {
    let plain = |r: &ReadBearing| ReadBearing { time: None, origin: Default::default(), ..r.clone() };
    let utc = |r: &ReadBearing| r.time.as_ref().map(|t| t.utc());
    plain(a) == plain(b) && utc(a) == utc(b)
}

/// The table of a log, where it says all that the log says and is not too long; with what there was to tell.
fn log(name: &str, bytes: &[u8], settings: &Settings) -> Option<(Log, Vec<Finding>)> {
    if bytes.iter().filter(|b| **b == b'\n').count() > MOST_LISTED + 1 {
        return None;
    }
    let read = ingest::levels(name, bytes, settings);
    let notes = Notes::of_levels(&read.rows);
    let again = ingest::levels(name, notes.csv().as_bytes(), settings);
    let plain = |r: &LevelReading| {
        let mut plain = LevelReading { time: None, ..r.clone() };
        plain.written.line = 0;
        (plain, r.time.as_ref().map(|t| t.utc()))
    };
    let same = read.rows.len() == again.rows.len()
        && read.rows.iter().zip(&again.rows).all(|(a, b)| plain(a) == plain(b));
    let name = Path::new(name).with_extension("csv").display().to_string();
    (same && !read.rows.is_empty()).then_some((Log { name, notes }, read.findings))
}

/// The teams of a number or a file.
pub fn teams(text: &str, told: &mut Vec<Finding>) -> Result<Vec<Seat>, Failure> {
    let seat = |team: crate::divide::Team| Seat {
        name: team.name,
        at: team.place.map(|p| [p.lat_degrees(), p.lon_degrees()]),
    };
    Ok(divide::teams(text, told)?.into_iter().map(seat).collect())
}
