//! The offset at which levels agree best where the track passes a place again.
//!
//! Along one pass a shift of the clock only moves the levels along the way, which changes nothing that could be seen. Where
//! the way comes back, the levels of both passes belong to the same place at the right offset only.

use std::collections::HashMap;

use crate::check::clock::{
    path::{Path, Slot},
    profile::{Estimate, estimate, offsets},
};

/// Side of the cells in which passes are compared. Smaller ones are missed by the error of a satellite receiver.
const CELL_M: f64 = 15.0;

/// A cell that was left for this long is passed again.
const AGAIN_S: f64 = 40.0;

/// Neighbouring cells share their shadow, over 10 to 50 m on streets ([`crate::sources::TR38901`], Table 7.5-6), and the
/// error of the track, over half a minute: so many cells in a row count as one.
const SHARED: f64 = 4.0;

/// Fewer second passes tell nothing.
const FEWEST: usize = 12;

/// So many of the second passes must be there at an offset, of as many as at the best one.
const SHARE: f64 = 0.8;

/// What the passes tell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Passes {
    /// The offset.
    pub estimate: Estimate,
    /// How often a cell was passed again, at the best offset.
    pub again: usize,
    /// Mean difference of a pass from its cell's mean at the best offset, and with no offset, dB.
    pub apart: (f64, f64),
}

/// The offset, from the differences between passes, taken as exponential either way with a scale of their own: while the
/// emitter is off, or behind a lorry, single passes differ by far. `None` where fewer than twelve cells are passed again.
pub fn by_passes(slots: &[Slot], path: &Path) -> Option<Passes> {
    let all: Vec<(f64, usize, f64)> = offsets(0.0)
        .map(|offset| {
            let (again, sum) = differences(slots, path, offset);
            (offset, again, sum / again.max(1) as f64)
        })
        .collect();
    let most = all.iter().map(|a| a.1).max().filter(|n| *n >= FEWEST)?;
    let enough = |again: usize| again >= FEWEST && again as f64 >= SHARE * most as f64;
    let independent = most as f64 / SHARED;
    // A hundredth of a decibel keeps the logarithm of passes that agree to the last digit finite.
    let profile: Vec<(f64, f64)> = all
        .iter()
        .filter(|a| enough(a.1))
        .map(|(o, _, mean)| (*o, -independent * (mean + 0.01).ln()))
        .collect();
    let estimate = estimate(&profile)?;
    let near = |offset: f64| all.iter().min_by(|a, b| (a.0 - offset).abs().total_cmp(&(b.0 - offset).abs()));
    let (best, zero) = (near(estimate.seconds)?, near(0.0)?);
    Some(Passes { estimate, again: best.1, apart: (best.2, zero.2) })
}

/// One cell's passes: when the last ended, and mean levels.
#[derive(Default)]
struct Cell {
    left: f64,
    passes: Vec<(f64, f64)>,
}

/// How often cells are passed again at an offset, and the sum of the differences of passes from their cell's mean.
fn differences(slots: &[Slot], path: &Path, offset: f64) -> (usize, f64) {
    let mut cells: HashMap<(i32, i32), Cell> = HashMap::new();
    for slot in slots {
        let Some(level) = slot.level else { continue };
        let Some(at) = path.at(slot.time + offset) else { continue };
        let key = ((at.east / CELL_M).floor() as i32, (at.north / CELL_M).floor() as i32);
        let cell = cells.entry(key).or_default();
        if cell.passes.is_empty() || slot.time - cell.left > AGAIN_S {
            cell.passes.push((0.0, 0.0));
        }
        cell.left = slot.time;
        if let Some((sum, count)) = cell.passes.last_mut() {
            *sum += level;
            *count += 1.0;
        }
    }
    let mut found: Vec<((i32, i32), usize, f64)> = cells.into_iter().map(|(k, c)| of_cell(k, &c)).collect();
    // Sums of the same numbers in another order differ in the last bits.
    found.sort_unstable_by_key(|f| f.0);
    found.into_iter().fold((0, 0.0), |(again, sum), (_, a, s)| (again + a, sum + s))
}

/// With its own mean taken from them, k passes differ less than from the true mean, by √((k − 1)/k) if normal.
fn of_cell(key: (i32, i32), cell: &Cell) -> ((i32, i32), usize, f64) {
    let means: Vec<f64> = cell.passes.iter().map(|(sum, count)| sum / count).collect();
    let count = means.len() as f64;
    if means.len() < 2 {
        return (key, 0, 0.0);
    }
    let mean = means.iter().sum::<f64>() / count;
    let sum: f64 = means.iter().map(|m| (m - mean).abs()).sum();
    (key, means.len() - 1, sum * ((count - 1.0) / count).sqrt())
}
