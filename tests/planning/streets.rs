//! The graph of streets: junctions, lengths, walks, islands, hazards.

use azimark::{
    finding::Finding,
    geodesy::{Place, PlanePoint, course, destination},
    numeric::random::Random,
    streets::{HazardKind, Pace, Streets},
    units::{Angle, Metres},
};

const TOWN: &[u8] = include_bytes!("../../maps/demo-town.geojson");

fn middle() -> Place {
    Place::from_lat_lon_degrees(47.0, 8.0).unwrap()
}

/// So many metres east and north of the middle.
pub fn at(east: f64, north: f64) -> Place {
    let azimuth = Angle::radians(east.atan2(north));
    destination(middle(), azimuth, Metres::new(east.hypot(north))).0
}

/// A feature of a line through points given in metres.
pub fn street(tags: &str, points: &[(f64, f64)]) -> String {
    let positions: Vec<String> = points
        .iter()
        .map(|p| at(p.0, p.1).lon_lat())
        .map(|[lon, lat]| format!("[{lon:.9},{lat:.9}]"))
        .collect();
    format!(
        r#"{{"type":"Feature","properties":{{{tags}}},"geometry":{{"type":"LineString","coordinates":[{}]}}}}"#,
        positions.join(",")
    )
}

pub fn town(features: &[String]) -> (Streets, Vec<Finding>) {
    let text = format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","));
    Streets::read("town.geojson", text.as_bytes())
}

/// Streets every `pitch` metres, `n` blocks along each side, each drawn as one line.
pub fn grid(n: usize, pitch: f64) -> Vec<String> {
    let far = n as f64 * pitch;
    (0..=n)
        .flat_map(|i| {
            let x = i as f64 * pitch;
            [
                street(&format!(r#""highway":"residential","name":"Street {i}""#), &[(x, 0.0), (x, far)]),
                street(&format!(r#""highway":"residential","name":"Avenue {i}""#), &[(0.0, x), (far, x)]),
            ]
        })
        .collect()
}

fn codes(findings: &[Finding]) -> Vec<&str> {
    findings.iter().map(|f| f.code).collect()
}

/// The points of a walk lie along streets, and their way is as long as its minutes say: on a grid, and in the demo town.
#[test]
fn the_points_of_a_walk_are_as_far_apart_as_its_minutes_say() {
    let mut random = Random::seeded(3);
    let whole = Streets::read("demo-town.geojson", TOWN).0;
    for (streets, walks) in [(town(&grid(6, 100.0)).0, 60), (whole, 60)] {
        let nodes = streets.nodes();
        for k in 0..walks {
            let mut near = || {
                let node = &nodes[random.index(nodes.len())];
                let aside = Metres::new(if k % 3 == 0 { 0.0 } else { random.between(0.0, 80.0) });
                destination(node.place, Angle::degrees(random.between(0.0, 360.0)), aside).0
            };
            let (from, on) = (near(), streets.nearest(near()).unwrap());
            let reach = streets.reach(from, Pace::WALKING).unwrap();
            let Some(minutes) = reach.to(&streets, on) else { continue };
            let way = reach.way(&streets, on).unwrap();
            let length: f64 =
                way.windows(2).map(|w| (w[0].east - w[1].east).hypot(w[0].north - w[1].north)).sum();
            let off = reach.start.off.value() + on.off.value();
            assert!(
                (length + off - minutes * Pace::WALKING.value()).abs() < 1e-6,
                "{length} {off} {minutes}"
            );
            let ends = [(way[0], reach.start.point), (way[way.len() - 1], on.point)];
            assert!(ends.iter().all(|(a, b)| (a.east - b.east).hypot(a.north - b.north) < 1e-6), "{ends:?}");
            let astray = |p: &PlanePoint| streets.nearest_point(*p).unwrap().off.value() > 1e-6;
            assert!(!way.iter().any(astray), "{way:?}");
        }
    }
}

/// 7 streets and 7 avenues cross: 49 junctions. The roads out of town end at junctions or cross them.
#[test]
fn the_demo_town_connects_although_its_streets_share_no_coordinate() {
    let (streets, findings) = Streets::read("town.geojson", TOWN);
    assert_eq!(streets.islands().len(), 1, "{findings:?}");
    assert!(codes(&findings).is_empty(), "{findings:?}");
    let corners = (0..streets.nodes().len()).filter(|n| streets.at_node(*n).len() == 4).count();
    assert!(corners >= 25, "{corners}");
    let named = |a: &str, b: &str| {
        (0..streets.nodes().len()).find(|n| {
            let names = streets.names_at(*n);
            names.contains(&a) && names.contains(&b)
        })
    };
    assert!(named("Birch Street", "2nd Avenue").is_some());
    assert!(named("Birch Street", "Cedar Street").is_none());
    let metal: Vec<&str> = streets.reflectors().map(|o| o.name.as_str()).collect();
    assert_eq!(metal.len(), 5, "{metal:?}");
    assert!(streets.hazards().iter().any(|h| h.kind == HazardKind::Railway));
}

/// On a grid the shortest walk is the sum of both differences.
#[test]
fn walks_on_a_grid_have_its_city_block_lengths() {
    let (streets, findings) = town(&grid(6, 100.0));
    assert!(findings.is_empty(), "{findings:?}");
    assert_eq!((streets.nodes().len(), streets.edges().len()), (49, 84));
    // Positions with nine decimals are 0.1 mm; over 84 edges they cannot add up to a centimetre.
    assert!((streets.length().value() - 8_400.0).abs() < 0.01);
    let pace = Pace::metres_a_minute(50.0).unwrap();
    let start = at(130.0, -20.0);
    let reach = streets.reach(start, pace).unwrap();
    assert!((reach.start.off.value() - 20.0).abs() < 1e-3);
    for (i, node) in streets.nodes().iter().enumerate() {
        let p = course(middle(), node.place);
        let (sin, cos) = p.departure.to_radians().sin_cos();
        let (east, north) = (p.distance.value() * sin, p.distance.value() * cos);
        let blocks = (east - 130.0).abs();
        assert!((reach.to_node(i).unwrap() - (20.0 + blocks + north) / 50.0).abs() < 1e-3, "{east} {north}");
        let path = reach.path_to(&streets, i);
        assert_eq!(path.first(), Some(&reach.start.edge));
        let across = streets.edges()[*path.last().unwrap()].to == i
            || streets.edges()[*path.last().unwrap()].from == i;
        assert!(across);
    }
    let other = streets.nearest(at(170.0, 0.0)).unwrap();
    assert!((reach.to(&streets, other).unwrap() - 60.0 / 50.0).abs() < 1e-3);
}

#[test]
fn bridges_do_not_meet_what_they_cross_but_what_they_end_at() {
    let features = [
        street(r#""highway":"residential","name":"Low Road""#, &[(-100.0, 0.0), (100.0, 0.0)]),
        street(
            r#""highway":"secondary","bridge":"yes","layer":"1","name":"High Bridge""#,
            &[(0.0, -50.0), (0.0, 50.0)],
        ),
        street(r#""highway":"secondary","name":"High Road""#, &[(0.0, 50.0), (0.0, 300.0)]),
    ];
    let (streets, findings) = town(&features);
    assert_eq!(streets.edges().len(), 3);
    let islands = streets.islands();
    assert_eq!(islands.len(), 2);
    assert!((islands[0].length.value() - 350.0).abs() < 0.01);
    assert_eq!(codes(&findings), ["streets-apart"]);
    assert!(findings[0].message.contains("200 m of Low Road"), "{}", findings[0].message);
    assert!(
        streets.minutes_from(at(-100.0, 0.0), Pace::WALKING).iter().filter(|m| m.is_finite()).count() == 2
    );
}

#[test]
fn an_end_within_a_metre_of_a_street_meets_it_and_one_farther_off_does_not() {
    let main = street(r#""highway":"residential","name":"Main""#, &[(-100.0, 0.0), (100.0, 0.0)]);
    for (gap, edges, islands) in [(0.6, 3, 1), (1.5, 2, 2)] {
        let side = street(r#""highway":"footway""#, &[(10.0, gap), (10.0, 80.0)]);
        let (streets, findings) = town(&[main.clone(), side]);
        assert_eq!((streets.edges().len(), streets.islands().len()), (edges, islands), "{gap}");
        assert!(streets.edges().iter().any(|e| e.name == "unnamed footway"));
        let told = findings.iter().any(|f| f.message.contains("2 m away"));
        assert_eq!(told, islands == 2, "{findings:?}");
    }
}

#[test]
fn what_nobody_walks_is_no_street_and_what_is_drawn_twice_counts_once() {
    let main = || street(r#""highway":"residential","name":"Main""#, &[(-100.0, 0.0), (100.0, 0.0)]);
    let features = [
        main(),
        main(),
        street(r#""highway":"motorway""#, &[(0.0, -90.0), (0.0, 90.0)]),
        street(r#""highway":"track","access":"private""#, &[(20.0, -90.0), (20.0, 90.0)]),
        street(r#""power":"line""#, &[(50.0, -90.0), (50.0, 90.0)]),
        street(r#""barrier":"fence","keep_off_m":25"#, &[(-50.0, -90.0), (-50.0, 90.0)]),
        street(r#""waterway":"river""#, &[(80.0, -90.0), (80.0, 90.0)]),
    ];
    let (streets, findings) = town(&features);
    assert_eq!(streets.edges().len(), 1);
    assert_eq!(codes(&findings), ["ways-closed", "streets-twice"]);
    let point = |x: f64| streets.plane().to_plane(at(x, 0.0));
    let kinds: Vec<HazardKind> = streets.hazards().iter().map(|h| h.kind).collect();
    assert_eq!(kinds, [HazardKind::Power, HazardKind::Wire]);
    assert!(streets.hazards()[0].reaches(point(0.0)) && !streets.hazards()[0].reaches(point(-10.0)));
    assert!((streets.hazards()[1].distance(point(0.0)).value() - 50.0).abs() < 0.01);
    assert!((streets.hazards()[1].keep_off.value() - 25.0).abs() < 1e-12);
}

#[test]
fn maps_without_streets_and_broken_maps_are_told() {
    for (text, code) in [
        ("", "not-geojson"),
        (r#"{"type":"FeatureCollection","features":[]}"#, "no-streets"),
        ("lat,lon\n1,2\n", "not-geojson"),
    ] {
        let (streets, findings) = Streets::read("x", text.as_bytes());
        assert_eq!(codes(&findings), [code], "{text}");
        assert!(streets.reach(middle(), Pace::WALKING).is_none() && streets.islands().is_empty());
    }
    let outside = r#"{"type":"Feature","properties":{"highway":"path"},"geometry":{"type":"LineString","coordinates":[[8,47],[8,95]]}}"#;
    let (streets, findings) = town(&[outside.to_owned(), grid(1, 100.0)[0].clone()]);
    assert_eq!((streets.edges().len(), codes(&findings)), (1, vec!["position-out-of-range"]));
    let (streets, _) = town(&[street(r#""highway":"path""#, &[(0.0, 0.0), (0.0, 0.0)])]);
    assert!(streets.edges().is_empty());
}
