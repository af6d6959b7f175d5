//! Positions as Plus codes (Open Location Code), as written: an area, not a point ([`crate::sources::OLC`]).

use std::fmt;

use crate::geodesy::Place;

/// The twenty digits.
const DIGITS: &[u8; 20] = b"23456789CFGHJMPQRVWX";

/// Digits before the plus sign.
const BEFORE: usize = 8;

/// Digits that come in pairs, latitude first; those after stand for a cell of five rows by four columns each.
const IN_PAIRS: usize = 10;

/// Digits that are read; a tenth of a millimetre lies beyond.
const MOST: usize = 15;

/// The area of a code.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlusArea {
    /// Its middle.
    pub middle: Place,
    /// Its sides in degrees: latitude, longitude.
    pub sides: (f64, f64),
}

/// Why a text is no area.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PlusCodeError {
    /// Not eight digits, a plus sign and none or two to seven digits of the twenty.
    NotACode,
    /// The digits before the plus sign that say in which town are left out.
    Short,
    /// Beyond a pole or a meridian.
    Beyond,
}

impl fmt::Display for PlusCodeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotACode => write!(
                f,
                "a Plus code has eight digits, a plus sign and two to seven more, of 23456789CFGHJMPQRVWX"
            ),
            Self::Short => write!(f, "a short Plus code says where only beside a town's name"),
            Self::Beyond => write!(f, "there is no such area on the globe"),
        }
    }
}

/// Whether a text has the form of a code, whole or short.
pub fn meant(text: &str) -> bool {
    let text = text.trim();
    let digit =
        |c: char| c == '0' || c.is_ascii_alphanumeric() && DIGITS.contains(&(c.to_ascii_uppercase() as u8));
    text.split_once('+').is_some_and(|(before, after)| {
        (2..=BEFORE).contains(&before.len())
            && before.len() % 2 == 0
            && after.len() <= MOST - BEFORE
            && before.chars().chain(after.chars()).all(digit)
            && before.chars().any(|c| c != '0')
    })
}

/// The area of a code such as `85V2WJ4V+C8`, in letters of either case. Zeros before the plus sign pad a code of two, four or six
/// digits.
///
/// # Errors
/// [`PlusCodeError`] for anything else.
pub fn area(text: &str) -> Result<PlusArea, PlusCodeError> {
    if !meant(text) {
        return Err(PlusCodeError::NotACode);
    }
    let (before, after) = text.trim().split_once('+').ok_or(PlusCodeError::NotACode)?;
    if before.len() < BEFORE {
        return Err(PlusCodeError::Short);
    }
    let kept = before.trim_end_matches('0');
    let padded = kept.len() < BEFORE;
    if kept.contains('0')
        || kept.len() % 2 != 0
        || after.contains('0')
        || (padded && !after.is_empty())
        || after.len() == 1
    {
        return Err(PlusCodeError::NotACode);
    }
    let digits: Vec<f64> = kept
        .bytes()
        .chain(after.bytes())
        .filter_map(|b| DIGITS.iter().position(|d| *d == b.to_ascii_uppercase()))
        .map(|i| i as f64)
        .collect();
    corner(&digits).ok_or(PlusCodeError::Beyond)
}

/// Digits as an area: pairs of 20°, 1°, 1/20° …, then cells of a fifth by a quarter.
fn corner(digits: &[f64]) -> Option<PlusArea> {
    let (pairs, cells) = digits.split_at(digits.len().min(IN_PAIRS));
    let (mut south, mut west, mut side) = (-90.0, -180.0, 400.0);
    for pair in pairs.chunks_exact(2) {
        side /= 20.0;
        south += pair[0] * side;
        west += pair[1] * side;
    }
    let mut sides = (side, side);
    for cell in cells {
        sides = (sides.0 / 5.0, sides.1 / 4.0);
        south += (cell / 4.0).floor() * sides.0;
        west += cell % 4.0 * sides.1;
    }
    let middle = Place::from_lat_lon_degrees(south + 0.5 * sides.0, west + 0.5 * sides.1)?;
    let on_the_globe = south + sides.0 <= 90.0 + 1e-9 && west + sides.1 <= 180.0 + 1e-9;
    on_the_globe.then_some(PlusArea { middle, sides })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// South-west and north-east corners as the reference implementation decodes them (openlocationcode 1.0.1 for Python).
    #[test]
    fn areas_are_those_of_the_reference_implementation() {
        let cases = [
            ("85R3XJ4V+C8", [46.956, -118.35675, 46.956125, -118.356625]),
            ("85r3xj4v+c8h", [46.95605, -118.35665625, 46.956075, -118.356625]),
            ("4RRH46V8+74M4", [-33.8568, 151.215296875, -33.856795, 151.2153046875]),
            ("8FVC2222+22", [47.0, 8.0, 47.000125, 8.000125]),
            ("CFX3X2X2+X2", [89.999875, 1.0, 90.0, 1.000125]),
            ("62G22222+", [0.0, -180.0, 0.0025, -179.9975]),
            ("7FG49Q00+", [20.35, 2.75, 20.4, 2.8]),
        ];
        for (code, [south, west, north, east]) in cases {
            let area = area(code).unwrap();
            let (lat, lon) = (area.middle.lat_degrees(), area.middle.lon_degrees());
            // To the digits of an angle in a double.
            assert!(
                (lat - 0.5 * (south + north)).abs() < 1e-12 && (lon - 0.5 * (west + east)).abs() < 1e-12,
                "{code}: {lat}, {lon}"
            );
            assert!(
                (area.sides.0 - (north - south)).abs() < 1e-12
                    && (area.sides.1 - (east - west)).abs() < 1e-12,
                "{code}"
            );
        }
    }

    #[test]
    fn what_is_no_code_is_refused() {
        use PlusCodeError::{Beyond, NotACode, Short};
        for (text, why) in [
            ("XJ4V+C8", Short),
            ("85R3XJ4V+C", NotACode),
            ("85R3XJ4V+0", NotACode),
            ("8500XJ4V+C8", NotACode),
            ("7FG49Q00+22", NotACode),
            ("85R3XJ4V", NotACode),
            ("85A3XJ4V+C8", NotACode),
            ("", NotACode),
            ("XXXXXXXX+XX", Beyond),
            ("85R3XJ4V+22222222", NotACode),
        ] {
            assert_eq!(area(text), Err(why), "{text}");
        }
    }
}
