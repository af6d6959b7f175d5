//! Path loss in free space and of the models for mobile networks.

use azimark::{
    radio::{
        City, Model, PathLossError, PowerLaw, Quantity, Scenario, Sight, Terrain, Village, free_space_loss,
    },
    units::{Hertz, Metres},
};

use super::{ROUNDING, anyhow, close, link, number, rows};

#[test]
fn free_space_has_its_known_losses() {
    // Computed with Python from c = 299 792 458 m/s: 32.4477832219 dB at 1 km and 1 MHz (32.4 in P.525, from memory).
    for (mhz, km, db) in [
        (1.0, 1.0, 32.447_783_221_9),
        (146.52, 1.0, 75.765_721_421_7),
        (2437.0, 0.2, 86.205_493_718_9),
        (433.92, 0.5, 79.175_376_665_6),
    ] {
        close(free_space_loss(Hertz::mhz(mhz), Metres::km(km)).value(), db, 1e-10);
        let found = Model::FreeSpace.loss(&link(mhz, km * 1e3, 2.0, 2.0)).unwrap();
        close(found.loss.value(), db, 1e-10);
        close(found.slope, 20.0, ROUNDING);
        close(found.exponent, 2.0, ROUNDING);
        close(found.intercept.value(), free_space_loss(Hertz::mhz(mhz), Metres::new(1.0)).value(), ROUNDING);
    }
    // The exponent is that of the slant distance, whatever the heights.
    let steep = Model::FreeSpace.loss(&link(433.92, 300.0, 400.0, 0.0)).unwrap();
    close(steep.loss.value(), 79.175_376_665_6, 1e-10);
    close(steep.exponent, 2.0, ROUNDING);
    close(steep.slope, 20.0 * 0.36, ROUNDING);
}

#[test]
fn a_power_law_starts_from_its_reference() {
    let law = PowerLaw::from_one_metre(Hertz::mhz(433.92), 3.2);
    let found = Model::PowerLaw(law).loss(&link(433.92, 100.0, 1.5, 1.5)).unwrap();
    let start = free_space_loss(Hertz::mhz(433.92), Metres::new(1.0)).value();
    // Two decades at 32 dB, by definition.
    close(found.loss.value(), start + 64.0, ROUNDING);
    close(found.exponent, 3.2, ROUNDING);
    close(found.intercept.value(), start, ROUNDING);
    let two = Model::PowerLaw(PowerLaw::from_one_metre(Hertz::mhz(433.92), 2.0));
    let free = Model::FreeSpace.loss(&link(433.92, 777.0, 9.0, 1.5)).unwrap();
    close(two.loss(&link(433.92, 777.0, 9.0, 1.5)).unwrap().loss.value(), free.loss.value(), ROUNDING);
    let wrong = Model::PowerLaw(PowerLaw { exponent: f64::NAN, ..law });
    assert_eq!(wrong.loss(&link(433.92, 100.0, 1.5, 1.5)), Err(PathLossError::Unusable(Quantity::Model)));
}

/// All rows of the file (fixtures/radio/SOURCE.md), printed to 1e-8.
#[test]
fn streets_and_towns_of_tr_38901_match_all_48_rows() {
    let rows = rows(include_str!("../../fixtures/radio/tr38901_pathloss.csv"));
    assert_eq!(rows.len(), 48);
    for row in rows {
        let scenario = match row[0].as_str() {
            "UMi-SC" => Scenario::StreetCanyon,
            "UMa" => Scenario::UrbanMacro,
            other => panic!("{other}"),
        };
        let sight = if row[1] == "LOS" { Sight::Clear } else { Sight::Blocked };
        let path = link(number(&row[2]) * 1e3, number(&row[3]), number(&row[4]), number(&row[5]));
        close(Model::Tr38901(scenario, sight).loss(&path).unwrap().loss.value(), number(&row[6]), 1e-6);
    }
}

/// READ in ns-3's test suite (src/propagation/test/three-gpp-propagation-loss-model-test-suite.cc, commit 0891fa91), 5 GHz,
/// lower antenna at 1.5 m, printed to 1e-4 dB. It puts 35 m, 25 m, 10 m and 3 m above; the suite itself allows 0.05 dB, and
/// prints but does not run its last six street values.
#[test]
fn country_towns_streets_and_offices_match_another_implementation() {
    type Row = (f64, f64);
    let country = Scenario::RuralMacro(Village::default());
    let cases: [(Scenario, f64, Sight, [Row; 4]); 8] = [
        (country, 35.0, Sight::Clear, [(10.0, 77.3784), (100.0, 87.2965), (1e3, 108.5577), (1e4, 140.3896)]),
        (
            country,
            35.0,
            Sight::Blocked,
            [(10.0, 77.3784), (100.0, 95.7718), (1e3, 133.5223), (5e3, 160.5169)],
        ),
        (
            Scenario::UrbanMacro,
            25.0,
            Sight::Clear,
            [(10.0, 72.9380), (100.0, 86.2362), (1e3, 109.7252), (5e3, 137.6794)],
        ),
        (
            Scenario::UrbanMacro,
            25.0,
            Sight::Blocked,
            [(10.0, 82.5131), (100.0, 106.1356), (1e3, 144.7641), (5e3, 172.0753)],
        ),
        (
            Scenario::StreetCanyon,
            10.0,
            Sight::Clear,
            [(10.0, 69.8591), (100.0, 88.4122), (1e3, 119.3114), (5e3, 147.2696)],
        ),
        (
            Scenario::StreetCanyon,
            10.0,
            Sight::Blocked,
            [(10.0, 76.7563), (100.0, 107.9432), (1e3, 143.1886), (5e3, 167.8617)],
        ),
        (
            Scenario::IndoorOffice,
            3.0,
            Sight::Clear,
            [(1.0, 50.8072), (10.0, 63.7630), (50.0, 75.7750), (100.0, 80.9802)],
        ),
        (
            Scenario::IndoorOffice,
            3.0,
            Sight::Blocked,
            [(1.0, 50.8072), (10.0, 73.1894), (50.0, 99.7824), (100.0, 111.3062)],
        ),
    ];
    for (scenario, upper, sight, values) in cases {
        for (metres, db) in values {
            let found = Model::Tr38901(scenario, sight).loss(&link(5000.0, metres, upper, 1.5)).unwrap();
            assert!((found.loss.value() - db).abs() <= 5.1e-5, "{scenario:?} {sight:?} {metres}: {found:?}");
        }
    }
}

#[test]
fn tr_38901_has_its_printed_exponents_and_shadowing() {
    // READ (tr3gpp 0.2.0, Table 7.4.1-1): dB per decade before and beyond the breakpoint, without sight, shadowing.
    let at = |scenario, sight, metres, upper| {
        let path = link(3500.0, metres, upper, 1.5);
        let model = Model::Tr38901(scenario, sight);
        (model.loss(&path).unwrap().exponent, model.shadowing(&path).unwrap().to_db())
    };
    let country = Scenario::RuralMacro(Village::default());
    for (scenario, sight, metres, upper, exponent, shadowing) in [
        (Scenario::StreetCanyon, Sight::Clear, 100.0, 10.0, 2.1, 4.0),
        (Scenario::StreetCanyon, Sight::Clear, 1000.0, 10.0, 4.0, 4.0),
        (Scenario::StreetCanyon, Sight::Blocked, 300.0, 10.0, 3.53, 7.82),
        (Scenario::UrbanMacro, Sight::Clear, 100.0, 25.0, 2.2, 4.0),
        (Scenario::UrbanMacro, Sight::Clear, 1000.0, 25.0, 4.0, 4.0),
        (Scenario::UrbanMacro, Sight::Blocked, 300.0, 25.0, 3.908, 6.0),
        (country, Sight::Clear, 8000.0, 35.0, 4.0, 6.0),
        (Scenario::IndoorOffice, Sight::Clear, 30.0, 3.0, 1.73, 3.0),
        (Scenario::IndoorOffice, Sight::Blocked, 30.0, 3.0, 3.83, 8.03),
    ] {
        let (found, sigma) = at(scenario, sight, metres, upper);
        close(found, exponent, 1e-12);
        close(sigma, shadowing, 0.0);
    }
    close(at(country, Sight::Clear, 500.0, 35.0).1, 4.0, 0.0);
    close(at(country, Sight::Blocked, 500.0, 35.0).1, 8.0, 0.0);
    // Without sight in the country: 43.42 − 3.1 log10 35 dB per decade, computed with Python.
    close(at(country, Sight::Blocked, 500.0, 35.0).0, 3.863_338_906_251_415, 1e-12);
}

/// Both slopes of streets and towns meet at the breakpoint; the country's have the report's own step, of less than
/// 40 log10(slant/ground), because it mixes two distances there.
#[test]
fn slopes_meet_at_the_breakpoint() {
    for (scenario, upper, edge) in [
        // 4 (h − 1)(1.5 − 1) f/c at 3.5 GHz with c = 3e8: 210 m and 560 m.
        (Scenario::StreetCanyon, 10.0, 210.0),
        (Scenario::UrbanMacro, 25.0, 560.0),
        // 2π · 35 · 1.5 · f/c, computed with Python.
        (Scenario::RuralMacro(Village::default()), 35.0, 3_848.451_000_647_496_6),
    ] {
        let at = |metres: f64| {
            Model::Tr38901(scenario, Sight::Clear).loss(&link(3500.0, metres, upper, 1.5)).unwrap()
        };
        let (before, beyond) = (at(edge * (1.0 - 1e-9)), at(edge * (1.0 + 1e-9)));
        // Just before: 2.1 and 2.2 as printed; in the country 2 + 0.03·5^1.72/10 + 0.0002 ln 10 · log10 5 · slant
        // distance, 3.287 (computed with Python). Beyond: 4 everywhere.
        let (start, step) = match scenario {
            Scenario::StreetCanyon => (2.1, 0.0),
            Scenario::UrbanMacro => (2.2, 0.0),
            _ => (3.2866069, 40.0 * (edge.hypot(upper - 1.5) / edge).log10()),
        };
        close(before.exponent, start, 1e-6);
        close(beyond.exponent, 4.0, 1e-12);
        // 2e-9 of a distance at 40 dB per decade is 4e-8 dB.
        close(beyond.loss.value(), before.loss.value(), step + 4e-8);
    }
}

/// Two terms stop growing with the buildings, at 10 and at 14.77 dB. Computed in Python from the formula as read in
/// tr3gpp 0.2.0: 900 MHz, antennas at 60 and 2 m, buildings of 50 m, before and beyond the breakpoint at 2262 m.
#[test]
fn high_buildings_count_no_more_than_the_table_lets_them() {
    let village = Village::new(Metres::new(50.0), Metres::new(20.0)).unwrap();
    let model = Model::Tr38901(Scenario::RuralMacro(village), Sight::Clear);
    for (metres, db) in [(300.0, 92.347_572_472_749_65), (9000.0, 149.067_819_011_546_25)] {
        close(model.loss(&link(900.0, metres, 60.0, 2.0)).unwrap().loss.value(), db, ROUNDING);
    }
}

/// A lower antenna at 8 m, where the terms in its height count (in all the rows above it stands at 1.5 m). Computed in Python
/// from the formulas as read in tr3gpp 0.2.0: 900 MHz, 3 km.
#[test]
fn streets_and_towns_know_the_height_of_the_lower_antenna() {
    for (scenario, upper, sight, db) in [
        (Scenario::StreetCanyon, 10.0, Sight::Clear, 115.877_761_248_391_15),
        (Scenario::StreetCanyon, 10.0, Sight::Blocked, 142.217_749_149_459_88),
        (Scenario::UrbanMacro, 25.0, Sight::Clear, 106.688_871_861_385_44),
        (Scenario::UrbanMacro, 25.0, Sight::Blocked, 144.611_021_317_411_1),
    ] {
        let found = Model::Tr38901(scenario, sight).loss(&link(900.0, 3000.0, upper, 8.0)).unwrap();
        close(found.loss.value(), db, ROUNDING);
    }
}

#[test]
fn villages_enter_as_the_formula_prints_them() {
    let at = |village| {
        let model = Model::Tr38901(Scenario::RuralMacro(village), Sight::Blocked);
        model.loss(&link(900.0, 2000.0, 35.0, 1.5)).unwrap().loss.value()
    };
    let wide = |w| Village::new(Metres::new(5.0), Metres::new(w)).unwrap();
    // −7.1 log10 W: streets twice as wide lose 7.1 log10 2 less.
    close(at(wide(10.0)) - at(wide(20.0)), 7.1 * 2f64.log10(), ROUNDING);
    // 7.5 log10 h + 3.7 (h/35)² log10 35 between buildings of 10 and 20 m; computed with Python.
    let high = |h| Village::new(Metres::new(h), Metres::new(20.0)).unwrap();
    close(at(high(20.0)) - at(high(10.0)), 3.656_839_685_217_659_7, ROUNDING);
    assert_eq!(Village::new(Metres::new(4.9), Metres::new(20.0)), None);
    assert_eq!(Village::new(Metres::new(5.0), Metres::new(51.0)), None);
}

fn hata_model(row: &[String]) -> Model {
    let city = if row[6] == "large" { City::Large } else { City::Small };
    match (row[0].as_str(), row[5].as_str()) {
        ("hata", "urban") => Model::Hata(Terrain::Urban, city),
        ("hata", "suburban") => Model::Hata(Terrain::Suburban, city),
        ("hata", "open") => Model::Hata(Terrain::Open, city),
        ("cost231", "urban") => Model::Cost231(city),
        other => panic!("{other:?}"),
    }
}

/// All rows of the file (fixtures/radio/SOURCE.md), printed to 1e-8. Its two rows at 2114 MHz lie outside COST 231's own
/// range, which must be said.
#[test]
fn hata_and_its_extension_match_all_50_rows() {
    let rows = rows(include_str!("../../fixtures/radio/hata_cost231.csv"));
    assert_eq!(rows.len(), 50);
    let mut outside = 0;
    for row in rows {
        let model = hata_model(&row);
        let path = link(number(&row[1]), number(&row[4]) * 1e3, number(&row[2]), number(&row[3]));
        close(anyhow(&model, &path).loss.value(), number(&row[7]), 1e-8);
        if let Err(PathLossError::Outside { breaches, .. }) = model.loss(&path) {
            assert_eq!(breaches.len(), 1);
            assert_eq!((breaches[0].quantity, breaches[0].value), (Quantity::Frequency, 2114e6));
            outside += 1;
        }
    }
    assert_eq!(outside, 2);
}

/// READ in ns-3's test suite of Okumura–Hata, 869 and 2114 MHz, antennas at 30 and 1 m, 2 km, with its own tolerance of
/// 0.1 dB. Its value for a large city at 2114 MHz, 148.55 dB, is no reference: it follows only when the −4.97 of the height
/// correction is left out, and it is asserted here that nothing else lies between it and the formula. Its open value is
/// 0.086 dB off the formula for a large city and 0.14 dB off that for a small one; the first is compared.
#[test]
fn hata_matches_another_implementation() {
    let near = link(869.0, 2000.0, 30.0, 1.0);
    for (terrain, city, db) in [
        (Terrain::Urban, City::Large, 137.93),
        (Terrain::Urban, City::Small, 137.88),
        (Terrain::Suburban, City::Small, 128.03),
        (Terrain::Open, City::Large, 109.66),
    ] {
        close(Model::Hata(terrain, city).loss(&near).unwrap().loss.value(), db, 0.1);
    }
    let far = link(2114.0, 2000.0, 30.0, 1.0);
    close(anyhow(&Model::Cost231(City::Small), &far).loss.value(), 150.64, 0.1);
    close(anyhow(&Model::Cost231(City::Large), &far).loss.value() - 4.97, 148.55, 0.1);
}

/// Between 200 and 400 MHz Hata gives no formula for a large city; that of the lower band is kept to 300 MHz. Computed in
/// Python: 50 and 3 m, 1 km.
#[test]
fn the_formula_for_a_large_city_changes_at_300_mhz() {
    for (mhz, db) in [
        (290.0, 107.924_467_322_599_06),
        (299.9, 108.305_840_041_831_62),
        (300.0, 108.181_882_254_081_4),
        (310.0, 108.554_412_141_319_56),
    ] {
        let found = Model::Hata(Terrain::Urban, City::Large).loss(&link(mhz, 1000.0, 50.0, 3.0)).unwrap();
        close(found.loss.value(), db, ROUNDING);
    }
}

#[test]
fn hata_falls_as_its_exponent_says() {
    // 44.9 − 6.55 log10 30 = 35.2249 dB per decade (from memory as 35.2).
    for (model, mhz) in
        [(Model::Hata(Terrain::Open, City::Small), 433.92), (Model::Cost231(City::Large), 1800.0)]
    {
        let found = model.loss(&link(mhz, 5000.0, 30.0, 1.5)).unwrap();
        close(found.slope, 44.9 - 6.55 * 30f64.log10(), ROUNDING);
        close(found.slope, 35.2, 0.05);
    }
}
