//! What kind of file this is, by its first bytes and its header.

use crate::ingest::{
    columns::field_of, decode, json, lines::plain_ends, log::Log, names::Field, table::Records,
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
        return if bearing { Kind::Bearings } else { Kind::Unknown };
    }
    of_header(&text)
}

fn of_header(text: &str) -> Kind {
    let Some(header) = Records::of(text).find(|r| !r.empty()) else { return Kind::Unknown };
    let any = |vocabulary, fields: &[Field]| {
        header.cells.iter().filter_map(|h| field_of(h, vocabulary)).any(|f| fields.contains(&f))
    };
    // A rise is no column of bearings, and a width of the beam none of levels.
    if any(Vocabulary::Sectors, &[Field::Beamwidth, Field::Rise])
        || any(Vocabulary::Sectors, &[Field::Interference]) && any(Vocabulary::Sectors, &[Field::Bearing])
    {
        Kind::Sectors
    } else if any(Vocabulary::Bearings, &[Field::Bearing, Field::Swing]) {
        Kind::Bearings
    } else if any(Vocabulary::Levels, &[Field::Level, Field::Indicated]) {
        Kind::Levels
    } else {
        Kind::Unknown
    }
}
