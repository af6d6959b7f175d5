//! A file under its header, and one row of it: cells with where they stand, numbers, refusals.

use std::{cell::RefCell, collections::BTreeSet, ops::RangeBounds};

use csv::StringRecord;
use jiff::tz::TimeZone;

use crate::{
    finding::{Finding, Origin, clipped},
    ingest::{Settings, columns::Columns, log::Log, names::Field},
};

/// What all rows of a file have in common.
pub struct Sheet<'a> {
    /// Name of the file.
    pub name: &'a str,
    /// Its header.
    pub columns: &'a Columns,
    /// What the caller states.
    pub settings: &'a Settings,
    /// Zone of times without an offset of their own, with its name.
    pub zone: Option<(TimeZone, String)>,
    /// What separates the cells; unless it is a comma, a comma is a decimal mark. `None` where rows are features of
    /// GeoJSON, counted from 1, instead of lines.
    pub delimiter: Option<char>,
    /// Codes of the grids that its rows have named so far.
    codes: RefCell<BTreeSet<u32>>,
}

/// More grids in one file are refused: opening one is slow, and no survey has them.
const MOST_GRIDS: usize = 16;

/// One row with the findings about it.
pub struct Row<'s> {
    /// Its file.
    pub sheet: &'s Sheet<'s>,
    /// Its cells.
    pub record: &'s StringRecord,
    /// Line, or number of the feature.
    pub line: u64,
    /// What there is to tell about it.
    pub told: Vec<Finding>,
}

/// A cell that is not empty.
pub struct Cell<'r> {
    /// What it holds, without blanks around it.
    pub text: &'r str,
    /// Where it stands.
    pub origin: Origin,
    index: usize,
}

impl Cell<'_> {
    /// A refusal that names this cell.
    pub fn refuse(&self, code: &'static str, message: impl Into<String>, hint: &str) -> Finding {
        Finding::refused(code, message).at(self.origin.clone()).hint(hint)
    }

    /// A doubt that names this cell.
    pub fn doubt(&self, code: &'static str, message: impl Into<String>, hint: &str) -> Finding {
        Finding::doubtful(code, message).at(self.origin.clone()).hint(hint)
    }
}

impl<'a> Sheet<'a> {
    /// A file under its header; `None` when the time zone that the caller states is not known. A header that says UTC
    /// is closer to its times than the caller.
    pub fn new(
        name: &'a str,
        columns: &'a Columns,
        settings: &'a Settings,
        delimiter: Option<char>,
        log: &mut Log,
    ) -> Option<Self> {
        let named = match settings.zone.as_deref() {
            Some(stated) if columns.says_utc() => {
                let message =
                    format!("the header says UTC, so that the zone {} is not used", clipped(stated));
                log.tell(Finding::assumed("zone-from-header", message).at(Origin::file(name)));
                Some("UTC")
            }
            None if columns.says_utc() => Some("UTC"),
            stated => stated,
        };
        let zone = match named.map(TimeZone::get) {
            Some(Err(_)) => {
                let message = format!("the time zone {} is not known", clipped(named.unwrap_or_default()));
                let hint = "use an IANA name such as America/Los_Angeles";
                log.tell(Finding::refused("zone-unknown", message).at(Origin::file(name)).hint(hint));
                return None;
            }
            other => other.and_then(Result::ok).zip(named.map(str::to_owned)),
        };
        Some(Self { name, columns, settings, zone, delimiter, codes: RefCell::default() })
    }

    /// Whether a grid is one of those that the file may name.
    pub fn admits(&self, code: u32) -> bool {
        let mut codes = self.codes.borrow_mut();
        let admitted = codes.len() < MOST_GRIDS || codes.contains(&code);
        if admitted {
            codes.insert(code);
        }
        admitted
    }

    /// Where a row stands.
    pub fn origin(&self, line: u64) -> Origin {
        if self.delimiter.is_none() {
            Origin::file(&format!("{}, feature {line}", self.name))
        } else {
            Origin::line(self.name, line)
        }
    }

    /// A finite number; a comma is a decimal mark unless it separates the cells.
    pub fn parse(&self, text: &str) -> Option<f64> {
        let text = text.replace('\u{2212}', "-");
        let decimal = match self.delimiter {
            Some(',') => quoted_decimal(&text),
            Some(_) => !text.contains('.'),
            None => false,
        };
        let text = if decimal { text.replace(',', ".") } else { text };
        let plain = text.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | '-' | '+' | 'e' | 'E'));
        text.parse::<f64>().ok().filter(|v| plain && v.is_finite())
    }
}

/// Whether the comma of a quoted cell is a decimal mark: one comma, no point, and not the three digits behind it that
/// would make it a mark of thousands.
fn quoted_decimal(text: &str) -> bool {
    let behind = text.split_once(',').map(|(_, b)| b);
    !text.contains('.') && behind.is_some_and(|b| b.len() != 3 && !b.contains(','))
}

impl<'s> Row<'s> {
    /// The row's place in its file.
    pub fn origin(&self) -> Origin {
        self.sheet.origin(self.line)
    }

    /// Where the cell of a field stands, or the row where there is no such column.
    fn place_of(&self, field: Field) -> Origin {
        match self.sheet.columns.at(field) {
            Some(index) => self.cell_origin(index, self.record.get(index).unwrap_or("")),
            None => self.origin(),
        }
    }

    /// Features of GeoJSON have names for their values, but no columns.
    fn cell_origin(&self, index: usize, text: &str) -> Origin {
        let origin = self.origin().cell(index as u64 + 1, &self.sheet.columns.headers[index], text);
        if self.sheet.delimiter.is_none() { Origin { column: None, ..origin } } else { origin }
    }

    /// Refuses the row because of a field that is empty, or that does not agree with the others.
    pub fn refuse_field(&mut self, field: Field, code: &'static str, message: impl Into<String>, hint: &str) {
        let finding = Finding::refused(code, message).at(self.place_of(field)).hint(hint);
        self.told.push(finding);
    }

    /// Refuses the row as a whole.
    pub fn refuse(&mut self, code: &'static str, message: impl Into<String>, hint: &str) {
        let finding = Finding::refused(code, message).at(self.origin()).hint(hint);
        self.told.push(finding);
    }

    /// The cell of a field, unless it is empty or has no column.
    pub fn cell(&self, field: Field) -> Option<Cell<'s>> {
        self.sheet.columns.at(field).and_then(|i| self.cell_at(i))
    }

    /// The cell of a column, unless it is empty.
    pub fn cell_at(&self, index: usize) -> Option<Cell<'s>> {
        let text = self.record.get(index).map(str::trim).filter(|t| !t.is_empty())?;
        Some(Cell { text, origin: self.cell_origin(index, text), index })
    }

    /// The text of a field.
    pub fn text(&self, field: Field) -> Option<String> {
        self.cell(field).map(|c| c.text.to_owned())
    }

    /// Date and time as one text, and the cell that a finding about it names. They may stand in two columns.
    pub fn time(&self) -> Option<(Cell<'s>, String)> {
        match (self.cell(Field::Date), self.cell(Field::Time)) {
            (Some(date), Some(time)) => {
                let text = format!("{} {}", date.text, time.text);
                let origin = Origin { value: Some(clipped(&text)), ..time.origin };
                Some((Cell { origin, ..time }, text))
            }
            (date, time) => date.or(time).map(|cell| {
                let text = cell.text.to_owned();
                (cell, text)
            }),
        }
    }

    /// A number in the unit of its header, as degrees, metres, megahertz or decibels; what is no number is refused.
    pub fn number(&mut self, field: Field) -> Option<f64> {
        let cell = self.cell(field)?;
        let value = self.measured(field, &cell, cell.text);
        self.checked(&cell, value)
    }

    /// The same for a value that the bearing can do without: what is no number is left out, and told.
    pub fn extra(&mut self, field: Field) -> Option<f64> {
        let cell = self.cell(field)?;
        let value = self.measured(field, &cell, cell.text);
        if value.is_none() {
            let hint = "write digits only, the unit belongs into the header";
            self.told.push(cell.doubt("value-left-out", "this is not a number: it is left out", hint));
        }
        value
    }

    /// A number in the unit that stands behind it, or else in that of its header.
    pub fn measured(&self, field: Field, cell: &Cell, text: &str) -> Option<f64> {
        let plain = self.sheet.parse(text).map(|v| v * self.factor(cell));
        let with_unit = || {
            let at = text.find(|c: char| c.is_alphabetic() || c == '°')?;
            let (digits, unit) = text.split_at(at);
            Some(self.sheet.parse(digits.trim_end())? * field.factor(&unit.trim().to_lowercase())?)
        };
        plain.or_else(with_unit).filter(|v| v.is_finite())
    }

    fn checked(&mut self, cell: &Cell, value: Option<f64>) -> Option<f64> {
        if value.is_none() {
            let hint = "write digits only, the unit belongs into the header";
            self.told.push(cell.refuse("not-a-number", "this is not a number", hint));
        }
        value
    }

    /// The number as it is written, whatever the unit of its header.
    pub fn plain_number(&mut self, field: Field) -> Option<f64> {
        let cell = self.cell(field)?;
        let value = self.sheet.parse(cell.text);
        self.checked(&cell, value)
    }

    /// A number within a range; one outside of it is refused with this reason.
    pub fn number_in(
        &mut self,
        field: Field,
        range: impl RangeBounds<f64>,
        code: &'static str,
        why: &str,
        hint: &str,
    ) -> Option<f64> {
        let value = self.number(field)?;
        if range.contains(&value) {
            return Some(value);
        }
        let cell = self.cell(field)?;
        self.told.push(cell.refuse(code, why, hint));
        None
    }

    /// Factor of a cell's unit.
    pub fn factor(&self, cell: &Cell) -> f64 {
        self.sheet.columns.factor(cell.index)
    }
}
