//! GeoJSON of sectors: the half-power wedge of each.

use geojson::{Feature, FeatureCollection};
use serde_json::{Value, json};

use crate::{
    export::{
        features::{area, feature, north, written},
        rounded,
    },
    geodesy::destination,
    north::TrueSector,
    observe::{Beam, Level},
    region::Ring,
    units::{Angle, Metres},
};

/// Sectors as a GeoJSON feature collection, one line per feature. Coordinates are WGS 84, longitude first.
///
/// Every feature has `kind` `sector` and the wedge between its half-power directions out to `radius` as geometry (a disc for
/// an antenna that looks in all directions). `radius` is taken between 1 m and 1000 km.
pub fn sectors(sectors: &[TrueSector], radius: Metres) -> String {
    written(&FeatureCollection { bbox: None, features: wedges(sectors, radius), foreign_members: None })
}

/// One feature for each sector.
pub(super) fn wedges(sectors: &[TrueSector], radius: Metres) -> Vec<Feature> {
    // A radius that is no number is no more than the least.
    let radius = Metres::new(if radius.value() >= 1.0 { radius.value().min(1e6) } else { 1.0 });
    sectors
        .iter()
        .map(|sector| {
            feature(area(std::iter::once((outline(sector, radius), Vec::new()))), properties(sector))
        })
        .collect()
}

/// The mast and an arc of a point every five degrees or closer, or the whole circle without the mast.
fn outline(sector: &TrueSector, radius: Metres) -> Ring {
    let from = sector.sector().at;
    let at = |degrees: f64| destination(from, Angle::degrees(degrees), radius).0;
    let Some((azimuth, beamwidth)) = sector.axis() else {
        return (0..72).map(|k| at(-5.0 * f64::from(k))).collect();
    };
    let (middle, width) = (azimuth.to_degrees(), beamwidth.to_degrees());
    let steps = (width / 5.0).ceil().clamp(2.0, 72.0);
    let arc = (0..=steps as u32).map(|k| at(middle + width * (0.5 - f64::from(k) / steps)));
    std::iter::once(from).chain(arc).collect()
}

fn properties(sector: &TrueSector) -> Value {
    let read = sector.sector();
    let (heard, level) = match read.interference {
        Level::Measured(level) => ("above the floor", Some(level)),
        Level::BelowFloor(level) => ("not above", Some(level)),
        Level::OffAir => ("off", None),
    };
    let written = match read.beam {
        Beam::Sector { azimuth, north: from, .. } => Some((azimuth, north(from))),
        Beam::Omni => None,
    };
    let number = |value: Option<f64>| value.map_or(Value::Null, |v| rounded(v, 2));
    json!({
        "kind": "sector",
        "name": read.id,
        "id": read.id,
        "site": read.site,
        "read_deg": number(written.map(|w| w.0.to_degrees())),
        "north": written.map(|w| w.1),
        "true_deg": number(sector.axis().map(|a| a.0.to_degrees())),
        "beamwidth_deg": number(sector.axis().map(|a| a.1.to_degrees())),
        "interference": heard,
        "interference_dbm": number(level.map(|l| l.value())),
        "rise_db": number(read.rise.map(|r| r.value())),
        "floor_dbm": number(read.floor.map(|f| f.value())),
        "time_utc": read.time.as_ref().map(ToString::to_string),
        "remarks": read.remarks,
        "origin": read.origin().to_string(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{geodesy::course, ingest, north};

    /// Every point of the arc lies at the radius and within half the beamwidth of the azimuth; the edges lie at half of it.
    #[test]
    fn a_wedge_spans_its_half_power_beamwidth() {
        let text =
            "lat,lon,azimuth_deg_true,beamwidth_deg,interference_dbm\n47,8,350,65,-90\n47,8,,omni,-90\n";
        let read = ingest::sectors("x", text.as_bytes(), &ingest::Settings::default());
        let found = north::resolve_sectors(&read.rows, &north::Settings::default()).sectors;
        let ring = outline(&found[0], Metres::km(5.0));
        let from = found[0].sector().at;
        assert_eq!(ring[0], from);
        let off = |i: usize| {
            let course = course(from, ring[i]);
            assert!((course.distance.value() - 5000.0).abs() < 1e-6);
            course.departure.miss_from(Angle::degrees(350.0)).to_degrees()
        };
        assert!((off(1) - 32.5).abs() < 1e-9 && (off(ring.len() - 1) + 32.5).abs() < 1e-9);
        assert!((1..ring.len()).all(|i| off(i).abs() <= 32.5 + 1e-9));
        assert_eq!(outline(&found[1], Metres::km(5.0)).len(), 72);
    }

    /// RFC 7946 wants outer rings counter-clockwise, and every feature its kind.
    #[test]
    fn the_collection_is_geojson_with_rings_in_the_right_sense() {
        let text = "sector,lat,lon,azimuth_deg_true,beamwidth_deg,interference_dbm\nA,-17,179.99,90,65,-90\n";
        let read = ingest::sectors("x", text.as_bytes(), &ingest::Settings::default());
        let found = north::resolve_sectors(&read.rows, &north::Settings::default()).sectors;
        let written = sectors(&found, Metres::km(30.0));
        let value: Value = serde_json::from_str(&written).unwrap();
        let feature = &value["features"][0];
        assert_eq!(
            (&feature["properties"]["kind"], &feature["properties"]["id"]),
            (&json!("sector"), &json!("A"))
        );
        let polygons = feature["geometry"]["coordinates"].as_array().unwrap();
        assert_eq!(polygons.len(), 2, "cut at the 180° meridian");
        for polygon in polygons {
            let ring: Vec<(f64, f64)> = polygon[0]
                .as_array()
                .unwrap()
                .iter()
                .map(|p| (p[0].as_f64().unwrap(), p[1].as_f64().unwrap()))
                .collect();
            let doubled: f64 = ring.windows(2).map(|w| w[0].0 * w[1].1 - w[1].0 * w[0].1).sum();
            assert!(doubled > 0.0, "counter-clockwise: {doubled}");
        }
    }
}
