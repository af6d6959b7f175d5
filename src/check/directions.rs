//! Lines of bearing that do not meet ahead of their stands.

use crate::{
    finding::Finding,
    geodesy::{Place, Plane},
    north::TrueBearing,
};

/// Lines that differ by less than this are called parallel: no hand-held bearing tells it from zero.
const PARALLEL_DEGREES: f64 = 1.0;

/// At most this many pairs are looked at; a survey with more bearings always has lines that meet.
const MOST_PAIRS: usize = 2_000;

/// A line on the plane.
struct Line<'a> {
    id: &'a str,
    east: f64,
    north: f64,
    sin: f64,
    cos: f64,
}

/// Where two lines cut, in metres along each from its stand; negative is behind.
struct Cut {
    first: f64,
    second: f64,
}

/// Says so when no two lines of bearing meet ahead of both stands: where they meet instead, or that they are parallel.
/// Fewer than two stands give nothing to say.
pub fn directions(bearings: &[TrueBearing]) -> Vec<Finding> {
    let places: Vec<Place> = bearings.iter().map(|b| b.read().stand.at).collect();
    let Some(plane) = Plane::centred_on(&places) else { return Vec::new() };
    let lines: Vec<Line> = bearings.iter().map(|b| line(b, &plane)).collect();
    let mut widest: Option<(f64, String)> = None;
    let pairs = (0..lines.len()).flat_map(|i| (i + 1..lines.len()).map(move |j| (i, j)));
    for (i, j) in pairs.take(MOST_PAIRS) {
        let (a, b) = (&lines[i], &lines[j]);
        if (a.east - b.east).hypot(a.north - b.north) < 1.0 {
            continue;
        }
        match cut(a, b) {
            Some(c) if c.first > 0.0 && c.second > 0.0 => return Vec::new(),
            found => {
                let angle = (a.sin * b.cos - a.cos * b.sin).abs();
                if widest.as_ref().is_none_or(|w| angle > w.0) {
                    widest = Some((angle, told(a, b, found.as_ref())));
                }
            }
        }
    }
    widest
        .map(|(_, message)| {
            Finding::doubtful("lines-do-not-meet", message)
                .hint("look for a bearing read backwards (front and back confused) or a wrong north")
        })
        .into_iter()
        .collect()
}

fn line<'a>(bearing: &'a TrueBearing, plane: &Plane) -> Line<'a> {
    let read = bearing.read();
    let at = plane.to_plane(read.stand.at);
    let (sin, cos) = plane.azimuth_in_plane(read.stand.at, bearing.azimuth()).to_radians().sin_cos();
    Line { id: &read.id, east: at.east, north: at.north, sin, cos }
}

fn cut(a: &Line, b: &Line) -> Option<Cut> {
    let cross = a.sin * b.cos - a.cos * b.sin;
    let (dx, dy) = (b.east - a.east, b.north - a.north);
    (cross.abs() > PARALLEL_DEGREES.to_radians().sin())
        .then(|| Cut { first: (dx * b.cos - dy * b.sin) / cross, second: (dx * a.cos - dy * a.sin) / cross })
}

fn told(a: &Line, b: &Line, cut: Option<&Cut>) -> String {
    let Some(cut) = cut else {
        return format!("the lines of {} and {} are parallel within a degree and do not meet", a.id, b.id);
    };
    let km = |m: f64| format!("{:.1} km", m.abs() / 1e3);
    match (cut.first < 0.0, cut.second < 0.0) {
        (true, true) => format!(
            "no two lines meet ahead: those of {} and {} meet behind you, {} behind {} and {} behind {}",
            a.id,
            b.id,
            km(cut.first),
            a.id,
            km(cut.second),
            b.id
        ),
        (behind_a, _) => {
            let (back, far) = if behind_a { (a.id, cut.first) } else { (b.id, cut.second) };
            format!("no two lines meet ahead: those of {} and {} meet {} behind {back}", a.id, b.id, km(far))
        }
    }
}
