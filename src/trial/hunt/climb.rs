//! Toward the strongest level.

use std::collections::{BTreeMap, BTreeSet};

use crate::{
    geodesy::PlanePoint,
    trial::hunt::{
        Place,
        walker::{Walker, apart},
    },
};

/// On open ground somebody looks at his meter again after so many metres, and after half as many each time that he has tried all
/// ways from where the level is strongest, down to the least.
const STRIDE_M: f64 = 400.0;
const LEAST_STRIDE_M: f64 = 25.0;

/// The level at a corner is the mean of so many readings before it.
const READINGS: usize = 4;

/// A corner: of the streets, or of a lattice over open ground.
type Corner = (i64, i64);

/// Goes on from the corner where the level was strongest along a way that was not walked yet, until the emitter is met. Of several
/// ways the one straight on comes first.
pub fn climb(walker: &mut Walker) {
    let mut levels: BTreeMap<Corner, f64> = BTreeMap::new();
    let mut walked: BTreeSet<(Corner, Corner)> = BTreeSet::new();
    let mut lattice = Lattice::of(walker.place);
    let mut at = lattice.corner(walker.at);
    let mut before = at;
    levels.insert(at, level(walker));
    while !walker.done() {
        let strongest = levels.iter().max_by(|a, b| a.1.total_cmp(b.1)).map(|(c, _)| *c);
        let tried = strongest.filter(|c| lattice.around(*c).into_iter().all(|n| walked.contains(&(*c, n))));
        if let Some(corner) = tried.filter(|_| lattice.most.is_none() && lattice.pitch > LEAST_STRIDE_M) {
            walker.go(lattice.point(corner), f64::INFINITY);
            lattice = lattice.finer(corner);
            (at, before) = ((0, 0), (0, 0));
            walked.clear();
            levels = BTreeMap::from([(at, level(walker))]);
            continue;
        }
        let open = |c: &Corner| lattice.around(*c).into_iter().any(|n| !walked.contains(&(*c, n)));
        let best = levels.iter().filter(|(c, _)| open(c)).max_by(|a, b| a.1.total_cmp(b.1));
        let Some((&from, _)) = best else { break };
        if from != at {
            walker.go(lattice.point(from), f64::INFINITY);
            before = from;
        }
        let straight = (2 * from.0 - before.0, 2 * from.1 - before.1);
        let ways: Vec<Corner> =
            lattice.around(from).into_iter().filter(|n| !walked.contains(&(from, *n))).collect();
        let Some(&next) = ways.iter().find(|n| **n == straight).or(ways.first()) else { break };
        walker.go(lattice.point(next), f64::INFINITY);
        walked.insert((from, next));
        walked.insert((next, from));
        (before, at) = (from, next);
        levels.insert(at, level(walker));
    }
}

/// The level shown last; where nothing is heard, less than any.
fn level(walker: &Walker) -> f64 {
    let last = &walker.shown[walker.shown.len().saturating_sub(READINGS)..];
    let sum: f64 = last.iter().map(|l| l.map_or(-200.0, |l| l.value())).sum();
    sum / last.len().max(1) as f64
}

/// Corners where ways meet.
struct Lattice {
    pitch: f64,
    /// The last corner of a town's streets to either side; `None` on open ground.
    most: Option<i64>,
    origin: PlanePoint,
}

impl Lattice {
    fn of(place: &Place) -> Self {
        match place.scene.town() {
            Some(town) => {
                let streets: Vec<f64> = town.streets().collect();
                let pitch = town.plan().pitch.value();
                let low = streets[0];
                Self {
                    pitch,
                    most: Some(streets.len() as i64 - 1),
                    origin: PlanePoint { east: low, north: low },
                }
            }
            None => Self { pitch: STRIDE_M, most: None, origin: place.start },
        }
    }

    /// With half the pitch about a corner.
    fn finer(&self, corner: Corner) -> Self {
        Self { pitch: 0.5 * self.pitch, origin: self.point(corner), ..*self }
    }

    fn point(&self, corner: Corner) -> PlanePoint {
        let at = |i: i64| i as f64 * self.pitch;
        PlanePoint { east: self.origin.east + at(corner.0), north: self.origin.north + at(corner.1) }
    }

    fn corner(&self, point: PlanePoint) -> Corner {
        let index = |x: f64| (x / self.pitch).round() as i64;
        let corner = (index(point.east - self.origin.east), index(point.north - self.origin.north));
        debug_assert!(apart(self.point(corner), point) < self.pitch);
        corner
    }

    fn around(&self, (i, j): Corner) -> Vec<Corner> {
        let inside =
            |c: &Corner| self.most.is_none_or(|most| (0..=most).contains(&c.0) && (0..=most).contains(&c.1));
        [(i + 1, j), (i, j + 1), (i - 1, j), (i, j - 1)].into_iter().filter(inside).collect()
    }
}
