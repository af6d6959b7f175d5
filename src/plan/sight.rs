//! What stands in the way of a sight.

use std::collections::HashMap;

use crate::{
    geodesy::{Plane, PlanePoint},
    streets::Streets,
};

/// A building on the plane, and its bounds: west, east, south, north.
type Ring = (Vec<PlanePoint>, [f64; 4]);

/// Buildings are looked up by squares of this side, metres.
const SQUARE_M: f64 = 50.0;

/// Buildings over more squares than this are tested against every sight.
const MOST_SQUARES: i64 = 400;

/// Buildings on the plane of the problem.
#[derive(Clone, Debug, Default)]
pub struct Buildings {
    rings: Vec<Ring>,
    squares: HashMap<(i64, i64), Vec<u32>>,
    /// Those that are everywhere.
    wide: Vec<u32>,
}

impl Buildings {
    /// Of a town.
    pub fn of(streets: Option<&Streets>, plane: &Plane) -> Self {
        let outlines = streets.map_or(&[][..], Streets::outlines);
        let mut out = Self::default();
        for outline in outlines {
            let own = streets.expect("outlines come from streets").plane();
            out.add(outline.ring.iter().map(|p| plane.to_plane(own.to_place(*p))).collect());
        }
        out
    }

    pub(super) fn add(&mut self, ring: Vec<PlanePoint>) {
        let bounds =
            ring.iter().fold([f64::INFINITY, f64::NEG_INFINITY, f64::INFINITY, f64::NEG_INFINITY], |b, p| {
                [b[0].min(p.east), b[1].max(p.east), b[2].min(p.north), b[3].max(p.north)]
            });
        let index = self.rings.len() as u32;
        let [west, east, south, north] = bounds.map(square);
        let many = (east - west + 1).saturating_mul(north - south + 1) > MOST_SQUARES;
        if many {
            self.wide.push(index);
        } else {
            for i in west..=east {
                for j in south..=north {
                    self.squares.entry((i, j)).or_default().push(index);
                }
            }
        }
        self.rings.push((ring, bounds));
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.rings.is_empty()
    }

    /// Whether a building stands between two points.
    pub fn between(&self, a: PlanePoint, b: PlanePoint) -> bool {
        if self.wide.iter().any(|i| blocks(&self.rings[*i as usize], a, b)) {
            return true;
        }
        // Square by square from `a` on: most sights end soon.
        let (first, last) = (square(a.east), square(b.east));
        let columns = (first - last).abs();
        (0..=columns).any(|k| {
            let i = if last >= first { first + k } else { first - k };
            let side = |x: f64| {
                let share = if a.east == b.east { 0.0 } else { (x - a.east) / (b.east - a.east) };
                a.north + share.clamp(0.0, 1.0) * (b.north - a.north)
            };
            let (low, high) = (side(i as f64 * SQUARE_M), side((i + 1) as f64 * SQUARE_M));
            let (low, high) = if a.east == b.east { (a.north, b.north) } else { (low, high) };
            (square(low.min(high))..=square(low.max(high))).any(|j| {
                let here = self.squares.get(&(i, j)).into_iter().flatten();
                here.into_iter().any(|r| blocks(&self.rings[*r as usize], a, b))
            })
        })
    }
}

fn square(coordinate: f64) -> i64 {
    (coordinate / SQUARE_M).floor() as i64
}

fn blocks((ring, [west, east, south, north]): &Ring, a: PlanePoint, b: PlanePoint) -> bool {
    let over = |low: f64, high: f64, p: f64, q: f64| p.min(q) <= high && p.max(q) >= low;
    over(*west, *east, a.east, b.east)
        && over(*south, *north, a.north, b.north)
        && (0..ring.len()).any(|i| crosses(a, b, ring[i], ring[(i + 1) % ring.len()]))
}

fn crosses(a: PlanePoint, b: PlanePoint, c: PlanePoint, d: PlanePoint) -> bool {
    let side = |p: PlanePoint, q: PlanePoint, r: PlanePoint| {
        (q.east - p.east) * (r.north - p.north) - (q.north - p.north) * (r.east - p.east)
    };
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::random::Random;

    /// Looked up by squares or tested one by one: the same.
    #[test]
    fn squares_miss_no_building() {
        let mut random = Random::seeded(5);
        let mut buildings = Buildings::default();
        let mut point =
            || PlanePoint { east: random.between(-500.0, 500.0), north: random.between(-500.0, 500.0) };
        for k in 0..60 {
            let (p, side) = (point(), if k == 0 { 1_500.0 } else { 30.0 });
            let corner = |e: f64, n: f64| PlanePoint { east: p.east + e * side, north: p.north + n * side };
            buildings.add(vec![corner(0.0, 0.0), corner(1.0, 0.2), corner(0.9, 1.0), corner(-0.1, 0.8)]);
        }
        let mut blocked = 0;
        for k in 0..2_000 {
            let (a, mut b) = (point(), point());
            if k % 5 == 0 {
                b.east = a.east;
            }
            let any = buildings.rings.iter().any(|r| blocks(r, a, b));
            assert_eq!(buildings.between(a, b), any, "{a:?} {b:?}");
            blocked += usize::from(any);
        }
        assert!(blocked > 500 && blocked < 1_900, "{blocked}");
    }
}
