//! Geometries as the blobs of a GeoPackage ([`GEOPACKAGE`](crate::sources::GEOPACKAGE), 2.1.3): a header with the system of coordinates
//! and the envelope, then ISO WKB, all with the least byte first.

use geojson::{GeometryValue, Position};

use crate::export::layers::kinds::Shape;

/// Codes of ISO WKB.
const POINT: u32 = 1;
const LINE: u32 = 2;
const POLYGON: u32 = 3;
const POINTS: u32 = 4;
const LINES: u32 = 5;
const POLYGONS: u32 = 6;

/// The name of a shape's geometry type.
pub const fn type_name(shape: Shape) -> &'static str {
    match shape {
        Shape::Point => "POINT",
        Shape::Points => "MULTIPOINT",
        Shape::Lines => "MULTILINESTRING",
        Shape::Areas => "MULTIPOLYGON",
    }
}

/// West, east, south, north.
pub type Envelope = [f64; 4];

/// An envelope that holds nothing.
pub const NOTHING: Envelope = [f64::INFINITY, f64::NEG_INFINITY, f64::INFINITY, f64::NEG_INFINITY];

/// The two together.
pub fn joined(a: Envelope, b: Envelope) -> Envelope {
    [a[0].min(b[0]), a[1].max(b[1]), a[2].min(b[2]), a[3].max(b[3])]
}

/// The blob of a drawing in a shape, with its envelope; `None` for a drawing of another shape.
pub fn blob(value: &GeometryValue, shape: Shape) -> Option<(Vec<u8>, Envelope)> {
    let mut body = Writer(Vec::new(), NOTHING);
    match (shape, value) {
        (Shape::Point, GeometryValue::Point { coordinates }) => body.point(coordinates),
        (Shape::Points, GeometryValue::MultiPoint { coordinates }) => {
            body.many(POINTS, coordinates, Writer::point);
        }
        (Shape::Lines, GeometryValue::LineString { coordinates }) => {
            body.many(LINES, std::slice::from_ref(coordinates), |w, l| w.line(l));
        }
        (Shape::Lines, GeometryValue::MultiLineString { coordinates }) => {
            body.many(LINES, coordinates, |w, l| w.line(l));
        }
        (Shape::Areas, GeometryValue::MultiPolygon { coordinates }) => {
            body.many(POLYGONS, coordinates, |w, p| w.polygon(p));
        }
        _ => return None,
    }
    let Writer(wkb, envelope) = body;
    let empty = envelope[0] > envelope[1];
    // Bit 0: least byte first; bits 1 to 3: kind of envelope; bit 4: nothing is drawn. A point is its own envelope.
    let bounded = !empty && shape != Shape::Point;
    let flags = 1 | u8::from(bounded) << 1 | u8::from(empty) << 4;
    let mut out = vec![b'G', b'P', 0, flags];
    out.extend(4326i32.to_le_bytes());
    if bounded {
        out.extend(envelope.iter().flat_map(|v| v.to_le_bytes()));
    }
    out.extend(wkb);
    Some((out, envelope))
}

struct Writer(Vec<u8>, Envelope);

impl Writer {
    fn head(&mut self, code: u32) {
        self.0.push(1);
        self.0.extend(code.to_le_bytes());
    }

    fn count(&mut self, n: usize) {
        self.0.extend(u32::try_from(n).unwrap_or(u32::MAX).to_le_bytes());
    }

    fn pair(&mut self, p: &Position) {
        self.0.extend(p[0].to_le_bytes());
        self.0.extend(p[1].to_le_bytes());
        self.1 = joined(self.1, [p[0], p[0], p[1], p[1]]);
    }

    fn point(&mut self, p: &Position) {
        self.head(POINT);
        self.pair(p);
    }

    fn line(&mut self, line: &[Position]) {
        self.head(LINE);
        self.count(line.len());
        line.iter().for_each(|p| self.pair(p));
    }

    fn polygon(&mut self, rings: &[Vec<Position>]) {
        self.head(POLYGON);
        self.count(rings.len());
        for ring in rings {
            self.count(ring.len());
            ring.iter().for_each(|p| self.pair(p));
        }
    }

    fn many<T>(&mut self, code: u32, parts: &[T], each: impl Fn(&mut Self, &T)) {
        self.head(code);
        self.count(parts.len());
        parts.iter().for_each(|part| each(self, part));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The example that OGC 06-103r4 (Simple feature access, 8.2.8) gives of a point's bytes, with the header of OGC 12-128r18, table 5.
    #[test]
    fn a_point_has_eight_bytes_of_header_and_twenty_one_of_wkb() {
        let point = GeometryValue::Point { coordinates: Position::from([1.0, -2.0]) };
        let (bytes, envelope) = blob(&point, Shape::Point).unwrap();
        assert_eq!(bytes[..13], [b'G', b'P', 0, 1, 0xe6, 0x10, 0, 0, 1, 1, 0, 0, 0]);
        assert_eq!((bytes.len(), &bytes[13..21]), (29, 1f64.to_le_bytes().as_slice()));
        assert_eq!(envelope, [1.0, 1.0, -2.0, -2.0]);
        assert!(blob(&point, Shape::Areas).is_none());
    }
}
