//! Points, segments and polylines of the plane.

use crate::geodesy::PlanePoint;

/// Distance of two points, metres.
pub fn apart(a: PlanePoint, b: PlanePoint) -> f64 {
    (a.east - b.east).hypot(a.north - b.north)
}

/// The point a share `t` of the way from `a` to `b`.
pub fn between(a: PlanePoint, b: PlanePoint, t: f64) -> PlanePoint {
    PlanePoint { east: a.east + t * (b.east - a.east), north: a.north + t * (b.north - a.north) }
}

/// Length of a polyline, metres.
pub fn length(line: &[PlanePoint]) -> f64 {
    line.windows(2).map(|w| apart(w[0], w[1])).sum()
}

/// The share of the way along the segment at which it is nearest to `p`, and its distance there.
pub fn project(p: PlanePoint, (a, b): (PlanePoint, PlanePoint)) -> (f64, f64) {
    let (dx, dy) = (b.east - a.east, b.north - a.north);
    let square = dx * dx + dy * dy;
    let t = if square > 0.0 { ((p.east - a.east) * dx + (p.north - a.north) * dy) / square } else { 0.0 };
    let t = t.clamp(0.0, 1.0);
    (t, apart(p, between(a, b, t)))
}

/// Where two segments cross, as shares of their lengths; `None` for parallel ones and those that do not meet.
pub fn crossing(s: (PlanePoint, PlanePoint), u: (PlanePoint, PlanePoint)) -> Option<(f64, f64)> {
    let cross = |a: (f64, f64), b: (f64, f64)| a.0 * b.1 - a.1 * b.0;
    let along = |s: (PlanePoint, PlanePoint)| (s.1.east - s.0.east, s.1.north - s.0.north);
    let (d, e) = (along(s), along(u));
    let between = along((s.0, u.0));
    let sine = cross(d, e);
    if sine.abs() <= 1e-9 * d.0.hypot(d.1) * e.0.hypot(e.1) {
        return None;
    }
    let (t, v) = (cross(between, e) / sine, cross(between, d) / sine);
    ((0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&v)).then_some((t, v))
}

/// The point at `along` metres of a polyline, kept between its ends.
pub fn point_at(line: &[PlanePoint], along: f64) -> PlanePoint {
    let mut left = along.max(0.0);
    for w in line.windows(2) {
        let step = apart(w[0], w[1]);
        if left <= step && step > 0.0 {
            return between(w[0], w[1], left / step);
        }
        left -= step;
    }
    line.last().copied().unwrap_or(PlanePoint { east: 0.0, north: 0.0 })
}

/// Distance of a point from a ring and whether it lies inside; the ring need not be closed.
pub fn from_ring(p: PlanePoint, ring: &[PlanePoint]) -> (f64, bool) {
    let mut inside = false;
    let mut least = f64::INFINITY;
    for (i, a) in ring.iter().enumerate() {
        let b = ring[(i + 1) % ring.len()];
        least = least.min(project(p, (*a, b)).1);
        if (a.north > p.north) != (b.north > p.north)
            && p.east < a.east + (b.east - a.east) * (p.north - a.north) / (b.north - a.north)
        {
            inside = !inside;
        }
    }
    (least, inside)
}
