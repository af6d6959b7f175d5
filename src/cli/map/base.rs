//! What is drawn below and above the answer: vector tiles, and a division that came as a file.

use std::{
    fs::File,
    io::{Read, Seek, SeekFrom},
    path::{Path, PathBuf},
};

use serde_json::{Value, json};

use crate::{
    cli::{Failure, files},
    export::Divided,
    finding::{Finding, Origin},
    geodesy::Place,
    ingest::{
        self, Kind,
        tiles::{Archive, Span},
    },
    live,
};

/// Packed bytes of tiles in a page, at most: with them the page of a small case keeps below 3 MB.
const MOST_TILES: usize = 600_000;

/// What of a case is drawn.
#[derive(Default)]
pub struct OfCase {
    /// Base maps.
    pub maps: Vec<PathBuf>,
    /// A division.
    pub division: Option<PathBuf>,
}

/// The first GeoJSON file of a case that holds no bearings is its base map, or a division where it has parts; the first archive of
/// tiles is drawn too.
pub fn of_case(added: &[String]) -> Result<OfCase, Failure> {
    let mut out = OfCase::default();
    let ends = |name: &str, with: &str| name.to_lowercase().ends_with(with);
    let (mut town, mut archive) = (None, None);
    for name in added.iter().rev() {
        if ends(name, ".pmtiles") {
            archive = Some(name);
        } else if ends(name, ".geojson") {
            let (_, bytes) = files::read(Path::new(name))?;
            let text = String::from_utf8_lossy(&bytes);
            if ingest::kind(&bytes) != Kind::Unknown {
                continue;
            }
            if text.contains("\"part\"") && Divided::read(name, &text).is_ok() {
                // The last one that was added is the one that counts.
                out.division.get_or_insert_with(|| PathBuf::from(name));
            } else {
                town = Some(name);
            }
        }
    }
    for name in town.into_iter().chain(archive) {
        eprintln!("base map: {name} of the case");
        out.maps.push(PathBuf::from(name));
    }
    if let Some(path) = &out.division {
        eprintln!("division: {} of the case", path.display());
    }
    Ok(out)
}

/// A division, checked, as it was written.
pub fn division(path: &Path) -> Result<Value, Failure> {
    let (name, bytes) = files::read(path)?;
    let text = String::from_utf8(bytes).map_err(|_| format!("{name} is not UTF-8"))?;
    Divided::read(&name, &text).map_err(|finding| finding.to_string())?;
    serde_json::from_str(&text).map_err(|e| format!("{name}: {e}"))
}

/// The tiles around what a reply shows, as the page has them.
pub fn tiles(path: &Path, reply: &str, told: &mut Vec<Finding>) -> Result<Value, Failure> {
    let name = path.display().to_string();
    let mut file = File::open(path).map_err(|e| format!("{name} could not be opened: {e}"))?;
    let size = file.metadata().map_err(|e| format!("{name}: {e}"))?.len();
    let read = move |at: u64, length: usize| {
        if at.checked_add(length as u64).is_none_or(|end| end > size) {
            return Err(format!("it ends after {size} bytes, where more are said to come"));
        }
        let mut bytes = vec![0; length];
        file.seek(SeekFrom::Start(at))
            .and_then(|_| file.read_exact(&mut bytes))
            .map_err(|e| e.to_string())?;
        Ok(bytes)
    };
    let Some(span) = Span::around(&shown(reply)) else {
        let message = "no tiles are drawn: the answer has no place around which to take them";
        told.push(Finding::doubtful("tiles-nowhere", message).at(Origin::file(&name)));
        return Ok(Value::Null);
    };
    let mut archive = Archive::open(&name, read).map_err(|f| f.to_string())?;
    let around = archive.around(&span, MOST_TILES).map_err(|f| f.to_string())?;
    let size: usize = around.tiles.iter().map(|t| t.packed.len()).sum();
    let coarser = if around.zoom < around.closest {
        format!("; the archive goes to zoom {}, whose tiles would not fit", around.closest)
    } else {
        String::new()
    };
    let message = format!(
        "{} tiles around the stands are in the page, to zoom {}, {} kB of at most {} kB{coarser}",
        around.tiles.len(),
        around.zoom,
        size.div_ceil(1000),
        MOST_TILES / 1000
    );
    eprintln!("base map: {name}: {message}");
    told.push(Finding::assumed("tiles-drawn", message).at(Origin::file(&name)));
    let tiles: Value =
        around.tiles.iter().map(|t| json!([t.zoom, t.x, t.y, live::base64(&t.packed)])).collect();
    Ok(json!({ "name": name, "attribution": around.attribution, "zoom": around.zoom, "tiles": tiles }))
}

/// Stands, regions and places of a reply.
fn shown(reply: &str) -> Vec<Place> {
    let read: Value = serde_json::from_str(reply).unwrap_or_default();
    let features = read["map"]["features"].as_array().cloned().unwrap_or_default();
    let kinds = ["stand", "region", "place", "reading"];
    let mut out = Vec::new();
    for feature in features.iter().filter(|f| kinds.iter().any(|k| f["properties"]["kind"] == *k)) {
        places(&feature["geometry"]["coordinates"], &mut out);
    }
    out
}

/// Every position in nested coordinates.
fn places(coordinates: &Value, out: &mut Vec<Place>) {
    match coordinates.as_array().map(Vec::as_slice) {
        Some([Value::Number(lon), Value::Number(lat), ..]) => {
            let place = lat.as_f64().zip(lon.as_f64());
            out.extend(place.and_then(|(lat, lon)| Place::from_lat_lon_degrees(lat, lon)));
        }
        Some(inner) => inner.iter().for_each(|c| places(c, out)),
        None => {}
    }
}
