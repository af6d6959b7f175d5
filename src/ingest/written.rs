//! A position in one cell: a square of the grid, a Plus code, a UTM position, or latitude and longitude.

use crate::{
    geodesy::{
        GridFrame, Place, Utm, mgrs, plus_code,
        text::{Axis, degrees},
    },
    ingest::{
        StatedGrid,
        position::{Position, in_grid},
        sheet::{Cell, Row},
    },
};

/// Reads it; `None` after a refusal.
pub fn written(row: &mut Row, cell: &Cell) -> Option<Position> {
    if let Some((grid, easting, northing)) = in_words(row, cell.text) {
        return in_grid(row, cell, grid, easting, northing);
    }
    if plus_code::meant(cell.text) {
        return plus(row, cell);
    }
    if meant_as_square(cell.text) {
        return square(row, cell);
    }
    match latitude_and_longitude(cell.text) {
        Ok(place) => Some(Position::exact(place)),
        Err(why) => {
            let hint = "write latitude, then longitude, such as 46.955, -118.36; or 11TLN96770117; or 11T 396777 5201175";
            row.told.push(cell.refuse("coordinate", why, hint));
            None
        }
    }
}

/// Whether three letters follow upon the zone, or begin the text: no coordinate in degrees does that.
fn meant_as_square(text: &str) -> bool {
    let plain = text.chars().filter(|c| !c.is_whitespace());
    let mut letters = plain.skip_while(char::is_ascii_digit).take(3);
    (0..3).all(|_| letters.next().is_some_and(|c| c.is_ascii_alphabetic()))
}

fn latitude_and_longitude(text: &str) -> Result<Place, String> {
    let (first, second) = halves(text).ok_or("this is not a position")?;
    let lat = degrees(first, Axis::Latitude).map_err(|e| format!("the latitude: {e}"))?;
    let lon = degrees(second, Axis::Longitude).map_err(|e| format!("the longitude: {e}"))?;
    Place::from_lat_lon_degrees(lat, lon).ok_or_else(|| "this is not a position".to_owned())
}

fn square(row: &mut Row, cell: &Cell) -> Option<Position> {
    match mgrs::square(cell.text) {
        Ok(square) => {
            if square.side >= 100.0 {
                let message = format!("this is a square of {:.0} m: its middle is used", square.side);
                row.told.push(cell.doubt("coarse-position", message, "write eight or ten digits"));
            }
            let frame = GridFrame::Utm { zone: Utm::of(square.middle)?.zone() };
            // A place anywhere in a square lies side/√12 from its middle in either direction (one standard deviation).
            Some(Position { place: square.middle, frame: Some(frame), sigma: square.side / 12f64.sqrt() })
        }
        Err(error) => {
            let hint = "write zone, band, two letters and the digits, such as 11TLN96770117";
            row.told.push(cell.refuse("coordinate", error.to_string(), hint));
            None
        }
    }
}

/// Metres of a degree of latitude, near enough for the size of an area.
const METRES_A_DEGREE: f64 = 111_320.0;

fn plus(row: &mut Row, cell: &Cell) -> Option<Position> {
    match plus_code::area(cell.text) {
        Ok(area) => {
            // The longer side: near the poles an area is narrow.
            let side = METRES_A_DEGREE
                * area.sides.0.max(area.sides.1 * area.middle.lat_degrees().to_radians().cos());
            if side >= 100.0 {
                let message = format!("this is an area of {side:.0} m: its middle is used");
                row.told.push(cell.doubt(
                    "coarse-position",
                    message,
                    "write at least two digits behind the plus sign",
                ));
            }
            Some(Position { place: area.middle, frame: None, sigma: side / 12f64.sqrt() })
        }
        Err(error) => {
            let hint = "write the whole code, such as 85R3XJ4V+C8";
            row.told.push(cell.refuse("coordinate", error.to_string(), hint));
            None
        }
    }
}

/// `11T 396777 5201175`, `11 north 396777 5201175`, `EPSG:2056 2600000 1200000`; `E` and `N` behind the numbers say
/// which is which, whatever their order.
fn in_words(row: &Row, text: &str) -> Option<(StatedGrid, f64, f64)> {
    let words: Vec<&str> = text.split([' ', ',', ';']).filter(|w| !w.is_empty()).collect();
    let [grid @ .., first, second] = &words[..] else { return None };
    let grid = StatedGrid::from_text(&grid.join(" ")).filter(|_| !grid.is_empty())?;
    let (first, second) = (labelled(row, first)?, labelled(row, second)?);
    match (first, second) {
        ((easting, None | Some('E')), (northing, None | Some('N')))
        | ((northing, Some('N')), (easting, Some('E'))) => Some((grid, easting, northing)),
        _ => None,
    }
}

/// A number of metres and the letter behind it: `396777`, `396777E`, `396777mE`, `5201175 N` without the blank.
fn labelled(row: &Row, word: &str) -> Option<(f64, Option<char>)> {
    let digits = word.trim_end_matches(|c: char| c.is_ascii_alphabetic());
    let letter = match word[digits.len()..].to_ascii_uppercase().as_str() {
        "" | "M" => None,
        "E" | "ME" => Some('E'),
        "N" | "MN" => Some('N'),
        _ => return None,
    };
    // Anything smaller is degrees.
    row.sheet.parse(digits).filter(|v| *v >= 1000.0).map(|v| (v, letter))
}

/// Latitude and longitude of one text: cut at a semicolon, a slash, a comma with a blank, behind the letter of the first
/// or before that of the second, or between two words.
fn halves(text: &str) -> Option<(&str, &str)> {
    let text = text.trim();
    for mark in [";", "/", ", "] {
        if let Some((a, b)) = text.split_once(mark) {
            return Some((a.trim(), b.trim()));
        }
    }
    // Small letters last: an s may stand for seconds.
    let leads = text.starts_with(['N', 'S', 'E', 'W', 'n', 's', 'e', 'w']);
    let find = |letters: &[char]| text.get(usize::from(leads)..)?.find(letters);
    let letter = find(&['N', 'S', 'E', 'W']).or_else(|| find(&['n', 's', 'e', 'w']));
    if let Some(at) = letter.map(|at| at + 1) {
        return Some((text[..at].trim(), text[at..].trim_start_matches(',').trim()));
    }
    let words: Vec<&str> = text.split_whitespace().collect();
    match words[..] {
        [a, b] => Some((a, b)),
        [one] if one.matches(',').count() == 1 && one.contains('.') => one.split_once(','),
        _ => None,
    }
}
