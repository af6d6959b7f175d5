//! Readings gathered into cells, so that a log of any length costs the same for each place that is judged.

use crate::geodesy::PlanePoint;

/// A level on the plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// Where.
    pub at: PlanePoint,
    /// Level in dBm; for one below the floor, the level that it is known to be below.
    pub level: f64,
    /// Whether only this is known: that it lies below `level`.
    pub below: bool,
    /// Which receiver, counted from 0.
    pub device: u16,
}

/// Readings close together, as one.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// Mean place.
    pub at: PlanePoint,
    /// Mean level, or the level that it is known to be below.
    pub level: f64,
    /// See [`Reading::below`].
    pub below: bool,
    /// Number of readings that were averaged.
    pub count: f64,
    /// Number of readings in all.
    pub readings: usize,
    /// Distances between some pairs of them, metres.
    pub pairs: Vec<f64>,
    /// By how much the part of its own that is left after averaging exceeds that of a mean: 1, or π/2 for a median.
    pub loss: f64,
    /// Which receiver.
    pub device: u16,
}

impl Cell {
    /// Distance between two cells, metres.
    pub fn apart(&self, other: &Self) -> f64 {
        (self.at.east - other.at.east).hypot(self.at.north - other.at.north)
    }

    fn single(reading: &Reading) -> Self {
        Self {
            at: reading.at,
            level: reading.level,
            below: reading.below,
            count: 1.0,
            readings: 1,
            pairs: Vec::new(),
            loss: 1.0,
            device: reading.device,
        }
    }

    /// Some readings as one. With none below the floor it is their mean. With some, it is their median, which needs to know of
    /// the weak ones only that they are weak; and where that itself lies below the floor, the cell does.
    fn of(readings: &[Reading]) -> Self {
        let n = readings.len() as f64;
        let mean = |f: fn(&Reading) -> f64| readings.iter().map(f).sum::<f64>() / n;
        let at = PlanePoint { east: mean(|r| r.at.east), north: mean(|r| r.at.north) };
        let mut levels: Vec<(f64, bool)> = readings.iter().map(|r| (r.level, r.below)).collect();
        levels.sort_by(|a, b| a.0.total_cmp(&b.0));
        let some_below = levels.iter().any(|l| l.1);
        let (level, below) = if some_below { median(&levels) } else { (mean(|r| r.level), false) };
        Self {
            at,
            level,
            below,
            count: if below { 1.0 } else { n },
            readings: readings.len(),
            pairs: pairs(readings),
            loss: if some_below { std::f64::consts::FRAC_PI_2 } else { 1.0 },
            device: readings[0].device,
        }
    }
}

/// The median of levels of which some are only known to lie below theirs; those that do count as the weakest.
fn median(levels: &[(f64, bool)]) -> (f64, bool) {
    let below = levels.iter().filter(|l| l.1).count();
    let measured: Vec<f64> = levels.iter().filter(|l| !l.1).map(|l| l.0).collect();
    let middle = levels.len() / 2;
    if below > middle || measured.is_empty() {
        // The highest floor: below that one the median lies for certain.
        let floor = levels.iter().filter(|l| l.1).map(|l| l.0).fold(f64::NEG_INFINITY, f64::max);
        return (floor, true);
    }
    (measured[(middle - below).min(measured.len() - 1)], false)
}

/// How many readings of a cell are compared pair by pair.
const COMPARED: usize = 12;

fn pairs(readings: &[Reading]) -> Vec<f64> {
    let step = readings.len().div_ceil(COMPARED);
    let some: Vec<&Reading> = readings.iter().step_by(step.max(1)).collect();
    let mut out = Vec::with_capacity(some.len() * some.len() / 2);
    for (i, a) in some.iter().enumerate() {
        out.extend(some[..i].iter().map(|b| (a.at.east - b.at.east).hypot(a.at.north - b.at.north)));
    }
    if out.is_empty() { vec![0.0] } else { out }
}

/// Gathers readings into at most about `most` cells: a square is cut in four where the readings in it differ most, so that
/// cells are small where the level changes quickly. Up to `most` readings stay as they are. Readings of different receivers
/// are never mixed. The measured cells come first, then those below the floor, each spread over the whole survey from the
/// start ([`spread_out`]).
pub fn gather(readings: &[Reading], most: usize) -> Vec<Cell> {
    let cells: Vec<Cell> = if readings.len() <= most {
        readings.iter().map(Cell::single).collect()
    } else {
        divided(readings, most).iter().map(|group| Cell::of(group)).collect()
    };
    let (below, measured): (Vec<Cell>, Vec<Cell>) = cells.into_iter().partition(|c| c.below);
    let mut out = spread_out(measured);
    out.extend(spread_out(below));
    out
}

/// A cell is never cut below this side, metres.
const LEAST_SIDE: f64 = 1.0;

fn divided(readings: &[Reading], most: usize) -> Vec<Vec<Reading>> {
    let mut by_device: std::collections::BTreeMap<u16, Vec<Reading>> = std::collections::BTreeMap::new();
    for reading in readings {
        by_device.entry(reading.device).or_default().push(*reading);
    }
    let mut heap: std::collections::BinaryHeap<Square> =
        by_device.into_values().map(Square::around).collect();
    let mut done = Vec::new();
    while heap.len() + done.len() + 3 <= most {
        let Some(square) = heap.pop() else { break };
        if square.priority <= 0.0 || square.side <= LEAST_SIDE {
            done.push(square.readings);
            continue;
        }
        heap.extend(square.quarters());
    }
    done.extend(heap.into_iter().map(|s| s.readings));
    done
}

/// Readings within a square.
struct Square {
    west: f64,
    south: f64,
    side: f64,
    readings: Vec<Reading>,
    /// What is lost by taking them as one: the sum of squares of their levels about the mean.
    priority: f64,
}

impl Square {
    fn new(west: f64, south: f64, side: f64, readings: Vec<Reading>) -> Self {
        let n = readings.len() as f64;
        let mean = readings.iter().map(|r| r.level).sum::<f64>() / n;
        let priority = readings.iter().map(|r| (r.level - mean).powi(2)).sum::<f64>();
        Self { west, south, side, readings, priority }
    }

    fn around(readings: Vec<Reading>) -> Self {
        let least = |f: fn(&Reading) -> f64| readings.iter().map(f).fold(f64::INFINITY, f64::min);
        let greatest = |f: fn(&Reading) -> f64| readings.iter().map(f).fold(f64::NEG_INFINITY, f64::max);
        let (west, south) = (least(|r| r.at.east), least(|r| r.at.north));
        let side = (greatest(|r| r.at.east) - west).max(greatest(|r| r.at.north) - south);
        Self::new(west, south, side, readings)
    }

    fn quarters(self) -> Vec<Self> {
        let half = 0.5 * self.side;
        let mut parts: [Vec<Reading>; 4] = Default::default();
        for reading in self.readings {
            let east = usize::from(reading.at.east > self.west + half);
            let north = usize::from(reading.at.north > self.south + half);
            parts[2 * north + east].push(reading);
        }
        let corners = [(0.0, 0.0), (half, 0.0), (0.0, half), (half, half)];
        parts
            .into_iter()
            .zip(corners)
            .filter(|(part, _)| !part.is_empty())
            .map(|(part, (east, north))| Self::new(self.west + east, self.south + north, half, part))
            .collect()
    }
}

impl PartialEq for Square {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Square {}

impl PartialOrd for Square {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Square {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        let place = |s: &Self| (s.west, s.south, s.side);
        let (a, b) = (place(self), place(other));
        self.priority
            .total_cmp(&other.priority)
            .then(a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.total_cmp(&b.2)))
    }
}

/// Orders cells so that each is as far as can be from all before it: then the nearest earlier cells of any one lie around it
/// at every scale, and a few of them stand for all ([`crate::sources::GUINNESS2018`]).
fn spread_out(cells: Vec<Cell>) -> Vec<Cell> {
    let mut nearest = vec![f64::INFINITY; cells.len()];
    let mut rest: Vec<Option<Cell>> = cells.into_iter().map(Some).collect();
    let mut out: Vec<Cell> = Vec::with_capacity(rest.len());
    let mut next = 0;
    for _ in 0..rest.len() {
        let Some(cell) = rest[next].take() else { break };
        let mut farthest = (f64::NEG_INFINITY, next);
        for (i, other) in rest.iter().enumerate() {
            if let Some(other) = other {
                nearest[i] = nearest[i].min(cell.apart(other));
                if nearest[i] > farthest.0 {
                    farthest = (nearest[i], i);
                }
            }
        }
        out.push(cell);
        next = farthest.1;
    }
    out
}
