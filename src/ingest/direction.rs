//! The direction of a row: one bearing, or several swings, with the north that it names.

use crate::{
    ingest::{
        NorthLabel,
        names::Field,
        sheet::{Cell, Row},
    },
    units::{Angle, CircularMean, circular_mean},
};

/// A direction as read.
pub struct Direction {
    /// The bearing, or the circular mean of the swings where no bearing is written.
    pub read: Angle,
    /// The swings.
    pub swings: Vec<Angle>,
    /// The north written in the row or its header, or stated for the file.
    pub north: Option<NorthLabel>,
}

/// Swings further apart than this are not one direction.
const WIDEST_DEGREES: f64 = 90.0;

/// Reads it; `None` after a refusal, but not for a missing north, which is told once for the file.
pub fn direction(row: &mut Row) -> Option<Direction> {
    let swings = swings(row)?;
    let mean = circular_mean(&swings);
    if !one_direction(row, &swings, mean) {
        return None;
    }
    let (mut read, mut named) = (None, None);
    if let Some(cell) = row.cell(Field::Bearing) {
        let (digits, north) = split_north(cell.text);
        let found = compass(row, &cell, digits)?;
        compare(row, &cell, found, mean);
        (read, named) = (Some(found), north);
    }
    let Some(read) = read.or(mean.map(|m| m.mean)) else {
        let hint = "write the bearing, or leave the row out";
        row.refuse_field(Field::Bearing, "bearing-missing", "the row has no bearing", hint);
        return None;
    };
    let north = north(row, named, "bearing")?;
    Some(Direction { read, swings, north })
}

/// Swings that cancel one another out have no mean, and those far apart none that anybody meant.
fn one_direction(row: &mut Row, swings: &[Angle], mean: Option<CircularMean>) -> bool {
    let apart = match mean {
        Some(m) => m.span.to_degrees(),
        None if swings.is_empty() => return true,
        None => 180.0,
    };
    if apart > WIDEST_DEGREES {
        let hint = "swing again, or write the two directions as two bearings";
        let message = format!("the swings lie up to {apart:.0}° apart: that is not one direction");
        row.refuse_field(Field::Swing, "not-one-direction", message, hint);
    }
    apart <= WIDEST_DEGREES
}

fn swings(row: &mut Row) -> Option<Vec<Angle>> {
    let columns: Vec<usize> = row.sheet.columns.swings().collect();
    let mut out = Vec::new();
    for index in columns {
        if let Some(cell) = row.cell_at(index) {
            out.push(compass(row, &cell, cell.text)?);
        }
    }
    Some(out)
}

/// Half a degree of rounding, and one more, before a bearing that is not the mean of its swings is worth a look.
fn compare(row: &mut Row, cell: &Cell, read: Angle, mean: Option<CircularMean>) {
    let Some(m) = mean.filter(|m| read.miss_from(m.mean).to_degrees().abs() > 1.5) else { return };
    let message = format!("the bearing differs from the mean of its swings, {:.1}°", m.mean.to_degrees());
    row.told.push(cell.doubt("swings-differ", message, "the bearing is used as written: check the row"));
}

/// A direction of a cell, or a refusal.
pub fn compass(row: &mut Row, cell: &Cell, text: &str) -> Option<Angle> {
    let value = row.measured(Field::Bearing, cell, text.trim());
    match value {
        // A full turn in gon or mils may round to a hair above 360.
        Some(v) if (0.0..=360.0 + 1e-9).contains(&v) => Some(Angle::degrees(v).compass()),
        Some(_) => {
            let hint = "write degrees from 0 to 360, clockwise from north";
            row.told.push(cell.refuse(
                "bearing-out-of-range",
                "a direction runs from 0 to 360 degrees",
                hint,
            ));
            None
        }
        None => {
            let hint = "write degrees such as 055 or 55.5";
            row.told.push(cell.refuse("not-a-number", "this is not a number of degrees", hint));
            None
        }
    }
}

/// The north of the row's own cell, of the bearing itself, or of its header; they must not contradict one another. The
/// caller's word counts where none of them says anything. The outer option is `None` after a refusal, the inner one when
/// nothing names a north.
pub fn north(row: &mut Row, marked: Option<NorthLabel>, what: &str) -> Option<Option<NorthLabel>> {
    let mut found = None;
    if let Some(cell) = row.cell(Field::North) {
        found = NorthLabel::from_word(cell.text);
        if found.is_none() {
            let hint = "write true, magnetic or grid";
            row.told.push(cell.refuse("north-unknown", "this is not one of the three norths", hint));
            return None;
        }
    }
    let header = row.sheet.columns.north();
    for (label, what) in
        [(marked, format!("the {what} itself")), (header, format!("the header of the {what}s"))]
    {
        let Some(label) = label else { continue };
        if let Some(other) = found.replace(label).filter(|f| *f != label) {
            let message = format!("{what} says {}, and the row {}", label.word(), other.word());
            let field = if row.cell(Field::North).is_some() { Field::North } else { Field::Bearing };
            row.refuse_field(field, "norths-differ", message, "which of the two is right? write it once");
            return None;
        }
    }
    Some(found.or(row.sheet.settings.north))
}

/// `055M`, `069°T`, `070 G`: the digits and the north.
pub fn split_north(text: &str) -> (&str, Option<NorthLabel>) {
    let Some(last) = text.chars().last().filter(|c| matches!(c.to_ascii_uppercase(), 'M' | 'T' | 'G')) else {
        return (text, None);
    };
    let digits = text[..text.len() - last.len_utf8()].trim_end().trim_end_matches('°').trim_end();
    (digits, NorthLabel::from_word(&last.to_string()))
}
