//! Vector tiles out of a PMTiles archive, version 3: those around a case, as they lie in the file.
//!
//! Archives of whole countries have gigabytes, so that they are read in pieces, which the caller fetches.

mod directory;
mod hilbert;
mod tile;

use directory::{Entry, find};
use hilbert::number;

use crate::{
    finding::{Finding, Origin},
    geodesy::Place,
};

#[doc(inline)]
pub use tile::MOST_UNPACKED;

/// Bytes of the header.
const HEADER: usize = 127;

/// No directory of an archive has more, packed: the root must lie in the first 16 KiB, leaves are written alike.
const MOST_DIRECTORY: u64 = 1 << 24;

/// Leaves below the root; two are the most that anybody writes.
const DEEPEST: usize = 4;

/// More tiles of one zoom are not asked for.
const MOST_TILES: u64 = 4096;

/// Zooms above the closest one that are kept for a look from farther away.
const ABOVE: u8 = 5;

/// An area in degrees; it does not cross the 180° meridian.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// Southern edge.
    pub south: f64,
    /// Western edge.
    pub west: f64,
    /// Northern edge.
    pub north: f64,
    /// Eastern edge.
    pub east: f64,
}

impl Span {
    /// The span of these places, wider by a fifth of its longer side and by 300 m at least; `None` without places, or where they lie
    /// more than half a turn apart.
    pub fn around(places: &[Place]) -> Option<Self> {
        let of = |degrees: fn(&Place) -> f64| {
            let least = places.iter().map(degrees).fold(f64::INFINITY, f64::min);
            let most = places.iter().map(degrees).fold(f64::NEG_INFINITY, f64::max);
            (least, most)
        };
        let ((south, north), (west, east)) = (of(|p| p.lat_degrees()), of(|p| p.lon_degrees()));
        if !(south.is_finite() && east - west <= 180.0) {
            return None;
        }
        let stretch = ((south + north) / 2.0).to_radians().cos().max(0.02);
        let margin = (0.2 * (north - south).max((east - west) * stretch)).max(0.0027);
        Some(Self {
            south: (south - margin).max(-85.0),
            west: (west - margin / stretch).max(-180.0),
            north: (north + margin).min(85.0),
            east: (east + margin / stretch).min(180.0),
        })
    }
}

/// A tile packed by gzip, at its place in the square of Web Mercator.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tile {
    /// Zoom.
    pub zoom: u8,
    /// Column from the west.
    pub x: u32,
    /// Row from the north.
    pub y: u32,
    /// Packed bytes.
    pub packed: Vec<u8>,
}

/// Tiles around a case.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Around {
    /// The tiles.
    pub tiles: Vec<Tile>,
    /// Who is to be named beside the map, as the archive says; may be empty.
    pub attribution: String,
    /// The closest zoom that is there.
    pub zoom: u8,
    /// The closest zoom that the archive has.
    pub closest: u8,
}

/// An archive; `read` fetches bytes: where they begin, how many.
#[derive(Debug)]
pub struct Archive<R> {
    name: String,
    read: R,
    root: (u64, u64),
    metadata: (u64, u64),
    leaves: u64,
    data: u64,
    directories_packed: bool,
    tiles_packed: bool,
    zooms: (u8, u8),
}

type Refused = Box<Finding>;

fn refused(name: &str, code: &'static str, message: impl Into<String>, hint: &str) -> Refused {
    Box::new(Finding::refused(code, message).at(Origin::file(name)).hint(hint))
}

const WHOLE: &str = "get the file again, or name another base map";

/// Whether these first bytes are those of an archive of tiles, of whatever version.
pub fn begins(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PMTiles")
}

impl<R: FnMut(u64, usize) -> Result<Vec<u8>, String>> Archive<R> {
    /// Reads the header.
    ///
    /// # Errors
    /// A file that is no such archive, has another version, holds pictures, or is packed in a way that is not read here.
    pub fn open(name: &str, mut read: R) -> Result<Self, Refused> {
        let no = |code, message: String, hint: &str| refused(name, code, message, hint);
        let header = read(0, HEADER).map_err(|why| no("tiles-damaged", why, WHOLE))?;
        if !begins(&header) || header.len() < HEADER {
            return Err(no("tiles-unknown", "this is no PMTiles archive".to_owned(), WHOLE));
        }
        let wide = |at: usize| u64::from_le_bytes(std::array::from_fn(|i| header[at + i]));
        if header[7] != 3 {
            let message = format!("this is a PMTiles archive of version {}, and 3 is read", header[7]);
            return Err(no("tiles-version", message, "write it anew as version 3"));
        }
        if header[99] != 1 {
            let message = "its tiles are pictures, not vectors".to_owned();
            return Err(no("tiles-pictures", message, "name an archive of vector tiles (MVT)"));
        }
        let packed = |at: usize, what: &str| match header[at] {
            1 => Ok(false),
            2 => Ok(true),
            other => {
                let how = match other {
                    3 => "Brotli",
                    4 => "Zstandard",
                    _ => "an unknown method",
                };
                let message = format!("its {what} are packed by {how}, and only gzip is read");
                Err(no("tiles-packing", message, "write the archive with gzip"))
            }
        };
        let (directories_packed, tiles_packed) = (packed(97, "directories")?, packed(98, "tiles")?);
        let zooms = (header[100], header[101]);
        if zooms.0 > zooms.1 || zooms.1 > 24 {
            let message = format!("its zooms go from {} to {}", zooms.0, zooms.1);
            return Err(no("tiles-damaged", message, WHOLE));
        }
        Ok(Self {
            name: name.to_owned(),
            read,
            root: (wide(8), wide(16)),
            metadata: (wide(24), wide(32)),
            leaves: wide(40),
            data: wide(56),
            directories_packed,
            tiles_packed,
            zooms,
        })
    }

    fn damaged(&self, message: String) -> Refused {
        refused(&self.name, "tiles-damaged", message, WHOLE)
    }

    fn bytes(&mut self, at: u64, length: u64, most: u64) -> Result<Vec<u8>, Refused> {
        if length > most {
            return Err(self.damaged(format!("a piece of it would have {length} bytes")));
        }
        // At most 16 MiB, by the callers' limits.
        (self.read)(at, length as usize).map_err(|why| self.damaged(why))
    }

    fn directory(&mut self, at: u64, length: u64) -> Result<Vec<Entry>, Refused> {
        let bytes = self.bytes(at, length, MOST_DIRECTORY)?;
        let plain = if self.directories_packed { tile::unpacked(&bytes) } else { Some(bytes) };
        plain
            .and_then(|plain| directory::entries(&plain))
            .ok_or_else(|| self.damaged("one of its directories is damaged".to_owned()))
    }

    fn packed(&mut self, at: (u8, u32, u32), root: &[Entry]) -> Result<Option<Tile>, Refused> {
        let (zoom, x, y) = at;
        let number = number(zoom, x, y);
        let mut leaf: Option<Vec<Entry>> = None;
        for _ in 0..DEEPEST {
            let Some(entry) = find(leaf.as_deref().unwrap_or(root), number) else { return Ok(None) };
            let Some(start) = (if entry.run == 0 { self.leaves } else { self.data }).checked_add(entry.at)
            else {
                return Err(self.damaged("a tile lies beyond its end".to_owned()));
            };
            if entry.run == 0 {
                leaf = Some(self.directory(start, entry.length)?);
                continue;
            }
            let bytes = self.bytes(start, entry.length, MOST_UNPACKED as u64)?;
            let plain = if self.tiles_packed { tile::unpacked(&bytes) } else { Some(bytes.clone()) };
            if !plain.is_some_and(|plain| tile::sound(&plain)) {
                return Err(self.damaged(format!("tile {zoom}/{x}/{y} is damaged")));
            }
            let packed = if self.tiles_packed { bytes } else { tile::packed(&bytes) };
            return Ok(Some(Tile { zoom, x, y, packed }));
        }
        Err(self.damaged("its directories lead in a circle".to_owned()))
    }

    fn of_zoom(&mut self, zoom: u8, span: &Span, root: &[Entry], most: usize) -> Result<Zoom, Refused> {
        let ((left, top), (right, bottom)) =
            (hilbert::at(zoom, span.north, span.west), hilbert::at(zoom, span.south, span.east));
        if u64::from(right - left + 1) * u64::from(bottom - top + 1) > MOST_TILES {
            return Ok(Zoom::TooMuch);
        }
        let (mut out, mut size) = (Vec::new(), 0);
        for y in top..=bottom {
            for x in left..=right {
                let Some(tile) = self.packed((zoom, x, y), root)? else { continue };
                size += tile.packed.len();
                if size > most {
                    return Ok(Zoom::TooMuch);
                }
                out.push(tile);
            }
        }
        Ok(Zoom::Tiles(out, size))
    }

    /// The tiles of a span, of the closest zoom whose tiles take at most `most` bytes, and of the zooms above it as far as there is
    /// room.
    ///
    /// # Errors
    /// A damaged archive, one without tiles there, and one whose tiles are too large at every zoom.
    pub fn around(&mut self, span: &Span, most: usize) -> Result<Around, Refused> {
        let root = self.directory(self.root.0, self.root.1)?;
        let (mut tiles, mut room, mut chosen) = (Vec::new(), most, None);
        let (least, closest) = self.zooms;
        for zoom in (least..=closest).rev() {
            if chosen.is_some_and(|c| c > zoom + ABOVE) {
                break;
            }
            match self.of_zoom(zoom, span, &root, room)? {
                Zoom::Tiles(mut found, size) if !found.is_empty() => {
                    room -= size;
                    chosen = chosen.or(Some(zoom));
                    tiles.append(&mut found);
                }
                Zoom::Tiles(..) if chosen.is_none() && zoom == closest => {
                    let hint = "is it the right region?";
                    return Err(refused(
                        &self.name,
                        "tiles-elsewhere",
                        "no tile of it lies around the stands",
                        hint,
                    ));
                }
                Zoom::TooMuch if chosen.is_some() => break,
                _ => {}
            }
        }
        let Some(zoom) = chosen else {
            let limit = most / 1000;
            let message = format!("its tiles around the stands take more than {limit} kB at every zoom");
            return Err(refused(&self.name, "tiles-too-large", message, "name an archive with less in it"));
        };
        Ok(Around { tiles, attribution: self.attribution(), zoom, closest })
    }

    /// Who is to be named; nothing where the archive does not say, or not in JSON.
    fn attribution(&mut self) -> String {
        let (at, length) = self.metadata;
        let bytes = self.bytes(at, length, MOST_DIRECTORY).unwrap_or_default();
        let plain = if self.directories_packed { tile::unpacked(&bytes) } else { Some(bytes) };
        let read = plain.and_then(|p| serde_json::from_slice::<serde_json::Value>(&p).ok());
        let said = read.as_ref().and_then(|m| m["attribution"].as_str()).unwrap_or_default();
        // Links and other markup are left out: only names are shown.
        let mut inside = false;
        let text: String = said
            .chars()
            .filter(|c| {
                inside = (inside || *c == '<') && *c != '>';
                !inside && *c != '>'
            })
            .take(200)
            .collect();
        text.trim().to_owned()
    }
}

enum Zoom {
    Tiles(Vec<Tile>, usize),
    TooMuch,
}
