//! Base maps: what is drawn, and what is told of the rest.

use azimark::ingest::ground;

fn collection(geometries: &[&str]) -> String {
    let feature = |g: &&str| format!(r#"{{"type":"Feature","geometry":{g},"properties":null}}"#);
    let features: Vec<String> = geometries.iter().map(feature).collect();
    format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","))
}

#[test]
fn lines_and_outer_rings_are_drawn_and_the_rest_is_told() {
    let text = collection(&[
        r#"{"type":"LineString","coordinates":[[8,47],[9,48,400]]}"#,
        r#"{"type":"MultiLineString","coordinates":[[[8,47],[9,48]],[[8,46],[9,47]]]}"#,
        r#"{"type":"Polygon","coordinates":[[[8,47],[9,47],[9,48],[8,47]],[[8.5,47.1],[8.6,47.1],[8.5,47.2],[8.5,47.1]]]}"#,
        r#"{"type":"MultiPolygon","coordinates":[[[[8,47],[9,47],[9,48],[8,47]]],[[[7,47],[8,47],[8,48],[7,47]]]]}"#,
        r#"{"type":"Point","coordinates":[8,47]}"#,
        "null",
        r#"{"type":"LineString","coordinates":[[8,47],[900,47],[8,97]]}"#,
    ]);
    let (map, findings) = ground("map.geojson", text.as_bytes());
    assert_eq!(map.lines.iter().map(Vec::len).collect::<Vec<_>>(), [2, 2, 2, 1]);
    assert_eq!(map.areas.iter().map(Vec::len).collect::<Vec<_>>(), [4, 4, 4]);
    assert_eq!(map.lines[0][1].lon_lat(), [9.0, 48.0]);
    let told: Vec<String> = findings.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            "map.geojson: doubtful [positions-lost] 2 position(s) are not longitude and latitude and are not drawn",
            "map.geojson: assumed [features-passed-over] 2 feature(s) are neither lines nor outlines and are not drawn",
        ]
    );
}

#[test]
fn a_map_that_is_none_is_refused_and_a_broken_feature_costs_only_itself() {
    for (text, code) in [
        ("lat,lon\n1,2\n".to_owned(), "not-geojson"),
        ("%PDF".to_owned(), "not-text"),
        (String::new(), "not-geojson"),
        (r#"{"type":"Point","coordinates":[8,47]}"#.to_owned(), "not-geojson"),
    ] {
        let (map, findings) = ground("map", text.as_bytes());
        assert!(map.lines.is_empty() && map.areas.is_empty());
        assert_eq!(findings.iter().map(|f| f.code).collect::<Vec<_>>(), [code], "{text}");
    }
    let text = collection(&[
        r#"{"type":"LineString","coordinates":[[8,47],[9,"x"]]}"#,
        r#"{"type":"LineString","coordinates":[[8,47],[9,48]]}"#,
    ]);
    let (map, findings) = ground("map", text.as_bytes());
    assert_eq!((map.lines.len(), findings.len()), (1, 1));
    let place = findings[0].origin.as_ref().map(ToString::to_string);
    assert_eq!((findings[0].code, place), ("not-a-feature", Some("map, feature 1".to_owned())));
}
