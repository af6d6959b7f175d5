//! Positions in the Military Grid Reference System on WGS 84, as written: a square, not a point.

use crate::geodesy::{Place, Utm, utm, zone_of};

/// A square of the grid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Square {
    /// Its middle.
    pub middle: Place,
    /// Its side in metres: 1 to 100,000.
    pub side: f64,
}

/// Why a text is no square of the grid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SquareError {
    /// Not zone, band, two letters and an even number of digits (at most ten).
    NotASquare,
    /// The polar grids, north of 84° and south of 80° S.
    Polar,
    /// Letters that no square of the zone has, or a square that lies in another zone or band.
    NoSuchSquare,
}

impl std::fmt::Display for SquareError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NotASquare => {
                write!(f, "a grid reference has zone, band, two letters and an even number of digits")
            }
            Self::Polar => write!(f, "the polar grids are not read"),
            Self::NoSuchSquare => write!(f, "there is no square with these letters in that zone and band"),
        }
    }
}

/// Letters of the rows; columns use eight of A–Z without I and O, by zone.
const ROWS: &[u8; 20] = b"ABCDEFGHJKLMNPQRSTUV";
const COLUMNS: [&[u8; 8]; 3] = [b"ABCDEFGH", b"JKLMNPQR", b"STUVWXYZ"];

/// The square of a reference such as `11TLN96770117`, `11T LN 9677 0117` (letters in either case).
///
/// Columns and rows of 100 km as in the 1990 scheme for WGS 84: columns repeat every three zones, rows every
/// 2,000 km, shifted by five letters in even zones.
///
/// # Errors
/// [`SquareError`] for anything else; a square that does not lie in its zone and band is refused, not moved.
pub fn square(text: &str) -> Result<Square, SquareError> {
    let plain: Vec<u8> =
        text.bytes().filter(|b| !b.is_ascii_whitespace()).map(|b| b.to_ascii_uppercase()).collect();
    let digits = plain.iter().take_while(|b| b.is_ascii_digit()).count();
    let (zone, rest) = plain.split_at(digits);
    if digits == 0 && rest.first().is_some_and(|b| matches!(b, b'A' | b'B' | b'Y' | b'Z')) && rest.len() >= 3
    {
        return Err(SquareError::Polar);
    }
    let zone = number(zone).filter(|z| (1..=60).contains(z) && digits <= 2).ok_or(SquareError::NotASquare)?;
    let [band, column, row, figures @ ..] = rest else { return Err(SquareError::NotASquare) };
    let each = figures.len() / 2;
    if figures.len() % 2 != 0 || each > 5 || ![band, column, row].iter().all(|b| b.is_ascii_uppercase()) {
        return Err(SquareError::NotASquare);
    }
    let side = 10f64.powi(5 - each as i32);
    let within = |f: &[u8]| if each == 0 { Some(0) } else { number(f) };
    let (east, north) =
        within(&figures[..each]).zip(within(&figures[each..])).ok_or(SquareError::NotASquare)?;
    let corner = corner(zone as u8, *column, *row).ok_or(SquareError::NoSuchSquare)?;
    let east = corner.0 + (f64::from(east) + 0.5) * side;
    let north = corner.1 + (f64::from(north) + 0.5) * side;
    in_band(zone as u8, char::from(*band), east, north, side)
        .filter(|square| in_zone(zone as u8, square))
        .ok_or(SquareError::NoSuchSquare)
}

fn number(digits: &[u8]) -> Option<u32> {
    std::str::from_utf8(digits).ok()?.parse().ok()
}

/// Easting, and northing within its 2,000 km, of the south-west corner of a 100 km square.
fn corner(zone: u8, column: u8, row: u8) -> Option<(f64, f64)> {
    let columns = COLUMNS[usize::from(zone - 1) % 3];
    let column = columns.iter().position(|c| *c == column)?;
    let row = ROWS.iter().position(|r| *r == row)?;
    let shifted = if zone.is_multiple_of(2) { (row + 15) % 20 } else { row };
    Some((1e5 * (column + 1) as f64, 1e5 * shifted as f64))
}

/// The square among those 2,000 km apart whose middle lies in the band, or within its side of the band's edge.
fn in_band(zone: u8, band: char, east: f64, north: f64, side: f64) -> Option<Square> {
    let (low, high) = utm::band_edges(band)?;
    let south = low < 0.0;
    let slack = half_diagonal(side);
    (0..5).find_map(|k| {
        let middle = Utm::new(zone, south, east, north + 2e6 * f64::from(k))?.place();
        let lat = middle.lat_degrees();
        (low - slack <= lat && lat <= high + slack).then_some(Square { middle, side })
    })
}

/// Half a square's diagonal, in degrees of latitude.
fn half_diagonal(side: f64) -> f64 {
    0.71 * side / 110_000.0
}

/// Whether some of the square lies in the zone: its letters go on beyond the zone's edge, where no square has them.
fn in_zone(zone: u8, square: &Square) -> bool {
    let (lat, lon) = (square.middle.lat_degrees(), square.middle.lon_degrees());
    let up = half_diagonal(square.side);
    let across = up / lat.to_radians().cos();
    let around = |shift: f64| [-shift, 0.0, shift];
    around(up).into_iter().flat_map(|up| around(across).map(|across| (lat + up, lon + across))).any(
        // The last band ends at 84°, which zone_of leaves to the polar grid.
        |(lat, lon)| Place::from_lat_lon_degrees(lat.min(83.999), lon).and_then(zone_of) == Some(zone),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geodesy::course;

    /// References of nine places by GEOTRANS 3.x (through the Python package mgrs 1.5), to the metre; zone exceptions of
    /// Norway and Svalbard, both hemispheres, the first and the last band.
    #[test]
    fn references_agree_with_an_independent_library() {
        for (text, lat, lon) in [
            ("18SUJ2348306479", 38.889_463, -77.035_242),
            ("11TLN9677701174", 46.956_061, -118.356_637),
            ("56HLH3490052290", -33.856_784, 151.215_297),
            ("33XWG1427883355", 78.223_2, 15.626_7),
            ("32VKN9723000510", 60.39, 5.32),
            ("31NAA6613200110", 0.001, 0.001),
            ("01MBV2173444681", -0.5, -179.5),
            ("37XEN1263772385", 83.5, 40.0),
            ("19CDM7965674046", -79.5, -70.0),
        ] {
            let square = square(text).unwrap();
            let off = course(square.middle, Place::from_lat_lon_degrees(lat, lon).unwrap()).distance.value();
            // The reference is cut off to the metre: its middle is at most half a diagonal away.
            assert!(off < 0.71, "{text}: {off} m");
            assert_eq!(square.side, 1.0);
        }
        let square = square(" 11t LN 9677 0117 ").unwrap();
        assert_eq!(square.side, 10.0);
    }

    #[test]
    fn what_is_no_square_is_refused() {
        use SquareError::{NoSuchSquare, NotASquare, Polar};
        for (text, error) in [
            ("", NotASquare),
            ("11T", NotASquare),
            ("61TLN96770117", NotASquare),
            ("11TLN9677011", NotASquare),
            ("11TLN123456123456", NotASquare),
            ("11TAN96770117", NoSuchSquare),
            ("11TLI96770117", NoSuchSquare),
            ("11NLN96770117", NoSuchSquare),
            ("11ILN96770117", NoSuchSquare),
            ("ZAH1234512345", Polar),
            // Zone 32 has no band X. At 47° N a zone reaches 228 km to either side, and column Z begins at 300 km.
            ("32XNG1234567890", NoSuchSquare),
            ("33TZN9677070117", NoSuchSquare),
        ] {
            assert_eq!(square(text), Err(error), "{text}");
        }
    }
}
