//! The table as a whole: delimiter, decimal mark, header; then row by row.

use jiff::tz::TimeZone;

use crate::{
    finding::{Finding, Origin},
    ingest::{
        NorthLabel, Settings,
        columns::{Columns, Field},
        row::Reader,
        sheet::Sheet,
    },
    observe::ReadBearing,
};

/// Longer lines are refused: no field note has them, and a file without line ends is no table.
const LONGEST_LINE: usize = 1 << 20;

/// Reads the table.
pub fn read(name: &str, text: &str, settings: &Settings, findings: &mut Vec<Finding>) -> Vec<ReadBearing> {
    if let Some(at) = text.lines().position(|l| l.len() > LONGEST_LINE) {
        let finding = Finding::refused("line-too-long", "the line has more than a million characters")
            .at(Origin::line(name, at as u64 + 1))
            .hint("is this a table of bearings? its rows stand on lines of their own");
        findings.push(finding);
        return Vec::new();
    }
    let delimiter = delimiter(text);
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .has_headers(false)
        .flexible(true)
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let mut records = reader.records();
    let Some(header) = records.find_map(|r| r.ok().filter(|r| r.iter().any(|c| !c.is_empty()))) else {
        let hint = "a table needs a header line and at least one row";
        findings.push(Finding::refused("empty", "the file holds no table").at(Origin::file(name)).hint(hint));
        return Vec::new();
    };
    let headers: Vec<String> = header.iter().map(str::to_owned).collect();
    let columns = Columns::of(&headers);
    if !usable(name, &columns, findings) {
        return Vec::new();
    }
    if delimiter != b',' {
        let what = if delimiter == b'\t' { "tabs" } else { "semicolons" };
        let message = format!("cells are separated by {what}, and a comma in a number is its decimal mark");
        findings.push(Finding::assumed("delimiter", message).at(Origin::file(name)));
    }
    let Some(sheet) = sheet(name, &columns, settings, delimiter != b',', findings) else { return Vec::new() };
    let mut rows = Reader::new(&sheet);
    let mut out = Vec::new();
    for record in records {
        match record {
            Ok(record) if record.iter().all(str::is_empty) => {}
            Ok(record) => out.extend(rows.read(&record, line(text, record.position()), findings)),
            Err(error) => {
                let line = line(text, error.position());
                let message = "the row could not be taken apart into cells";
                findings.push(
                    Finding::refused("broken-row", message)
                        .at(Origin::line(name, line))
                        .hint("look for a quotation mark that is not closed"),
                );
            }
        }
    }
    rows.finish(&out, findings);
    out
}

/// What all rows have in common, told where it is not plain; `None` when the stated time zone is unknown.
pub fn sheet<'a>(
    name: &'a str,
    columns: &'a Columns,
    settings: &'a Settings,
    comma: bool,
    findings: &mut Vec<Finding>,
) -> Option<Sheet<'a>> {
    tell(name, columns, findings);
    let zone_name = settings.zone.as_deref();
    let zone = match zone_name.map(TimeZone::get) {
        Some(Err(_)) => {
            let message = format!(
                "the time zone {} is not known",
                crate::finding::clipped(zone_name.unwrap_or_default())
            );
            let hint = "use an IANA name such as America/Los_Angeles";
            findings.push(Finding::refused("zone-unknown", message).at(Origin::file(name)).hint(hint));
            return None;
        }
        other => other.and_then(Result::ok),
    };
    let north = columns.north.or(settings.north);
    Some(Sheet { name, columns, settings, north, zone, comma, features: false })
}

/// Line of a record, counted from 1. The parser's own position is where it went on looking, before the blank lines and
/// comments that it passed over.
fn line(text: &str, position: Option<&csv::Position>) -> u64 {
    let Some(position) = position else { return 0 };
    let rest = text.get(position.byte() as usize..).unwrap_or("");
    let skipped =
        rest.split_inclusive('\n').take_while(|l| l.trim().is_empty() || l.starts_with('#')).count();
    position.line() + skipped as u64
}

/// The delimiter that cuts the header into most cells; a comma where none does.
fn delimiter(text: &str) -> u8 {
    let header = text.lines().find(|l| !l.trim().is_empty() && !l.starts_with('#')).unwrap_or("");
    let count = |d: u8| header.bytes().filter(|b| *b == d).count();
    [b';', b'\t', b','].into_iter().max_by_key(|d| (count(*d), *d == b',')).unwrap_or(b',')
}

/// Whether the columns that a bearing needs are there.
pub fn usable(name: &str, columns: &Columns, findings: &mut Vec<Finding>) -> bool {
    let has = |field| columns.at(field).is_some();
    let bearing = has(Field::Bearing) || columns.swings().next().is_some();
    let placed = has(Field::Position) || (has(Field::Easting) && has(Field::Northing));
    let missing: Vec<&str> = [
        (placed || has(Field::Latitude), "latitude"),
        (placed || has(Field::Longitude), "longitude"),
        (bearing, "bearing"),
    ]
    .into_iter()
    .filter(|(there, _)| !there)
    .map(|(_, what)| what)
    .collect();
    if missing.is_empty() {
        return true;
    }
    let seen =
        columns.headers.iter().map(|h| crate::finding::clipped(h)).take(30).collect::<Vec<_>>().join(", ");
    findings.push(
        Finding::refused("columns-missing", format!("no column for {} was recognised", missing.join(", ")))
            .at(Origin::line(name, 1))
            .hint(format!("the header has: {seen}; name the columns lat, lon and bearing_deg")),
    );
    false
}

/// Says what was recognised where it is not plain from the header.
fn tell(name: &str, columns: &Columns, findings: &mut Vec<Finding>) {
    let unknown: Vec<String> = (0..columns.headers.len())
        .filter(|i| columns.found.iter().all(|(_, at)| at != i) && !columns.headers[*i].is_empty())
        .map(|i| crate::finding::clipped(&columns.headers[i]))
        .collect();
    if !unknown.is_empty() {
        let message = format!("columns not used: {}", unknown.join(", "));
        findings.push(Finding::assumed("columns-unused", message).at(Origin::line(name, 1)));
    }
    for (index, unit) in &columns.strange {
        let header = &columns.headers[*index];
        let message = format!(
            "the unit {} is not known: the numbers are taken as they are",
            crate::finding::clipped(unit)
        );
        let origin = Origin::line(name, 1).cell(*index as u64 + 1, header, header);
        let hint = "use deg, gon, mil, m, ft, MHz or dBm";
        findings.push(Finding::doubtful("unit-unknown", message).at(origin).hint(hint));
    }
    if let Some(north) = columns.north.map(NorthLabel::word) {
        let message = format!("the header of the bearings names {north} north");
        findings.push(Finding::assumed("north-from-header", message).at(Origin::line(name, 1)));
    }
}
