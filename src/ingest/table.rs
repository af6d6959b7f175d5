//! The table as a whole: delimiter, decimal mark, header; then row by row.

use std::borrow::Cow;

use csv::StringRecord;

use crate::{
    finding::{Finding, Origin},
    ingest::{
        Settings,
        columns::Columns,
        header,
        lines::{Lines, plain_ends, quote_open},
        log::Log,
        row::Reader,
        sheet::Sheet,
        vocabulary::Vocabulary,
    },
    observe::ReadBearing,
};

/// Longer lines are refused: no field note has them, and a file without line ends is no table.
const LONGEST_LINE: usize = 1 << 20;

/// More rows are not read: nobody takes as many bearings of one case, and memory stays bounded.
pub const MOST_ROWS: usize = 100_000;

/// Reads a table of bearings.
pub fn read(name: &str, text: Cow<'_, str>, settings: &Settings, log: &mut Log) -> Vec<ReadBearing> {
    let text = plain_ends(text);
    let Some(table) = Table::open(name, &text, Vocabulary::Bearings, log) else { return Vec::new() };
    let Some(sheet) = Sheet::new(name, &table.columns, settings, Some(table.delimiter()), log) else {
        return Vec::new();
    };
    let mut reader = Reader::new(&sheet);
    let mut out = Vec::new();
    let limit = (MOST_ROWS, "split the file, or leave out what is no bearing");
    each(&sheet, table.records, limit, log, |record, line, log| out.extend(reader.read(record, line, log)));
    reader.finish(&out, log);
    out
}

/// A text whose header is understood, and the rows that follow it.
pub struct Table<'t> {
    /// Its header.
    pub columns: Columns,
    /// Its rows.
    pub records: Records<'t>,
}

impl<'t> Table<'t> {
    /// Reads the header of a text with plain line ends; `None` after a refusal.
    pub fn open(name: &str, text: &'t str, vocabulary: Vocabulary, log: &mut Log) -> Option<Self> {
        if let Some(at) = text.lines().position(|l| l.len() > LONGEST_LINE) {
            let message = "the line has more than a million characters: nothing of this file is read";
            let hint = "is this a table? its rows stand on lines of their own";
            let at = Origin::line(name, at as u64 + 1);
            log.tell(Finding::refused("line-too-long", message).at(at).hint(hint));
            return None;
        }
        let mut records = Records::of(text);
        let Some(first) = records.find_map(|r| (!r.empty()).then_some(r)) else {
            let hint = "a table needs a header line and at least one row";
            log.tell(Finding::refused("empty", "the file holds no table").at(Origin::file(name)).hint(hint));
            return None;
        };
        let at = Origin::line(name, first.line);
        if first.open {
            log.tell(quote_open_at(at));
            return None;
        }
        let headers: Vec<String> = first.cells.iter().map(str::to_owned).collect();
        if let Some(finding) = over_lines(at.clone(), &headers, &first) {
            log.tell(finding);
        }
        let columns = header::columns(&headers, &at, vocabulary, log)?;
        if records.delimiter != b',' {
            let what = if records.delimiter == b'\t' { "tabs" } else { "semicolons" };
            let message =
                format!("cells are separated by {what}, and a comma in a number is its decimal mark");
            log.tell(Finding::assumed("delimiter", message).at(Origin::file(name)));
        }
        Some(Self { columns, records })
    }

    /// What separates the cells.
    pub fn delimiter(&self) -> char {
        char::from(self.records.delimiter)
    }
}

/// Hands out the rows one by one, so that nothing of them need be kept. More rows than the limit are refused with
/// what to do about it.
pub fn each(
    sheet: &Sheet,
    mut records: Records,
    (most, hint): (usize, &str),
    log: &mut Log,
    mut take: impl FnMut(&StringRecord, u64, &mut Log),
) {
    let filled = records.by_ref().filter(|r| !r.empty());
    let mut seen = false;
    for (record, count) in filled.zip(0..) {
        seen = true;
        if count == most {
            let message = format!("the file has more than {most} rows: what follows is not read");
            log.tell(Finding::refused("too-many-rows", message).at(sheet.origin(record.line)).hint(hint));
            break;
        }
        if record.open {
            log.tell(quote_open_at(sheet.origin(record.line)));
            break;
        }
        if let Some(finding) = over_lines(sheet.origin(record.line), &sheet.columns.headers, &record) {
            log.tell_row(finding);
        }
        take(&record.cells, record.line, log);
    }
    if !seen {
        let finding = Finding::refused("no-rows", "the table has a header and no rows");
        log.tell(finding.at(Origin::file(sheet.name)).hint("write one row for each observation"));
    }
    if let Some(first) = records.lines.first_comment {
        let message = format!("{} line(s) that begin with # were passed over", records.lines.comments);
        log.tell(Finding::assumed("comments", message).at(Origin::line(sheet.name, first)));
    }
}

fn quote_open_at(origin: Origin) -> Finding {
    Finding::refused("quote-open", "a quotation mark is not closed: from here on the file is not read")
        .at(origin)
        .hint("close it, or write it twice where it belongs to the text")
}

/// A cell with a line end in it may be meant, or may have swallowed rows.
fn over_lines(row: Origin, headers: &[String], record: &Record) -> Option<Finding> {
    let index = record.cells.iter().position(|c| c.contains('\n'))?;
    let header = headers.get(index).map_or("", String::as_str);
    let cell = &record.cells[index];
    let message = format!("the cell runs over {} lines", cell.matches('\n').count() + 1);
    let hint = "are these rows of their own? then a quotation mark is missing or too many";
    Some(
        Finding::doubtful("cell-over-lines", message).at(row.cell(index as u64 + 1, header, cell)).hint(hint),
    )
}

/// One row of the text.
pub struct Record {
    pub cells: StringRecord,
    line: u64,
    /// Whether a quotation mark was open when the text ended.
    open: bool,
}

impl Record {
    pub fn empty(&self) -> bool {
        self.cells.iter().all(str::is_empty)
    }
}

/// The rows of a text, with the lines they stand on.
pub struct Records<'t> {
    reader: csv::Reader<&'t [u8]>,
    lines: Lines<'t>,
    delimiter: u8,
}

impl<'t> Records<'t> {
    pub fn of(text: &'t str) -> Self {
        let delimiter = delimiter(text);
        let reader = csv::ReaderBuilder::new()
            .delimiter(delimiter)
            .has_headers(false)
            .flexible(true)
            .comment(Some(b'#'))
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        Self { reader, lines: Lines::of(text), delimiter }
    }
}

impl Iterator for Records<'_> {
    type Item = Record;

    fn next(&mut self) -> Option<Record> {
        let mut cells = StringRecord::new();
        let from = self.reader.position().byte() as usize;
        // Text in memory, with rows of any length, gives the parser nothing to fail at.
        let more = self.reader.read_record(&mut cells).unwrap_or(false);
        let (line, text) = self.lines.row(from, self.reader.position().byte() as usize);
        let open = quote_open(text, self.delimiter);
        more.then_some(Record { cells, line, open })
    }
}

/// The delimiter that cuts the header into most cells; a comma where none does.
fn delimiter(text: &str) -> u8 {
    let header = text.lines().find(|l| !l.trim().is_empty() && !l.starts_with('#')).unwrap_or("");
    let count = |d: u8| header.bytes().filter(|b| *b == d).count();
    [b';', b'\t', b','].into_iter().max_by_key(|d| (count(*d), *d == b',')).unwrap_or(b',')
}
