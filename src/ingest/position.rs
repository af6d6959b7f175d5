//! Where a row's stand is, in whichever way it was written.

use crate::{
    finding::Finding,
    geodesy::{
        GridFrame, Place, Utm, band_edges, from_epsg, mgrs,
        text::{Axis, degrees},
    },
    ingest::{
        StatedGrid,
        columns::Field,
        sheet::{Cell, Row},
    },
};

/// A stand's place, with the grid it was written in and what that adds to its error.
#[derive(Clone, Copy)]
pub struct Position {
    /// The place.
    pub place: Place,
    /// The grid, where it was written in one.
    pub frame: Option<GridFrame>,
    /// One standard deviation from rounding to a square or from a datum operation, metres.
    pub sigma: f64,
}

impl Position {
    fn exact(place: Place) -> Self {
        Self { place, frame: None, sigma: 0.0 }
    }
}

/// Reads it; `None` after a refusal.
pub fn position(row: &mut Row) -> Option<Position> {
    let has = |row: &Row, field| row.sheet.columns.at(field).is_some();
    if has(row, Field::Latitude) && has(row, Field::Longitude) {
        return geographic(row);
    }
    if has(row, Field::Easting) && has(row, Field::Northing) {
        return eastings(row);
    }
    let Some(cell) = row.cell(Field::Position) else {
        missing(row, "position");
        return None;
    };
    written(row, &cell)
}

fn missing(row: &mut Row, what: &str) {
    row.refuse("coordinate-missing", format!("the row has no {what}"), "write down where the stand was");
}

fn geographic(row: &mut Row) -> Option<Position> {
    let lat = axis(row, Field::Latitude, Axis::Latitude, "latitude");
    let lon = axis(row, Field::Longitude, Axis::Longitude, "longitude");
    Place::from_lat_lon_degrees(lat?, lon?).map(Position::exact)
}

fn axis(row: &mut Row, field: Field, axis: Axis, what: &str) -> Option<f64> {
    let Some(cell) = row.cell(field) else {
        missing(row, what);
        return None;
    };
    degrees(cell.text, axis)
        .map_err(|e| {
            let hint = "write degrees such as 46.95501, 46°57.301'N or 46 57 18.0 N";
            row.told.push(cell.refuse("coordinate", e.to_string(), hint));
        })
        .ok()
}

/// Easting and northing in two columns, in a grid that the row, or else the caller, states.
fn eastings(row: &mut Row) -> Option<Position> {
    let (Some(_), Some(cell)) = (row.cell(Field::Easting), row.cell(Field::Northing)) else {
        missing(row, "easting and northing");
        return None;
    };
    let (easting, northing) = (row.number(Field::Easting)?, row.number(Field::Northing)?);
    let grid = match (row.cell(Field::Epsg), row.cell(Field::Zone)) {
        (Some(code), _) => stated(row, &code)?,
        (None, Some(zone)) => stated(row, &zone)?,
        (None, None) => match row.sheet.settings.grid {
            Some(grid) => grid,
            None => {
                let hint =
                    "state the grid once for the file, such as --grid EPSG:2056 or --grid \"UTM 33 north\"";
                row.refuse("grid-unstated", "easting and northing do not say of which grid", hint);
                return None;
            }
        },
    };
    in_grid(row, &cell, grid, easting, northing)
}

fn stated(row: &mut Row, cell: &Cell) -> Option<StatedGrid> {
    let grid = StatedGrid::from_text(cell.text);
    if grid.is_none() {
        let hint = "write EPSG:2056, or a UTM zone with its band or hemisphere such as 33T or 33 north";
        row.told.push(cell.refuse("grid-unknown", "this names no grid", hint));
    }
    grid
}

fn in_grid(row: &mut Row, cell: &Cell, grid: StatedGrid, easting: f64, northing: f64) -> Option<Position> {
    match grid {
        StatedGrid::Epsg(code) => match from_epsg(code, easting, northing) {
            Ok(found) => {
                let sigma = found.accuracy.unwrap_or(0.0);
                let accuracy =
                    found.accuracy.map_or("accuracy not stated".to_owned(), |a| format!("accurate to {a} m"));
                let message = format!("EPSG:{code} to WGS 84: {} ({accuracy})", found.operation);
                row.told.push(Finding::assumed("grid-operation", message));
                Some(Position { place: found.place, frame: Some(GridFrame::Epsg(code)), sigma })
            }
            Err(error) => {
                let hint = "check the code and the order: easting first, then northing, in metres";
                row.told.push(cell.refuse("grid-position", error.to_string(), hint));
                None
            }
        },
        StatedGrid::Utm { zone, letter } => {
            let south = match southern(letter, northing) {
                Some(south) => south,
                None => {
                    let hint = "write north, south, or the letter of another band";
                    row.told.push(cell.refuse(
                        "hemisphere",
                        "S may mean the southern hemisphere or the band S of the northern one",
                        hint,
                    ));
                    return None;
                }
            };
            let Some(utm) = Utm::new(zone, south, easting, northing) else {
                let hint = "eastings have six digits, northings up to seven; easting comes first";
                row.told.push(cell.refuse("grid-position", "this is outside of a UTM zone", hint));
                return None;
            };
            Some(Position { place: utm.place(), frame: Some(GridFrame::Utm { zone }), sigma: 0.0 })
        }
    }
}

/// Whether a zone with this letter lies south; `None` when `S` can mean both: the southern hemisphere, or the band from
/// 32° to 40° north, whose northings run from 3,540 km to 4,430 km.
fn southern(letter: char, northing: f64) -> Option<bool> {
    match letter {
        'S' if (3_540_000.0..4_430_000.0).contains(&northing) => None,
        // A northing outside of the band leaves only the hemisphere.
        'S' | '-' => Some(true),
        '+' => Some(false),
        band => band_edges(band).map(|(south, _)| south < 0.0),
    }
}

/// One cell: a square of the grid, a UTM position, or latitude and longitude.
fn written(row: &mut Row, cell: &Cell) -> Option<Position> {
    if let Some((grid, easting, northing)) = utm_words(cell.text) {
        return in_grid(row, cell, grid, easting, northing);
    }
    let lettered = cell.text.chars().filter(char::is_ascii_alphabetic).count() >= 3;
    if lettered && !cell.text.contains(['°', '.', ',', '\'']) {
        return square(row, cell);
    }
    let found = halves(cell.text).and_then(|(a, b)| {
        let (lat, lon) = (degrees(a, Axis::Latitude).ok()?, degrees(b, Axis::Longitude).ok()?);
        Place::from_lat_lon_degrees(lat, lon)
    });
    if found.is_none() {
        let hint = "write latitude, then longitude, such as 46.955, -118.36; or 11TLN96770117; or 11T 396777 5201175";
        row.told.push(cell.refuse("coordinate", "this is not a position", hint));
    }
    found.map(Position::exact)
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

/// `11T 396777 5201175`, `11 north 396777 5201175`, also with `E` and `N` or `m` behind the numbers.
fn utm_words(text: &str) -> Option<(StatedGrid, f64, f64)> {
    let words: Vec<&str> = text.split([' ', ',', ';']).filter(|w| !w.is_empty()).collect();
    let (grid, numbers) = words.split_at(words.len().checked_sub(2)?);
    let number =
        |w: &str| w.trim_end_matches(['E', 'N', 'm', 'e', 'n']).parse::<f64>().ok().filter(|v| *v >= 1000.0);
    let grid = StatedGrid::from_text(&grid.join(" ")).filter(|_| !grid.is_empty())?;
    Some((grid, number(numbers[0])?, number(numbers[1])?))
}

/// Latitude and longitude of one text: cut at a semicolon, a slash, a comma with a blank, behind N or S, or between two
/// words.
fn halves(text: &str) -> Option<(&str, &str)> {
    let text = text.trim();
    for mark in [";", "/", ", "] {
        if let Some((a, b)) = text.split_once(mark) {
            return Some((a.trim(), b.trim()));
        }
    }
    if let Some(at) = text.find(['N', 'S', 'n', 's']).filter(|at| *at > 0) {
        return Some((text[..=at].trim(), text[at + 1..].trim_start_matches(',').trim()));
    }
    let words: Vec<&str> = text.split_whitespace().collect();
    match words[..] {
        [a, b] => Some((a, b)),
        [one] if one.matches(',').count() == 1 && one.contains('.') => one.split_once(','),
        _ => None,
    }
}
