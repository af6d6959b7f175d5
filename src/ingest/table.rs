//! The table as a whole: delimiter, decimal mark, header; then row by row.

use crate::{
    finding::{Finding, Origin},
    ingest::{
        Settings,
        columns::{Columns, Field},
        row::Reader,
    },
    observe::ReadBearing,
};

/// Reads the table.
pub fn read(name: &str, text: &str, settings: &Settings, findings: &mut Vec<Finding>) -> Vec<ReadBearing> {
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
    tell(name, delimiter, &columns, findings);
    let Some(mut rows) = Reader::new(name, &columns, settings, delimiter, findings) else {
        return Vec::new();
    };
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
    rows.finish(&mut out, findings);
    out
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
fn usable(name: &str, columns: &Columns, findings: &mut Vec<Finding>) -> bool {
    let bearing = columns.at(Field::Bearing).is_some() || columns.swings().next().is_some();
    let missing: Vec<&str> = [
        (columns.at(Field::Latitude).is_some(), "latitude"),
        (columns.at(Field::Longitude).is_some(), "longitude"),
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
fn tell(name: &str, delimiter: u8, columns: &Columns, findings: &mut Vec<Finding>) {
    if delimiter != b',' {
        let what = if delimiter == b'\t' { "tabs" } else { "semicolons" };
        let message = format!("cells are separated by {what}, and a comma in a number is its decimal mark");
        findings.push(Finding::assumed("delimiter", message).at(Origin::file(name)));
    }
    let unknown: Vec<String> = (0..columns.headers.len())
        .filter(|i| columns.found.iter().all(|(_, at)| at != i) && !columns.headers[*i].is_empty())
        .map(|i| crate::finding::clipped(&columns.headers[i]))
        .collect();
    if !unknown.is_empty() {
        let message = format!("columns not used: {}", unknown.join(", "));
        findings.push(Finding::assumed("columns-unused", message).at(Origin::line(name, 1)));
    }
}
