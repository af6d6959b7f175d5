//! Where a row's stand is, in whichever way it was written.

use crate::{
    finding::Finding,
    geodesy::{
        GridFrame, Place, Utm, band_edges, from_epsg,
        text::{Axis, degrees},
    },
    ingest::{
        StatedGrid,
        names::Field,
        sheet::{Cell, Row},
        written::written,
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
    pub fn exact(place: Place) -> Self {
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
        missing(row, Field::Position, "position");
        return None;
    };
    written(row, &cell)
}

fn missing(row: &mut Row, field: Field, what: &str) {
    let hint = "write down where the stand was";
    row.refuse_field(field, "coordinate-missing", format!("the row has no {what}"), hint);
}

fn geographic(row: &mut Row) -> Option<Position> {
    let lat = axis(row, Field::Latitude, Axis::Latitude, "latitude");
    let lon = axis(row, Field::Longitude, Axis::Longitude, "longitude");
    Place::from_lat_lon_degrees(lat?, lon?).map(Position::exact)
}

fn axis(row: &mut Row, field: Field, axis: Axis, what: &str) -> Option<f64> {
    let Some(cell) = row.cell(field) else {
        missing(row, field, what);
        return None;
    };
    degrees(cell.text, axis)
        .map_err(|e| {
            let hint = likely(cell.text, axis, row)
                .unwrap_or_else(|| "write degrees such as 46.95501, 46°57.301'N or 46 57 18.0 N".to_owned());
            row.told.push(cell.refuse("coordinate", e.to_string(), &hint));
        })
        .ok()
}

/// What a number beyond the range of its axis is likely to mean: a longitude counted to 360°, or one that stands in the
/// column of the latitudes.
fn likely(text: &str, axis: Axis, row: &Row) -> Option<String> {
    let value = row.sheet.parse(text)?;
    match axis {
        Axis::Longitude if value > 180.0 && value <= 360.0 => {
            Some(format!("longitudes run to 180 degrees east and west: did you mean {:.6}?", value - 360.0))
        }
        Axis::Latitude if value.abs() > 90.0 && value.abs() <= 180.0 => {
            Some("a longitude in the column of the latitudes? they look swapped".to_owned())
        }
        _ => None,
    }
}

/// Easting and northing in two columns, in a grid that the row, or else the caller, states.
fn eastings(row: &mut Row) -> Option<Position> {
    for (field, what) in [(Field::Easting, "easting"), (Field::Northing, "northing")] {
        if row.cell(field).is_none() {
            missing(row, field, what);
            return None;
        }
    }
    let grid = grid(row)?;
    let cell = row.cell(Field::Northing)?;
    let (easting, northing) = match grid {
        StatedGrid::Epsg(_) => (row.plain_number(Field::Easting)?, row.plain_number(Field::Northing)?),
        StatedGrid::Utm { .. } => (row.number(Field::Easting)?, row.number(Field::Northing)?),
    };
    in_grid(row, &cell, grid, easting, northing)
}

/// The grid of a row: its code, its zone, or what the caller states. A code and a zone must name the same one.
fn grid(row: &mut Row) -> Option<StatedGrid> {
    let (code, zone) = (row.cell(Field::Epsg), row.cell(Field::Zone));
    match (&code, &zone) {
        (Some(code), Some(zone)) => {
            let (by_code, by_zone) = (stated(row, code)?, stated(row, zone)?);
            if !by_code.agrees(by_zone) {
                let message = "the code and the zone name different grids";
                row.told.push(zone.refuse("grids-differ", message, "leave the wrong one of the two empty"));
                return None;
            }
            Some(by_code)
        }
        (Some(cell), None) | (None, Some(cell)) => stated(row, cell),
        (None, None) => {
            let stated = row.sheet.settings.grid;
            if stated.is_none() {
                let hint =
                    "state the grid once for the file, such as --grid EPSG:2056 or --grid \"UTM 33 north\"";
                row.refuse("grid-unstated", "easting and northing do not say of which grid", hint);
            }
            stated
        }
    }
}

fn stated(row: &mut Row, cell: &Cell) -> Option<StatedGrid> {
    let grid = StatedGrid::from_text(cell.text);
    if grid.is_none() {
        let hint = "write EPSG:2056, or a UTM zone with its band or hemisphere such as 33T or 33 north";
        row.told.push(cell.refuse("grid-unknown", "this names no grid", hint));
    }
    grid
}

/// The place of an easting and northing, in metres, or for an EPSG grid in the grid's own unit.
pub fn in_grid(
    row: &mut Row,
    cell: &Cell,
    grid: StatedGrid,
    easting: f64,
    northing: f64,
) -> Option<Position> {
    match grid {
        StatedGrid::Epsg(code) => in_epsg(row, cell, code, easting, northing),
        StatedGrid::Utm { zone, letter } => in_utm(row, cell, (zone, letter), easting, northing),
    }
}

fn in_epsg(row: &mut Row, cell: &Cell, code: u32, easting: f64, northing: f64) -> Option<Position> {
    if !row.sheet.admits(code) {
        let hint = "put the bearings of each grid into a file of their own";
        row.told.push(cell.refuse("too-many-grids", "the file names more grids than any survey has", hint));
        return None;
    }
    let found = match from_epsg(code, easting, northing) {
        Ok(found) => found,
        Err(error) => {
            let hint = "check the code and the order: easting first, then northing, in the grid's own unit";
            row.told.push(cell.refuse("grid-position", error.to_string(), hint));
            return None;
        }
    };
    let unit = found.unit;
    // The foot of the survey and the international one differ by two millionths; both are called ft.
    if row.sheet.columns.length(Field::Northing).is_some_and(|stated| (stated / unit - 1.0).abs() > 1e-4) {
        let message = format!("the unit of EPSG:{code} is {unit} m, and the header says another one");
        row.told.push(cell.refuse("grid-unit", message, "write the numbers in the grid's own unit"));
        return None;
    }
    let foot = if unit == 1.0 { String::new() } else { format!(" (unit {unit} m)") };
    let message =
        format!("EPSG:{code}{foot} to WGS 84: {} (accurate to {} m)", found.operation, found.accuracy);
    row.told.push(Finding::assumed("grid-operation", message));
    Some(Position { place: found.place, frame: Some(GridFrame::Epsg(code)), sigma: found.accuracy })
}

fn in_utm(
    row: &mut Row,
    cell: &Cell,
    (zone, letter): (u8, char),
    easting: f64,
    northing: f64,
) -> Option<Position> {
    let Some(south) = southern(letter, northing) else {
        let hint = "write north, south, or the letter of another band";
        let message = "S may mean the southern hemisphere or the band S of the northern one";
        row.told.push(cell.refuse("hemisphere", message, hint));
        return None;
    };
    let Some(place) = Utm::new(zone, south, easting, northing).map(Utm::place) else {
        let hint = "eastings have six digits, northings up to seven; easting comes first";
        row.told.push(cell.refuse("grid-position", "this is outside of a UTM zone", hint));
        return None;
    };
    if !in_band(letter, place) {
        let message = format!("this lies at latitude {:.2}, not in band {letter}", place.lat_degrees());
        let hint = "check the letter and the northing: one of them is wrong";
        row.told.push(cell.refuse("band-differs", message, hint));
        return None;
    }
    Some(Position { place, frame: Some(GridFrame::Utm { zone }), sigma: 0.0 })
}

/// Whether a place lies in the band of a letter, or within a kilometre (0.01°) of it, as a band that was noted once is
/// kept for the next stand. N and S are taken for hemispheres.
fn in_band(letter: char, place: Place) -> bool {
    let Some((low, high)) = band_edges(letter).filter(|_| !matches!(letter, 'N' | 'S')) else { return true };
    (low - 0.01..=high + 0.01).contains(&place.lat_degrees())
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
