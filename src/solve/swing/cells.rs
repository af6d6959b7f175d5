//! Readings brought to what is fitted.

use std::f64::consts::TAU;

use crate::observe::{Level, Swing};

/// With more readings than this they are brought to cells.
const MOST: usize = 90;

/// Cells around the circle, of 3° each: well below the beam of any antenna that a person can turn. Common practice, no
/// source.
const AROUND: usize = 120;

/// A level at a heading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cell {
    /// Heading, radians.
    pub heading: f64,
    /// Level, dBm; where `below`, the floor that it lies below.
    pub level: f64,
    /// Whether nothing was heard.
    pub below: bool,
}

/// The cells of a swing in the order of their headings, and whether readings were merged.
pub fn cells(swing: &Swing) -> (Vec<Cell>, bool) {
    let cell = |(heading, level): (f64, Level)| match level {
        Level::Measured(l) => Some(Cell { heading, level: l.value(), below: false }),
        Level::BelowFloor(l) => Some(Cell { heading, level: l.value(), below: true }),
        Level::OffAir => None,
    };
    let readings = swing.points.iter().map(|p| (p.heading.compass().to_radians(), p.reading.level));
    let mut out: Vec<Cell> = readings.filter_map(cell).filter(|c| c.level.is_finite()).collect();
    out.sort_by(|a, b| a.heading.total_cmp(&b.heading));
    if out.len() <= MOST {
        return (out, false);
    }
    let bin = |c: &Cell| ((c.heading / TAU * AROUND as f64) as usize).min(AROUND - 1);
    (out.chunk_by(|a, b| bin(a) == bin(b)).map(merged).collect(), true)
}

/// One cell of several: the mean, or the median where something lies below the floor.
fn merged(cells: &[Cell]) -> Cell {
    let n = cells.len() as f64;
    let heading = cells.iter().map(|c| c.heading).sum::<f64>() / n;
    if cells.iter().all(|c| !c.below) {
        return Cell { heading, level: cells.iter().map(|c| c.level).sum::<f64>() / n, below: false };
    }
    let mut sorted = cells.to_vec();
    // What was not heard counts as lower than what was.
    sorted.sort_by(|a, b| b.below.cmp(&a.below).then(a.level.total_cmp(&b.level)));
    Cell { heading, ..sorted[cells.len() / 2] }
}
