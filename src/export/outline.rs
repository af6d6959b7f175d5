//! Rings and lines of places as RFC 7946 coordinates: longitude first, at most 7 decimals (about a centimetre), outer
//! rings counter-clockwise, everything that crosses the 180° meridian cut there, and rings around a pole closed over it.

use geo::{BooleanOps, Coord, LineString, MultiPolygon, Orient, Polygon, Rect, orient::Direction};

use crate::geodesy::Place;

/// A position as RFC 7946 wants it.
pub type Coordinates = [f64; 2];

/// A place with at most 7 decimals.
pub fn position(place: Place) -> Coordinates {
    place.lon_lat().map(seven)
}

fn seven(degrees: f64) -> f64 {
    (degrees * 1e7).round() / 1e7 + 0.0
}

/// A line, cut where it crosses the 180° meridian.
pub fn line(places: &[Place]) -> Vec<Vec<Coordinates>> {
    let mut pieces: Vec<Vec<Coordinates>> = vec![Vec::new()];
    for (i, place) in places.iter().enumerate() {
        let [lon, lat] = place.lon_lat();
        if let Some(before) = i.checked_sub(1).map(|b| places[b].lon_lat())
            && (lon - before[0]).abs() > 180.0
        {
            let side = 180f64.copysign(before[0]);
            let ahead = lon + 2.0 * side;
            let t = (side - before[0]) / (ahead - before[0]);
            let crossing = seven(before[1] + t * (lat - before[1]));
            if let Some(last) = pieces.last_mut() {
                last.push([side, crossing]);
            }
            pieces.push(vec![[-side, crossing]]);
        }
        if let Some(last) = pieces.last_mut() {
            last.push(position(*place));
        }
    }
    for piece in &mut pieces {
        piece.dedup();
    }
    pieces.retain(|p| p.len() >= 2);
    pieces
}

/// Polygons (outer ring first) for an outer ring and its holes.
pub fn polygons(outer: &[Place], holes: &[Vec<Place>]) -> Vec<Vec<Vec<Coordinates>>> {
    let Some(first) = outer.first() else { return Vec::new() };
    let around = first.lon_degrees();
    let whole = Polygon::new(unrolled(outer, around), holes.iter().map(|h| unrolled(h, around)).collect());
    let (west, east) = span(&whole);
    let cut: Vec<Polygon> =
        if west >= -180.0 && east <= 180.0 { vec![whole] } else { strips(&whole, west, east) };
    cut.into_iter().filter_map(|p| written(&p.orient(Direction::Default))).collect()
}

/// The ring with longitudes that never jump; one that runs around a pole is closed over the pole's edge of the map.
fn unrolled(ring: &[Place], around: f64) -> LineString {
    let mut out: Vec<Coord> = Vec::with_capacity(ring.len() + 3);
    let mut lon = around;
    for place in ring {
        lon += turn(place.lon_degrees() - lon);
        out.push(Coord { x: lon, y: place.lat_degrees() });
    }
    let (Some(first), Some(last)) = (out.first().copied(), out.last().copied()) else {
        return LineString::new(out);
    };
    let closing = last.x + turn(first.x - last.x);
    if (closing - first.x).abs() > 180.0 {
        let pole = 90f64.copysign(first.y);
        out.push(Coord { x: closing, y: first.y });
        out.push(Coord { x: closing, y: pole });
        out.push(Coord { x: first.x, y: pole });
    }
    LineString::new(out)
}

/// Degrees brought into [−180, 180].
fn turn(degrees: f64) -> f64 {
    degrees - 360.0 * (degrees / 360.0).round()
}

fn span(polygon: &Polygon) -> (f64, f64) {
    let xs = polygon.exterior().coords().map(|c| c.x);
    xs.fold((f64::INFINITY, f64::NEG_INFINITY), |(w, e), x| (w.min(x), e.max(x)))
}

/// The parts of the polygon in each turn of the globe, moved into (−180, 180).
fn strips(polygon: &Polygon, west: f64, east: f64) -> Vec<Polygon> {
    let turns = ((west + 180.0) / 360.0).floor() as i32..=((east + 180.0) / 360.0).floor() as i32;
    let mut out = Vec::new();
    for k in turns {
        let shift = 360.0 * f64::from(k);
        let strip =
            Rect::new(Coord { x: shift - 180.0, y: -90.0 }, Coord { x: shift + 180.0, y: 90.0 }).to_polygon();
        let MultiPolygon(parts) = polygon.intersection(&strip);
        out.extend(parts.into_iter().map(|p| moved(&p, shift)));
    }
    out
}

fn moved(polygon: &Polygon, shift: f64) -> Polygon {
    let ring = |r: &LineString| {
        r.coords()
            .map(|c| Coord { x: (c.x - shift).clamp(-180.0, 180.0), y: c.y.clamp(-90.0, 90.0) })
            .collect()
    };
    Polygon::new(ring(polygon.exterior()), polygon.interiors().iter().map(ring).collect())
}

/// The rings with 7 decimals; those that vanish at that resolution are left out.
fn written(polygon: &Polygon) -> Option<Vec<Vec<Coordinates>>> {
    let ring = |r: &LineString| {
        let mut out: Vec<Coordinates> = r.coords().map(|c| [seven(c.x), seven(c.y)]).collect();
        out.dedup();
        (out.len() >= 4).then_some(out)
    };
    let mut rings = vec![ring(polygon.exterior())?];
    rings.extend(polygon.interiors().iter().filter_map(ring));
    Some(rings)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(points: &[(f64, f64)]) -> Vec<Place> {
        points.iter().map(|(lat, lon)| Place::from_lat_lon_degrees(*lat, *lon).unwrap()).collect()
    }

    fn area(ring: &[Coordinates]) -> f64 {
        ring.windows(2).map(|w| 0.5 * (w[0][0] * w[1][1] - w[1][0] * w[0][1])).sum()
    }

    /// RFC 7946 section 3.1.9: cut at the antimeridian so that no part crosses it; section 3.1.6: right-hand rule.
    #[test]
    fn a_ring_across_180_degrees_becomes_two_polygons() {
        let found = polygons(&ring(&[(-17.0, 179.0), (-17.0, -179.0), (-16.0, -179.0), (-16.0, 179.0)]), &[]);
        assert_eq!(found.len(), 2);
        for polygon in &found {
            let xs: Vec<f64> = polygon[0].iter().map(|c| c[0]).collect();
            let (low, high) =
                (xs.iter().copied().fold(180.0, f64::min), xs.iter().copied().fold(-180.0, f64::max));
            assert!((high - low - 1.0).abs() < 1e-7, "{xs:?}");
            assert!((area(&polygon[0]) - 1.0).abs() < 1e-6, "counter-clockwise, one square degree");
            assert_eq!(polygon[0].first(), polygon[0].last());
        }
    }

    #[test]
    fn a_ring_around_the_pole_reaches_the_edge_of_the_map() {
        let found = polygons(&ring(&[(89.0, 0.0), (89.0, 90.0), (89.0, 180.0), (89.0, -90.0)]), &[]);
        let total: f64 = found.iter().map(|p| area(&p[0])).sum();
        assert!((total - 360.0).abs() < 1e-4, "360° of longitude times 1° of latitude, got {total}");
        assert!(found.iter().flatten().flatten().any(|c| c[1] == 90.0));
    }

    #[test]
    fn a_clockwise_ring_is_turned_and_a_hole_runs_the_other_way() {
        let outer = ring(&[(0.0, 0.0), (3.0, 0.0), (3.0, 3.0), (0.0, 3.0)]);
        let hole = ring(&[(1.0, 1.0), (1.0, 2.0), (2.0, 2.0), (2.0, 1.0)]);
        let found = polygons(&outer, &[hole]);
        assert!((area(&found[0][0]) - 9.0).abs() < 1e-9 && (area(&found[0][1]) + 1.0).abs() < 1e-9);
    }

    #[test]
    fn a_line_across_180_degrees_is_cut_on_the_meridian() {
        let found = line(&ring(&[(10.0, 179.5), (11.0, -179.5)]));
        assert_eq!(found, vec![vec![[179.5, 10.0], [180.0, 10.5]], vec![[-180.0, 10.5], [-179.5, 11.0]]]);
    }
}
