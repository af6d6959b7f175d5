//! Open ground without streets: cells of a raster, walked in lanes.

use std::collections::BTreeMap;

use crate::{
    divide::{
        net::apart,
        pieces::{Piece, Pieces},
        spread::Spread,
    },
    geodesy::PlanePoint,
    streets::Pace,
    units::Metres,
};

/// Cells of open ground to search.
#[derive(Clone, Debug)]
pub struct Ground {
    /// The cells, which hang together.
    pub pieces: Pieces,
    /// Column and row of each.
    pub at: Vec<(i32, i32)>,
    /// Side of a cell.
    pub side: Metres,
    /// Gaps between pieces of ground that do not touch, metres each.
    pub gaps: Vec<f64>,
}

/// About so many cells are made: enough for parts within 5 %, few enough to hold on a map.
const CELLS: f64 = 900.0;

/// The ground that holds `share` of the probability with the fewest cells, walked in lanes `lane` metres apart. `None` where there is no
/// probability.
pub fn ground(spread: &Spread, share: f64, lane: Metres, pace: Pace) -> Option<Ground> {
    let mut order: Vec<_> = spread.cells().iter().collect();
    let density = |c: &crate::divide::Cell| c.probability / (c.side.value() * c.side.value());
    order.sort_by(|a, b| density(b).total_cmp(&density(a)));
    let (mut sum, mut area) = (0.0, 0.0);
    for cell in &order {
        if sum >= share {
            break;
        }
        sum += cell.probability;
        area += cell.side.value() * cell.side.value();
    }
    let side = (area / CELLS).sqrt().max(1.0);
    let mut held: BTreeMap<(i32, i32), f64> = BTreeMap::new();
    for cell in &order {
        spill(cell, side, &mut held);
    }
    let mut cells: Vec<((i32, i32), f64)> = held.into_iter().collect();
    cells.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let mut sum = 0.0;
    cells.retain(|c| {
        let wanted = sum < share;
        sum += if wanted { c.1 } else { 0.0 };
        wanted
    });
    cells.sort_by_key(|c| c.0);
    let minutes = pace.minutes(Metres::new(side * side / lane.value().max(1.0)));
    let middle = |c: i32| side * (f64::from(c) + 0.5);
    let all = cells.iter().map(|((column, row), probability)| Piece {
        at: PlanePoint { east: middle(*column), north: middle(*row) },
        minutes,
        probability: *probability,
    });
    let mut pieces = Pieces::new(all.collect());
    let at: Vec<(i32, i32)> = cells.iter().map(|c| c.0).collect();
    for (i, (column, row)) in at.iter().enumerate() {
        for beside in [(column + 1, *row), (*column, row + 1)] {
            if let Ok(j) = at.binary_search(&beside) {
                pieces.touch(i, j, side);
            }
        }
    }
    let gaps = bridge(&mut pieces, side);
    (!at.is_empty()).then_some(Ground { pieces, at, side: Metres::new(side), gaps })
}

/// Adds a cell's probability to the raster, in as many pieces as it is larger.
fn spill(cell: &crate::divide::Cell, side: f64, held: &mut BTreeMap<(i32, i32), f64>) {
    let count = (cell.side.value() / side).ceil().clamp(1.0, 16.0) as usize;
    let each = cell.probability / (count * count) as f64;
    let step = cell.side.value() / count as f64;
    let off = |i: usize| (i as f64 + 0.5) * step - 0.5 * cell.side.value();
    for row in 0..count {
        for column in 0..count {
            let (east, north) = (cell.at.east + off(column), cell.at.north + off(row));
            *held.entry(((east / side).floor() as i32, (north / side).floor() as i32)).or_insert(0.0) += each;
        }
    }
}

/// Joins pieces of ground that do not touch, each time the two nearest, and gives the gaps.
fn bridge(pieces: &mut Pieces, side: f64) -> Vec<f64> {
    let mut gaps = Vec::new();
    loop {
        let (group, count) = pieces.groups(|_| true, |_, _| true);
        if count <= 1 {
            return gaps;
        }
        let mut best = (f64::INFINITY, 0, 0);
        for i in (0..pieces.len()).filter(|i| group[*i] == 0) {
            for j in (0..pieces.len()).filter(|j| group[*j] != 0) {
                let far = apart(pieces.all()[i].at, pieces.all()[j].at);
                if far < best.0 {
                    best = (far, i, j);
                }
            }
        }
        pieces.touch(best.1, best.2, side);
        if best.0 > 1.5 * side {
            gaps.push(best.0 - side);
        }
    }
}

/// Middles of a part's cells in the order of lanes: row by row, to and fro.
pub fn lanes(ground: &Ground, own: &[usize]) -> Vec<PlanePoint> {
    let mut order = own.to_vec();
    order.sort_by_key(|i| {
        let (column, row) = ground.at[*i];
        (row, if row % 2 == 0 { column } else { -column })
    });
    order.into_iter().map(|i| ground.pieces.all()[i].at).collect()
}
