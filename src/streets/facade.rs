//! Façades: the sides of a map's buildings, which reflect.

use crate::{
    finding::Finding,
    geodesy::{Place, Plane},
    ingest::{self, Mapped, Shape},
    streets::tags,
};

/// A side of a building.
#[derive(Clone, Debug, PartialEq)]
pub struct Facade {
    /// Name of the building, else its address, else `building` with the number of its feature.
    pub name: String,
    /// Its ends; outside lies to the left of the way from the first to the second.
    pub ends: [Place; 2],
}

/// Sides shorter than this are corners and bays, metres.
const LEAST_M: f64 = 2.0;

/// The façades of the buildings of a GeoJSON map, and what was found in reading it. Outlines that the map does not call buildings
/// (parks, water) have none.
pub fn facades(name: &str, bytes: &[u8]) -> (Vec<Facade>, Vec<Finding>) {
    let reading = ingest::town(name, bytes);
    (reading.rows.iter().flat_map(of).collect(), reading.findings)
}

/// The sides of one thing; none unless it is a building.
fn of(thing: &Mapped) -> Vec<Facade> {
    let Shape::Area(ring) = &thing.shape else { return Vec::new() };
    let built = tags::building(&thing.tags) || tags::metal(&thing.tags);
    let plane = if built && ring.len() > 2 { Plane::centred_on(ring) } else { None };
    let Some(plane) = plane else { return Vec::new() };
    let points: Vec<_> = ring.iter().map(|p| plane.to_plane(*p)).collect();
    let next = |i: usize| (i + 1) % ring.len();
    let twice_area: f64 = (0..ring.len())
        .map(|i| points[i].east * points[next(i)].north - points[next(i)].east * points[i].north)
        .sum();
    let long = |i: &usize| {
        let (a, b) = (points[*i], points[next(*i)]);
        (a.east - b.east).hypot(a.north - b.north) >= LEAST_M
    };
    let name = named(thing);
    // Counter-clockwise, the inside lies to the left: then the way is the other one.
    let ends = |i: usize| if twice_area > 0.0 { [ring[next(i)], ring[i]] } else { [ring[i], ring[next(i)]] };
    (0..ring.len()).filter(long).map(|i| Facade { name: name.clone(), ends: ends(i) }).collect()
}

fn named(thing: &Mapped) -> String {
    let tag = |key: &str| thing.tags.get(key).map(|v| v.trim()).filter(|v| !v.is_empty());
    match (tag("name"), tag("addr:street"), tag("addr:housenumber")) {
        (Some(name), ..) => name.to_owned(),
        (None, Some(street), Some(number)) => format!("{street} {number}"),
        _ => format!("building {}", thing.number),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A square of about 100 m whose ring runs either way: the east side's outside is east, so that its way leads south.
    #[test]
    fn outside_lies_to_the_left_whichever_way_the_ring_runs() {
        let corners = ["[8.0,47.0]", "[8.0013,47.0]", "[8.0013,47.0009]", "[8.0,47.0009]"];
        for turned in [false, true] {
            let mut ring: Vec<&str> = corners.to_vec();
            if turned {
                ring.reverse();
            }
            ring.push(ring[0]);
            let map = format!(
                r#"{{"type":"FeatureCollection","features":[
                {{"type":"Feature","properties":{{"building":"yes","addr:street":"Elm Street","addr:housenumber":7}},
                 "geometry":{{"type":"Polygon","coordinates":[[{}]]}}}},
                {{"type":"Feature","properties":{{"leisure":"park"}},
                 "geometry":{{"type":"Polygon","coordinates":[[{0}]]}}}}]}}"#,
                ring.join(",")
            );
            let (found, findings) = facades("town.geojson", map.as_bytes());
            assert!(findings.is_empty(), "{findings:?}");
            assert_eq!(found.len(), 4, "a park reflects nothing");
            let east = |f: &&Facade| f.ends.iter().all(|e| e.lon_degrees() > 8.001);
            let east: Vec<&Facade> = found.iter().filter(east).collect();
            assert_eq!((east.len(), east[0].name.as_str()), (1, "Elm Street 7"));
            assert!(east[0].ends[0].lat_degrees() > east[0].ends[1].lat_degrees());
        }
    }
}
