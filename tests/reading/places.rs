//! One stand in every notation that people use.

use azimark::{
    geodesy::{GridFrame, Place, course},
    ingest::{Settings, StatedGrid, bearings},
    observe::{NorthReference, ReadBearing},
};

/// 46.955° N 118.36° W = 46°57.3' N 118°21.6' W = 46°57'18" N 118°21'36" W, by hand; in UTM zone 11
/// 396519.0874 E 5201061.0688 N (pyproj 3.7.2, PROJ 9.5.1), in MGRS 11TLN9651901061 (mgrs 1.6.0, after GEOTRANS).
const LAT: f64 = 46.955;
const LON: f64 = -118.36;

fn one(text: &str, settings: &Settings) -> ReadBearing {
    let mut read = bearings("x", text.as_bytes(), settings);
    assert_eq!(read.rows.len(), 1, "{text}: {:#?}", read.findings);
    read.rows.remove(0)
}

fn metres_off(row: &ReadBearing) -> f64 {
    course(row.stand.at, Place::from_lat_lon_degrees(LAT, LON).unwrap()).distance.value()
}

/// Latitude and longitude hold to rounding: 1e-12° is a ten-thousandth of a millimetre.
#[test]
fn degrees_in_two_columns_give_the_stand() {
    for (lat, lon) in [
        ("46.955", "-118.36"),
        ("46,955", "−118,36"),
        ("+46.955", "-118.36000"),
        ("46.955 N", "118.36 W"),
        ("N46.955", "W 118.36"),
        ("46.955°", "-118.36°"),
        ("46 57.3", "-118 21.6"),
        ("46°57.3'N", "118°21.6'W"),
        ("46°57,3′ N", "118°21,6′ W"),
        ("N 46° 57.3'", "W 118° 21.6'"),
        ("46d57.3m", "-118d21.6m"),
        ("46 57 18", "-118 21 36"),
        ("46 57 18 N", "118 21 36 W"),
        ("46°57'18\"N", "118°21'36\"W"),
        ("46°57′18″N", "118°21′36″W"),
        ("46°57'18''N", "118°21'36''W"),
        ("46º 57’ 18.0” n", "118º 21’ 36.0” w"),
        ("46d57m18s N", "118d21m36s W"),
        ("46:57:18N", "118:21:36W"),
    ] {
        let row = one(&format!("lat;lon;bearing\n{lat};{lon};55T\n"), &Settings::default());
        assert!(metres_off(&row) < 1e-6, "{lat}, {lon}: {:?}", row.stand.at);
        assert_eq!(row.stand.sigma, None);
    }
}

#[test]
fn degrees_in_one_cell_give_the_stand() {
    for cell in [
        "46.955, -118.36",
        "46.955 -118.36",
        "46.955/-118.36",
        "46.955,-118.36",
        "46,955; -118,36",
        "46.955 N 118.36 W",
        "46.955N,118.36W",
        "N 46.955 W 118.36",
        "N46.955, W118.36",
        "46°57.3'N 118°21.6'W",
        "46 57.3 N, 118 21.6 W",
        "46°57'18\"N 118°21'36\"W",
        "46 57 18 N 118 21 36 W",
        "N 46 57 18 W 118 21 36",
        "46d57m18s N 118d21m36s W",
        "N46d57m18s W118d21m36s",
        "46:57:18N 118:21:36W",
    ] {
        let text = format!("position\tbearing\n\"{}\"\t55T\n", cell.replace('"', "\"\""));
        let row = one(&text, &Settings::default());
        assert!(metres_off(&row) < 1e-6, "{cell}: {:?}", row.stand.at);
    }
}

/// UTM to the tenth of a millimetre.
#[test]
fn utm_gives_the_stand_and_its_grid() {
    let (e, n) = ("396519.0874", "5201061.0688");
    let mut texts: Vec<String> =
        ["11T", "11 north", "UTM 11T", "UTM zone 11N", "zone 11 nord", "EPSG:32611", "32611"]
            .iter()
            .flat_map(|zone| {
                [
                    format!("easting,northing,zone,bearing\n{e},{n},{zone},55G\n"),
                    format!("UTM,bearing\n{zone} {e} {n},55G\n"),
                    format!("position,bearing\n{zone} {e}E {n}N,55G\n"),
                    format!("position,bearing\n{zone} {n}mN {e}mE,55G\n"),
                ]
            })
            .collect();
    texts.push("rechtswert;hochwert;zone;epsg;peilung\n396519,0874;5201061,0688;11T;32611;55G\n".to_owned());
    texts.push("este_km,northing_km,huso,rumbo\n396.5190874,5201.0610688,11T,55G\n".to_owned());
    texts.push("x_ft,y_ft,zone,bearing\n1300915.6411,17063848.6509,11T,55G\n".to_owned());
    for text in texts {
        let row = one(&text, &Settings::default());
        assert!(metres_off(&row) < 1e-4, "{text}: {} m", metres_off(&row));
        assert_eq!(row.north, NorthReference::Grid(GridFrame::Utm { zone: 11 }), "{text}");
    }
    let stated = Settings { grid: StatedGrid::from_text("UTM 11 north"), ..Settings::default() };
    let row = one(&format!("x,y,bearing\n{e},{n},55G\n"), &stated);
    assert!(metres_off(&row) < 1e-4);
}

/// The southern hemisphere by its word, by a band, and by S where no northing of band S fits. Flinders Peak, GDA technical
/// manual: 55H 273741.297 E 5796489.777 N is 37°57'03.7203" S 144°25'29.5244" E.
#[test]
fn the_southern_hemisphere_is_told_by_word_band_and_letter() {
    for zone in ["55H", "55 south", "55 sur", "55S", "EPSG:32755"] {
        let row = one(
            &format!("easting,northing,zone,bearing\n273741.297,5796489.777,{zone},55T\n"),
            &Settings::default(),
        );
        let peak = Place::from_lat_lon_degrees(
            -(37.0 + 57.0 / 60.0 + 3.7203 / 3600.0),
            144.0 + 25.0 / 60.0 + 29.5244 / 3600.0,
        );
        // The manual prints millimetres.
        assert!(course(row.stand.at, peak.unwrap()).distance.value() < 1e-3, "{zone}: {:?}", row.stand.at);
    }
}

/// A square stands for its middle, and for an error of its side / √12 in each direction (a uniform distribution).
#[test]
fn grid_squares_give_the_stand_within_their_half_diagonal() {
    for (cell, side) in [
        ("11TLN9651901061", 1.0),
        ("11T LN 96519 01061", 1.0),
        ("11tln96510106", 10.0),
        ("11TLN965010", 100.0),
        ("11TLN9601", 1_000.0),
    ] {
        let row = one(&format!("mgrs,bearing\n{cell},55G\n"), &Settings::default());
        assert!(metres_off(&row) < 0.708 * side, "{cell}: {} m", metres_off(&row));
        let sigma = row.stand.sigma.map(|s| s.to_metres());
        let stated = (side > 50.0).then(|| side / 12f64.sqrt());
        assert_eq!(sigma.map(|s| (1e6 * s).round()), stated.map(|s| (1e6 * s).round()), "{cell}");
    }
}

/// Codes of the same place by the reference implementation (openlocationcode 1.0.1 for Python): 1/8000° and 1/40000° by 1/32000°.
#[test]
fn plus_codes_give_the_stand_within_their_half_diagonal() {
    for (column, cell, half_diagonal) in
        [("plus code", "85R3XJ4R+22", 8.5), ("position", "85R3XJ4R+222", 1.9)]
    {
        let row = one(&format!("{column},bearing\n{cell},55T\n"), &Settings::default());
        assert!(metres_off(&row) < half_diagonal, "{cell}: {} m", metres_off(&row));
    }
    let read = bearings("x", b"position,bearing\nXJ4V+C8,55T\n", &Settings::default());
    assert!(read.rows.is_empty());
    assert!(
        read.findings
            .iter()
            .any(|f| f.code == "coordinate" && f.to_string().contains("write the whole code"))
    );
}

/// Places by pyproj 3.7.2 (PROJ 9.5.1) with its own choice of operation: Bern (Swiss LV95), Munich (ETRS89 / UTM 32N),
/// Washington State (south zone, US survey feet). Easting and northing to the millimetre; 1e-8° is a millimetre.
#[cfg(feature = "epsg")]
#[test]
fn grids_of_the_register_agree_with_an_independent_reading() {
    for (code, easting, northing, lat, lon, accuracy) in [
        (2056, "2599999.816", "1199999.693", 46.951_080_010_333_34, 7.438_630_003_874_702, 1.0),
        (25832, "691875.824", "5335949.633", 48.147_829_998_104_45, 11.579_689_995_496_341, 1.0),
        (2286, "1900003.595", "300000.895", 46.151_389_998_743_16, -119.475_699_998_190_95, 4.0),
    ] {
        for text in [
            format!("easting,northing,epsg,bearing\n{easting},{northing},{code},55G\n"),
            format!("position,bearing\nEPSG:{code} {easting} {northing},55G\n"),
        ] {
            let read = bearings("x", text.as_bytes(), &Settings::default());
            let [row] = &read.rows[..] else { panic!("{text}: {:?}", read.findings) };
            assert!((row.stand.at.lat_degrees() - lat).abs() < 1e-8, "{text}: {:?}", row.stand.at);
            assert!((row.stand.at.lon_degrees() - lon).abs() < 1e-8, "{text}: {:?}", row.stand.at);
            assert_eq!(row.north, NorthReference::Grid(GridFrame::Epsg(code)));
            let [told] = &read.findings[..] else { panic!("{:?}", read.findings) };
            assert_eq!(told.code, "grid-operation");
            assert!(told.message.contains(&format!("(accurate to {accuracy} m)")), "{told}");
        }
    }
}

/// Swapped coordinates, those of the grid of 1903, and feet taken for metres do not become a place elsewhere.
#[cfg(feature = "epsg")]
#[test]
fn positions_that_do_not_belong_to_a_grid_are_refused() {
    for (text, code, part) in [
        ("x,y,epsg,bearing\n1199999,2599999,2056,55\n", "grid-position", "lies outside"),
        ("x,y,epsg,bearing\n600000,200000,2056,55\n", "grid-position", "lies outside"),
        (
            "x_m,y_m,epsg,bearing\n1900003,300000,2286,55\n",
            "grid-unit",
            "the unit of EPSG:2286 is 0.304800609601219 m",
        ),
        ("x_ft,y_ft,epsg,bearing\n2599999,1199999,2056,55\n", "grid-unit", "the unit of EPSG:2056 is 1 m"),
        // S-JTSK / Krovak counts south and west.
        ("x,y,epsg,bearing\n700000,1000000,5513,55\n", "grid-position", "eastings and northings"),
    ] {
        let north = Settings { north: Some(azimark::ingest::NorthLabel::True), ..Settings::default() };
        let read = bearings("x", text.as_bytes(), &north);
        let [found] = &read.findings[..] else { panic!("{text}: {:?}", read.findings) };
        assert_eq!((found.code, read.rows.len()), (code, 0), "{text}");
        assert!(found.message.contains(part), "{found}");
    }
    for unit in ["ft", "feet"] {
        let text = format!("x_{unit},y_{unit},epsg,bearing\n1900003.595,300000.895,2286,55T\n");
        one(&text, &Settings::default());
    }
}
