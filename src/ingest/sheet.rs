//! A file under its header, and one row of it: cells with where they stand, numbers, refusals.

use csv::StringRecord;
use jiff::tz::TimeZone;

use crate::{
    finding::{Finding, Origin},
    ingest::{
        NorthLabel, Settings,
        columns::{Columns, Field},
    },
};

/// What all rows of a file have in common.
pub struct Sheet<'a> {
    /// Name of the file.
    pub name: &'a str,
    /// Its header.
    pub columns: &'a Columns,
    /// What the caller states.
    pub settings: &'a Settings,
    /// North of bearings that do not say theirs.
    pub north: Option<NorthLabel>,
    /// Zone of local times.
    pub zone: Option<TimeZone>,
    /// Whether a comma is a decimal mark.
    pub comma: bool,
    /// Whether rows are features of a GeoJSON file, counted from 1, instead of lines.
    pub features: bool,
}

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

impl Sheet<'_> {
    /// Where a row stands.
    pub fn origin(&self, line: u64) -> Origin {
        if self.features {
            Origin::file(&format!("{}, feature {line}", self.name))
        } else {
            Origin::line(self.name, line)
        }
    }

    /// A finite number; a comma is a decimal mark unless it separates the cells.
    pub fn parse(&self, text: &str) -> Option<f64> {
        let text = text.replace('\u{2212}', "-");
        let text = if self.comma && !text.contains('.') { text.replace(',', ".") } else { text };
        let plain = text.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | '-' | '+' | 'e' | 'E'));
        text.parse::<f64>().ok().filter(|v| plain && v.is_finite())
    }
}

impl<'s> Row<'s> {
    /// The row's place in its file.
    pub fn origin(&self) -> Origin {
        self.sheet.origin(self.line)
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
        let origin = self.origin().cell(index as u64 + 1, &self.sheet.columns.headers[index], text);
        Some(Cell { text, origin, index })
    }

    /// The text of a field.
    pub fn text(&self, field: Field) -> Option<String> {
        self.cell(field).map(|c| c.text.to_owned())
    }

    /// A number in the unit of its header, as degrees, metres, megahertz or decibels; what is no number is refused.
    pub fn number(&mut self, field: Field) -> Option<f64> {
        let cell = self.cell(field)?;
        let factor = self.sheet.columns.factor(cell.index);
        match self.sheet.parse(cell.text) {
            Some(value) => Some(value * factor),
            None => {
                let hint = "write digits only, the unit belongs into the header";
                self.told.push(cell.refuse("not-a-number", "this is not a number", hint));
                None
            }
        }
    }

    /// Factor of a cell's unit.
    pub fn factor(&self, cell: &Cell) -> f64 {
        self.sheet.columns.factor(cell.index)
    }
}
