//! What is told about a header: what is missing, what is not used, what was taken from it.

use crate::{
    finding::{Finding, Origin, clipped},
    ingest::{NorthLabel, columns::Columns, log::Log, names::Field, vocabulary::Vocabulary},
};

/// More columns are refused: no field note has them, and every row pays for them.
const MOST_COLUMNS: usize = 300;

/// The columns of a header, or `None` after a refusal: too many, or not those that a row needs.
pub fn columns(headers: &[String], at: &Origin, vocabulary: Vocabulary, log: &mut Log) -> Option<Columns> {
    if headers.len() > MOST_COLUMNS {
        let message = format!("the header has {} columns, more than {MOST_COLUMNS}", headers.len());
        let hint = match vocabulary {
            Vocabulary::Bearings => {
                "keep the columns that a bearing needs: lat, lon, bearing_deg, north, time"
            }
            Vocabulary::Levels => "keep the columns that a level needs: time, lat, lon, level_dbm",
            Vocabulary::Sectors => {
                "keep the columns that a sector needs: lat, lon, azimuth_deg_true, beamwidth_deg, noise_floor_dbm, noise_rise_db"
            }
            Vocabulary::Swings => {
                "keep the columns that a swing needs: stand, lat, lon, heading_deg, north, level_dbm"
            }
            Vocabulary::Counters => "keep the columns that a counter needs: time_utc, receiver, level_dbm",
            Vocabulary::Switches => "keep the columns that a test needs: time_utc, state",
        };
        log.tell(Finding::refused("too-many-columns", message).at(at.clone()).hint(hint));
        return None;
    }
    let columns = Columns::of(headers, vocabulary);
    for index in columns.strange() {
        log.tell(strange(&columns, index, at));
    }
    let missing = needed(vocabulary, |field| columns.named(field));
    if missing.is_empty() {
        tell(&columns, at, log);
        // A column that is needed and has a unit without meaning has been told above.
        let usable = needed(vocabulary, |field| columns.at(field).is_some()).is_empty();
        return usable.then_some(columns);
    }
    let seen = headers.iter().map(|h| clipped(h)).take(30).collect::<Vec<_>>().join(", ");
    let hint = match at.line {
        _ if vocabulary == Vocabulary::Levels => {
            format!("the header has: {seen}; name the column level_dbm or level_dbuv, and time, lat, lon")
        }
        _ if vocabulary == Vocabulary::Sectors => format!(
            "the header has: {seen}; name the columns lat, lon, azimuth_deg_true, beamwidth_deg, and noise_rise_db with noise_floor_dbm, or interference_dbm"
        ),
        _ if vocabulary == Vocabulary::Swings => {
            format!("the header has: {seen}; name the columns lat, lon, heading_deg and level_dbm")
        }
        _ if vocabulary == Vocabulary::Counters => {
            format!(
                "the header has: {seen}; name the columns time_utc, receiver and level_dbm or noise_rise_db"
            )
        }
        _ if vocabulary == Vocabulary::Switches => {
            format!("the header has: {seen}; name the columns time_utc and state (on or off)")
        }
        Some(_) => format!("the header has: {seen}; name the columns lat, lon and bearing_deg"),
        None => format!("the points have: {seen}; name the property bearing_deg"),
    };
    let message = format!("no column for {} was recognised", missing.join(", "));
    log.tell(Finding::refused("columns-missing", message).at(at.clone()).hint(hint));
    None
}

/// What a row needs and `has` does not find. A log of levels may get its places from a track.
fn needed(vocabulary: Vocabulary, has: impl Fn(Field) -> bool) -> Vec<&'static str> {
    let level = has(Field::Level) || has(Field::Indicated);
    if vocabulary == Vocabulary::Levels {
        return if level { Vec::new() } else { vec!["level"] };
    }
    let timed = has(Field::Time) || has(Field::Date);
    let all = match vocabulary {
        Vocabulary::Counters => Some([(timed, "time"), (level || has(Field::Rise), "level or noise rise")]),
        Vocabulary::Switches => Some([(timed, "time"), (has(Field::State), "state")]),
        _ => None,
    };
    if let Some(all) = all {
        return all.into_iter().filter(|(there, _)| !there).map(|(_, what)| what).collect();
    }
    let bearing = has(Field::Bearing) || has(Field::Swing);
    let placed = has(Field::Position) || (has(Field::Easting) && has(Field::Northing));
    let mut all =
        vec![(placed || has(Field::Latitude), "latitude"), (placed || has(Field::Longitude), "longitude")];
    if vocabulary == Vocabulary::Sectors {
        let heard = has(Field::Rise) || has(Field::Interference) || has(Field::Level);
        all.push((has(Field::Bearing), "azimuth"));
        all.push((has(Field::Beamwidth), "beamwidth"));
        all.push((heard, "noise rise or interference"));
    } else if vocabulary == Vocabulary::Swings {
        all.extend([(bearing, "heading"), (level, "level")]);
    } else {
        all.push((bearing, "bearing"));
    }
    all.into_iter().filter(|(there, _)| !there).map(|(_, what)| what).collect()
}

fn strange(columns: &Columns, index: usize, at: &Origin) -> Finding {
    let header = &columns.headers[index];
    let message = "what stands beside the name is no unit that belongs here: the column is not used";
    let hint = "use deg, gon, mil, m, ft, MHz, dBm, or for levels dBµV or dBµV/m, and WGS 84 for latitude and longitude; or take it out";
    Finding::refused("unit-unknown", message).at(at.clone().cell(index as u64 + 1, header, header)).hint(hint)
}

/// Says what was taken from the header where that is not plain.
fn tell(columns: &Columns, at: &Origin, log: &mut Log) {
    let mut assumed = |code, message: String| log.tell(Finding::assumed(code, message).at(at.clone()));
    let unknown: Vec<String> = columns.unknown().map(|i| clipped(&columns.headers[i])).collect();
    if !unknown.is_empty() {
        assumed("columns-unused", format!("columns not used: {}", unknown.join(", ")));
    }
    let spare = spare_positions(columns);
    if !spare.is_empty() {
        let message = format!("the position stands there more than once: not used are {}", spare.join(", "));
        assumed("position-twice", message);
    }
    let angles = [Field::Bearing, Field::Swing, Field::Sigma, Field::Beamwidth];
    if angles.iter().any(|f| columns.notes(*f, &["mil", "mils"])) {
        assumed("mil", "a mil is taken as a 6,400th of a turn".to_owned());
    }
    if let Some(north) = columns.north().map(NorthLabel::word) {
        assumed(
            "north-from-header",
            format!("the header of the {} names {north} north", directions(columns)),
        );
    }
}

/// What the directions of a file are called.
fn directions(columns: &Columns) -> &'static str {
    if columns.named(Field::Beamwidth) { "azimuths" } else { "bearings" }
}

/// Headers of positions beside the one that is read: latitude and longitude before easting and northing before one cell.
fn spare_positions(columns: &Columns) -> Vec<String> {
    let ways: [&[Field]; 3] =
        [&[Field::Latitude, Field::Longitude], &[Field::Easting, Field::Northing], &[Field::Position]];
    let whole = |way: &&[Field]| way.iter().all(|f| columns.at(*f).is_some());
    let used = ways.into_iter().find(whole).unwrap_or_default();
    let others = ways.into_iter().flatten().filter(|f| !used.contains(f));
    others.filter_map(|f| columns.at(*f)).map(|i| clipped(&columns.headers[i])).collect()
}
