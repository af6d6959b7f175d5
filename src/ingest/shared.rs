//! What every table's rows have in common: the number of cells, times, and how findings are told.

use std::borrow::Cow;

use csv::StringRecord;

use crate::{
    finding::{Finding, Severity},
    ingest::{
        log::Log,
        names::Field,
        once::Once,
        sheet::{Row, Sheet},
        time::{Moment, moment},
    },
    instant::Instant,
};

/// The row with as many cells as the header, or `None` after a refusal.
pub fn fitting<'r>(
    sheet: &Sheet,
    record: &'r StringRecord,
    line: u64,
    log: &mut Log,
) -> Option<Cow<'r, StringRecord>> {
    let (have, need) = (record.len(), sheet.columns.headers.len());
    let joined = (have > need).then(|| remarks_joined(sheet, record, line, log)).flatten();
    let record = joined.map_or(Cow::Borrowed(record), Cow::Owned);
    if record.len() == need {
        return Some(record);
    }
    log.tell_row(
        Finding::refused("cells-differ", format!("the row has {have} cells and the header {need}"))
            .at(sheet.origin(line))
            .hint("quote cells that contain the delimiter, and leave empty cells empty"),
    );
    None
}

/// Remarks in the last column are free text, in which people write the delimiter without quotes: surplus cells are
/// put back together, and told.
fn remarks_joined(sheet: &Sheet, record: &StringRecord, line: u64, log: &mut Log) -> Option<StringRecord> {
    let columns = sheet.columns;
    let last = columns.headers.len() - 1;
    if columns.at(Field::Remarks) != Some(last) {
        return None;
    }
    let mark = format!("{} ", sheet.delimiter?);
    let remark = record.iter().skip(last).collect::<Vec<_>>().join(&mark);
    let origin = sheet.origin(line).cell(last as u64 + 1, &columns.headers[last], &remark);
    let message = "the row has more cells than the header: the surplus was read as part of the remark";
    log.tell_row(Finding::assumed("remark-joined", message).at(origin));
    Some(record.iter().take(last).chain(std::iter::once(remark.as_str())).collect())
}

/// Tells the findings about a row; whether none of them refuses it.
pub fn told(findings: Vec<Finding>, once: &mut Once, log: &mut Log) -> bool {
    let sound = findings.iter().all(|f| f.severity != Severity::Refused);
    for finding in findings {
        if finding.code == "grid-operation" {
            once.operations.insert(finding.message);
        } else {
            log.tell_row(finding);
        }
    }
    sound
}

/// The time of a row, or the date where the time cannot be brought to UTC.
pub fn time(row: &mut Row, once: &mut Once) -> (Option<Instant>, Option<jiff::civil::Date>) {
    let Some((cell, text)) = row.time() else { return (None, None) };
    let doubt = |code, message: &str, hint: &str| cell.doubt(code, message, hint);
    match moment(&text, row.sheet.zone.as_ref()) {
        Moment::Known(instant) => (Some(instant), None),
        Moment::Day(date) => (None, Some(date)),
        Moment::Local(date) => {
            once.local_times += 1;
            (None, Some(date))
        }
        Moment::Skipped(date) => {
            let message = "this hour does not exist: the clocks went forward over it";
            row.told.push(doubt("time-skipped", message, "the time is left out: which hour was it?"));
            (None, Some(date))
        }
        Moment::Twice(date, a, b) => {
            let message = format!("this hour occurs twice: {a} or {b}");
            row.told.push(doubt("time-twice", &message, "the time is left out: write it in UTC"));
            (None, Some(date))
        }
        Moment::Unread(date) => {
            let message = "the time behind the date is not understood: only the date is used";
            let hint = "write the time as 08:40, with Z, UTC or an offset such as -07:00 behind it";
            row.told.push(cell.doubt("time-unread", message, hint));
            (None, Some(date))
        }
        Moment::Unknown => {
            let hint = "write 2026-03-17T15:40:00Z or 17.03.2026 08:40";
            let message = "this is not a date and time that can be told for certain";
            row.told.push(doubt("time-unknown", message, hint));
            (None, None)
        }
    }
}
