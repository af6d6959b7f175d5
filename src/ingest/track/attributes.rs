//! The place of a point of GPX, which stands in its attributes.

use quick_xml::events::BytesStart;

use crate::{
    finding::{Finding, Origin, clipped},
    geodesy::Place,
    ingest::{log::Log, track::xsd::number},
};

/// The place of a point's attributes; `None` after a refusal.
pub fn place(element: &BytesStart, point: &Origin, log: &mut Log) -> Option<Place> {
    let (mut lat, mut lon, mut bad) = (None, None, None);
    // The check for attributes that occur twice would compare each with all others.
    for attribute in element.attributes().with_checks(false) {
        let Ok(attribute) = attribute else {
            bad = Some(("attributes", String::new()));
            break;
        };
        let (slot, name) = match attribute.key.as_ref() {
            "lat" => (&mut lat, "lat"),
            "lon" => (&mut lon, "lon"),
            _ => continue,
        };
        let value = number(&attribute.value);
        if slot.is_some() || value.is_none() {
            bad = Some((name, attribute.value.clone().into_owned()));
        }
        *slot = value;
    }
    let range = |v: Option<f64>, most: f64| v.is_some_and(|v| v.abs() <= most);
    let missing = |name, v: Option<f64>| (name, v.map_or(String::new(), |v| v.to_string()));
    let bad = bad
        .or_else(|| (!range(lat, 90.0)).then(|| missing("lat", lat)))
        .or_else(|| (!range(lon, 180.0)).then(|| missing("lon", lon)));
    if let Some((field, value)) = bad {
        let at = Origin { field: Some(field.to_owned()), value: Some(clipped(&value)), ..point.clone() };
        let message = "the point has no place: lat within 90 and lon within 180 degrees, once each";
        log.tell_row(Finding::refused("gpx-place", message).at(at).hint("the point is not used"));
        return None;
    }
    Place::from_lat_lon_degrees(lat?, lon?)
}
