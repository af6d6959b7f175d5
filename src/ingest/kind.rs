//! What kind of file this is, by its first bytes and its header.

use crate::ingest::{
    columns::field_of,
    decode, json,
    lines::plain_ends,
    log::Log,
    names::Field,
    table::{Record, Records},
    vocabulary::Vocabulary,
};

/// What a file holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Bearings.
    Bearings,
    /// Levels.
    Levels,
    /// Sectors of base stations, with the levels that disturb them.
    Sectors,
    /// A track of places: GPX or NMEA 0183.
    Track,
    /// Levels against headings of an antenna turned on the spot.
    Swings,
    /// Nothing that is known by its beginning.
    Unknown,
}

/// A header longer than this is none.
const HEAD: usize = 1 << 16;

/// The kind of a file. Only its beginning is looked at, and nothing of it is judged.
pub fn kind(bytes: &[u8]) -> Kind {
    // A cut through a character of several bytes would make the text look like no UTF-8.
    let head = &bytes[..bytes.len().min(HEAD)];
    let cut = head.iter().rposition(|b| *b == b'\n').filter(|_| bytes.len() > HEAD);
    let head = cut.map_or(head, |at| &head[..at]);
    let Some(text) = decode::text("", head, &mut Log::default()).map(plain_ends) else {
        return Kind::Unknown;
    };
    let start = text.trim_start();
    if start.starts_with('<') {
        return if start.contains("<gpx") { Kind::Track } else { Kind::Unknown };
    }
    if start.starts_with('$') {
        return Kind::Track;
    }
    if json::meant(&text) {
        let bearing = ["\"bearing", "\"azimuth", "\"swing"].iter().any(|key| text.contains(key));
        // A bare "level" would be the storey of a building.
        let level =
            ["\"indicated_dbm\"", "\"level_dbm\"", "\"level_dbuv"].iter().any(|key| text.contains(key));
        return match (bearing, level) {
            (true, _) => Kind::Bearings,
            (false, true) => Kind::Levels,
            (false, false) => Kind::Unknown,
        };
    }
    of_header(&text)
}

/// So many rows tell whether somebody stayed where he was.
const LOOKED_AT: usize = 30;

/// Whether the table has a column of headings, and most of its rows stand where the one before stands: a log of a walk may
/// have the walker's heading beside its levels. A column of bearings or azimuths makes no swing: it is one of bearings. Beside
/// the width of a beam, a heading that has a name of sectors' azimuths makes none either.
fn on_the_spot(header: &Record, rows: impl Iterator<Item = Record>) -> bool {
    let bearing = |h: &str, vocabulary| field_of(h, vocabulary) == Some(Field::Bearing);
    let beam = header.cells.iter().any(|h| field_of(h, Vocabulary::Sectors) == Some(Field::Beamwidth));
    let heading = |h: &str| {
        bearing(h, Vocabulary::Swings)
            && field_of(h, Vocabulary::Bearings).is_none()
            && !(beam && bearing(h, Vocabulary::Sectors))
    };
    if !header.cells.iter().any(heading) {
        return false;
    }
    let placing =
        [Field::Latitude, Field::Longitude, Field::Easting, Field::Northing, Field::Position, Field::Place];
    let fields: Vec<Option<Field>> = header.cells.iter().map(|h| field_of(h, Vocabulary::Swings)).collect();
    let named = fields.contains(&Some(Field::Place));
    let placed =
        |f: &Option<Field>| f.is_some_and(|f| if named { f == Field::Place } else { placing.contains(&f) });
    let spots: Vec<Vec<String>> = rows
        .take(LOOKED_AT)
        .map(|r| {
            fields.iter().zip(r.cells.iter()).filter(|(f, _)| placed(f)).map(|(_, c)| c.to_owned()).collect()
        })
        .collect();
    let stayed = spots.windows(2).filter(|w| w[0] == w[1]).count();
    2 * stayed + 1 >= spots.len()
}

fn of_header(text: &str) -> Kind {
    let mut records = Records::of(text).filter(|r| !r.empty());
    let Some(header) = records.next() else { return Kind::Unknown };
    let any = |vocabulary, fields: &[Field]| {
        header.cells.iter().filter_map(|h| field_of(h, vocabulary)).any(|f| fields.contains(&f))
    };
    // A rise is no column of bearings.
    if any(Vocabulary::Sectors, &[Field::Rise])
        || any(Vocabulary::Sectors, &[Field::Interference]) && any(Vocabulary::Sectors, &[Field::Bearing])
    {
        Kind::Sectors
    } else if any(Vocabulary::Levels, &[Field::Level, Field::Indicated]) && on_the_spot(&header, records) {
        Kind::Swings
    } else if any(Vocabulary::Sectors, &[Field::Beamwidth]) {
        Kind::Sectors
    } else if any(Vocabulary::Bearings, &[Field::Bearing, Field::Swing]) {
        Kind::Bearings
    } else if any(Vocabulary::Levels, &[Field::Level, Field::Indicated]) {
        Kind::Levels
    } else {
        Kind::Unknown
    }
}
