//! What a pass detects where.

use std::collections::HashMap;

use crate::{
    divide::{division::inside, theory::random_search},
    geodesy::{Place, Plane, PlanePoint},
    observe::{Covered, Pass},
};

/// Probability of detection of a pass at each point of a plane, with the chance that the emitter was on in it.
///
/// In an area it is what was stated. Along a track it is what was stated within the detection range, or follows from the effort near the
/// point: every metre walked sweeps a width of twice the range, and the length walked within the range, times that width, over the disc of
/// that radius is the coverage of a search at random ([`random_search`]). One straight pass detects 72 % at its middle and nothing at the edge
/// of the range.
pub struct Detection {
    on: f64,
    kind: Kind,
}

enum Kind {
    Area(Vec<Vec<PlanePoint>>, f64),
    Track(Near, Option<f64>),
}

/// Segments by squares with sides of one range.
struct Near {
    range: f64,
    squares: HashMap<(i64, i64), Vec<(PlanePoint, PlanePoint)>>,
}

impl Detection {
    /// Lays a pass out on a plane.
    pub fn of(pass: &Pass, plane: &Plane) -> Self {
        let points = |line: &Vec<Place>| line.iter().map(|p| plane.to_plane(*p)).collect::<Vec<PlanePoint>>();
        let kind = match &pass.covered {
            Covered::Area { rings, detection } => Kind::Area(rings.iter().map(points).collect(), *detection),
            Covered::Track { lines, range, detection } => {
                let mut near = Near { range: range.value(), squares: HashMap::new() };
                for line in lines.iter().map(points) {
                    line.windows(2).for_each(|w| near.add(w[0], w[1]));
                }
                Kind::Track(near, *detection)
            }
        };
        Self { on: pass.emitter.chance(), kind }
    }

    /// Probability of detection of an emitter here.
    pub fn at(&self, p: PlanePoint) -> f64 {
        let found = match &self.kind {
            Kind::Area(rings, detection) => {
                let within = rings.iter().filter(|r| inside(r, p)).count() % 2 == 1;
                if within { *detection } else { 0.0 }
            }
            Kind::Track(near, stated) => {
                let length = near.length(p);
                match stated {
                    Some(detection) if length > 0.0 => *detection,
                    Some(_) => 0.0,
                    None => random_search(2.0 * length / (std::f64::consts::PI * near.range)),
                }
            }
        };
        self.on * found
    }
}

impl Near {
    /// Adds a segment in pieces no longer than a square, each to the squares around its middle.
    fn add(&mut self, a: PlanePoint, b: PlanePoint) {
        let length = (b.east - a.east).hypot(b.north - a.north);
        let count = ((length / self.range).ceil() as usize).clamp(1, 100_000);
        let at = |i: usize| {
            let t = i as f64 / count as f64;
            PlanePoint { east: a.east + t * (b.east - a.east), north: a.north + t * (b.north - a.north) }
        };
        for i in 0..count {
            let (p, q) = (at(i), at(i + 1));
            let (column, row) =
                self.square(PlanePoint { east: 0.5 * (p.east + q.east), north: 0.5 * (p.north + q.north) });
            self.squares.entry((column, row)).or_default().push((p, q));
        }
    }

    fn square(&self, p: PlanePoint) -> (i64, i64) {
        ((p.east / self.range).floor() as i64, (p.north / self.range).floor() as i64)
    }

    /// Metres of the track within the range of a point.
    fn length(&self, p: PlanePoint) -> f64 {
        let (column, row) = self.square(p);
        let mut sum = 0.0;
        // A piece within the range has its middle at most one and a half ranges away.
        for c in column - 2..=column + 2 {
            for r in row - 2..=row + 2 {
                for (a, b) in self.squares.get(&(c, r)).into_iter().flatten() {
                    sum += chord(*a, *b, p, self.range);
                }
            }
        }
        sum
    }
}

/// Length of the part of a segment within a distance of a point.
fn chord(a: PlanePoint, b: PlanePoint, p: PlanePoint, range: f64) -> f64 {
    let (east, north) = (b.east - a.east, b.north - a.north);
    let length = east.hypot(north);
    if length <= 0.0 {
        return 0.0;
    }
    let along = ((p.east - a.east) * east + (p.north - a.north) * north) / length;
    let off = ((p.east - a.east) * north - (p.north - a.north) * east) / length;
    if off.abs() >= range {
        return 0.0;
    }
    let half = (range * range - off * off).sqrt();
    ((along + half).min(length) - (along - half).max(0.0)).max(0.0)
}
