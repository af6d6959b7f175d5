//! What stands in the way of a sight.

use crate::{
    geodesy::{Plane, PlanePoint},
    streets::Streets,
};

/// Buildings on the plane of the problem.
pub struct Buildings {
    rings: Vec<(Vec<PlanePoint>, [f64; 4])>,
}

impl Buildings {
    /// Of a town.
    pub fn of(streets: Option<&Streets>, plane: &Plane) -> Self {
        let outlines = streets.map_or(&[][..], Streets::outlines);
        let rings = outlines.iter().map(|outline| {
            let own = streets.expect("outlines come from streets").plane();
            let ring: Vec<PlanePoint> =
                outline.ring.iter().map(|p| plane.to_plane(own.to_place(*p))).collect();
            let bounds = ring
                .iter()
                .fold([f64::INFINITY, f64::NEG_INFINITY, f64::INFINITY, f64::NEG_INFINITY], |b, p| {
                    [b[0].min(p.east), b[1].max(p.east), b[2].min(p.north), b[3].max(p.north)]
                });
            (ring, bounds)
        });
        Self { rings: rings.collect() }
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.rings.is_empty()
    }

    /// Whether a building stands between two points.
    pub fn between(&self, a: PlanePoint, b: PlanePoint) -> bool {
        let over = |low: f64, high: f64, p: f64, q: f64| p.min(q) <= high && p.max(q) >= low;
        self.rings.iter().any(|(ring, [west, east, south, north])| {
            over(*west, *east, a.east, b.east)
                && over(*south, *north, a.north, b.north)
                && (0..ring.len()).any(|i| crosses(a, b, ring[i], ring[(i + 1) % ring.len()]))
        })
    }
}

fn crosses(a: PlanePoint, b: PlanePoint, c: PlanePoint, d: PlanePoint) -> bool {
    let side = |p: PlanePoint, q: PlanePoint, r: PlanePoint| {
        (q.east - p.east) * (r.north - p.north) - (q.north - p.north) * (r.east - p.east)
    };
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}
