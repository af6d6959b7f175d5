//! The direction of a row: one bearing, or several swings, with the north that it names.

use crate::{
    ingest::{
        NorthLabel,
        columns::Field,
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
    if let Some(m) = mean.filter(|m| m.span.to_degrees() > WIDEST_DEGREES) {
        let apart = m.span.to_degrees();
        let hint = "swing again, or write the two directions as two bearings";
        row.refuse(
            "not-one-direction",
            format!("the swings lie up to {apart:.0}° apart: that is not one direction"),
            hint,
        );
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
        row.refuse("bearing-missing", "the row has no bearing", "write the bearing, or leave the row out");
        return None;
    };
    let north = north(row, named)?;
    Some(Direction { read, swings, north })
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

fn compass(row: &mut Row, cell: &Cell, text: &str) -> Option<Angle> {
    let value = row.sheet.parse(text.trim_end_matches('°').trim()).map(|v| v * row.factor(cell));
    match value {
        // A full turn in gon or mils may round to a hair above 360.
        Some(v) if (0.0..=360.0 + 1e-9).contains(&v) => Some(Angle::degrees(v).compass()),
        Some(_) => {
            let hint = "write degrees from 0 to 360, clockwise from north";
            row.told.push(cell.refuse("bearing-out-of-range", "a bearing runs from 0 to 360 degrees", hint));
            None
        }
        None => {
            let hint = "write degrees such as 055 or 55.5";
            row.told.push(cell.refuse("not-a-number", "this is not a number of degrees", hint));
            None
        }
    }
}

/// The outer option is `None` after a refusal, the inner one when nothing names a north.
fn north(row: &mut Row, named: Option<NorthLabel>) -> Option<Option<NorthLabel>> {
    let Some(cell) = row.cell(Field::North) else {
        return Some(named.or(row.sheet.north));
    };
    let known = NorthLabel::from_word(cell.text);
    if known.is_none() {
        let hint = "write true, magnetic or grid";
        row.told.push(cell.refuse("north-unknown", "this is not one of the three norths", hint));
        return None;
    }
    if let (Some(written), Some(cell_north)) = (named, known)
        && written != cell_north
    {
        let message = format!("the bearing itself is marked {}", written.word());
        row.told.push(cell.refuse("norths-differ", message, "which of the two is right? write it once"));
        return None;
    }
    Some(known)
}

/// `055M`, `069°T`, `070 G`: the digits and the north.
fn split_north(text: &str) -> (&str, Option<NorthLabel>) {
    let Some(last) = text.chars().last().filter(|c| matches!(c.to_ascii_uppercase(), 'M' | 'T' | 'G')) else {
        return (text, None);
    };
    let digits = text[..text.len() - last.len_utf8()].trim_end().trim_end_matches('°').trim_end();
    (digits, NorthLabel::from_word(&last.to_string()))
}
