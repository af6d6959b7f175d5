//! Short paths, a knife edge, clutter.

use azimark::{
    radio::{
        Edge, Link, Model, Site, clutter_loss, free_space_loss, fresnel_parameter, knife_edge_approximation,
        knife_edge_loss,
    },
    units::{Confidence, Hertz, Metres},
};

use super::{ROUNDING, anyhow, close, link, number, rows};

/// Name in the file, row of the tables.
pub(crate) const SITES: [(&str, Site); 12] = [
    ("street_canyon LoS (", Site::StreetClear),
    ("street_canyon NLoS urban high-rise", Site::StreetBlockedHigh),
    ("street canyon NLoS low-rise", Site::StreetBlockedLow),
    ("street canyon NLoS residential", Site::StreetBlockedHouses),
    ("over-rooftop LoS", Site::RoofClear),
    ("over-rooftop NLoS", Site::RoofBlockedHigh),
    ("office LoS", Site::OfficeClear),
    ("office NLoS", Site::OfficeBlocked),
    ("corridor LoS", Site::CorridorClear),
    ("corridor NLoS", Site::CorridorBlocked),
    ("industrial LoS", Site::IndustryClear),
    ("industrial NLoS", Site::IndustryBlocked),
];

/// Coefficients, ranges and losses of all rows (fixtures/radio/SOURCE.md); losses are printed to 1e-8.
#[test]
fn short_paths_match_all_12_rows() {
    let rows = rows(include_str!("../../fixtures/radio/p1411_p1238_sitegeneral.csv"));
    assert_eq!(rows.len(), SITES.len());
    for row in rows {
        let site = SITES.iter().find(|(name, _)| row[1].starts_with(name)).unwrap().1;
        let c = site.coefficients();
        let ours = [c.alpha, c.beta, c.gamma, c.sigma];
        for (ours, theirs) in ours.iter().zip(&row[2..6]) {
            close(*ours, number(theirs), 0.0);
        }
        // The ranges stand in the name: "(0.8-82 GHz, 5-660 m)".
        let inside = row[1].rsplit('(').next().unwrap().trim_end_matches(')');
        let told: Vec<f64> = inside
            .split([',', '-'])
            .map(|part| number(part.trim().trim_end_matches(" GHz").trim_end_matches(" m")))
            .collect();
        assert_eq!(told, [c.ghz.from, c.ghz.to, c.metres.from, c.metres.to], "{}", row[1]);
        let path = link(number(&row[6]) * 1e3, number(&row[7]), 1.5, 1.5);
        let model = Model::SiteGeneral(site);
        let found = anyhow(&model, &path);
        close(found.loss.value(), number(&row[8]), 1e-8);
        close(found.exponent, c.alpha, 1e-12);
        close(model.shadowing(&path).unwrap().to_db(), c.sigma, 0.0);
    }
}

/// The frequency of P.1238 is in GHz: in sight, an office at 1 m and 1 GHz then loses 34.62 dB, 2.17 dB from free space's
/// 32.45; in MHz it would lose 60.9 dB more.
#[test]
fn short_paths_in_sight_start_near_free_space() {
    for (site, metres) in [(Site::StreetClear, 5.0), (Site::OfficeClear, 2.0), (Site::CorridorClear, 2.0)] {
        let path = link(1000.0, metres, 1.5, 1.5);
        let site = Model::SiteGeneral(site).loss(&path).unwrap();
        let free = Model::FreeSpace.loss(&path).unwrap();
        // Twice the largest standard deviation of the three rows.
        close(site.loss.value(), free.loss.value(), 2.0 * 5.06);
    }
}

/// All rows of the file (fixtures/radio/SOURCE.md): exact loss printed to 12 digits; the approximation likewise, but zero
/// below ν = −0.78.
#[test]
fn the_knife_edge_matches_all_14_rows() {
    let rows = rows(include_str!("../../fixtures/radio/knife_edge.csv"));
    assert_eq!(rows.len(), 14);
    for row in rows {
        let nu = number(&row[0]);
        close(knife_edge_loss(nu).value(), number(&row[1]), 1e-10);
        close(knife_edge_approximation(nu).value(), number(&row[2]), 1e-10);
    }
    // P.526 (from memory): the approximation is for ν > −0.78.
    close(knife_edge_approximation(-0.780_001).value(), 0.0, 0.0);
}

/// Computed with scipy 1.17.1 on 100,001 points: the largest difference for 0 ≤ ν ≤ 10 is −0.1231821 dB at ν = 4.571.
#[test]
fn the_approximation_of_p_526_misses_by_an_eighth_of_a_decibel() {
    let miss = |nu: f64| knife_edge_approximation(nu).value() - knife_edge_loss(nu).value();
    let worst = (0..=10_000)
        .map(|i| f64::from(i) * 1e-3)
        .map(miss)
        .fold(0.0, |a: f64, b| if b.abs() > a.abs() { b } else { a });
    // The difference is flat there: steps of 1e-3 in ν cost less than 1e-6 dB.
    close(worst, -0.123_182_1, 1e-6);
}

#[test]
fn the_textbook_edge_has_its_textbook_loss() {
    // Rappaport example 4.7 (from memory): λ = 1/3 m, 1 km either side, 25 m: ν = 2.74, about 21.7 dB; 6 dB for 0 m.
    let f = Hertz::new(3.0 * 299_792_458.0);
    let nu = fresnel_parameter(Metres::new(25.0), Metres::km(1.0), Metres::km(1.0), f);
    close(nu, 2.74, 0.005);
    close(knife_edge_loss(nu).value(), 21.7, 0.05);
    close(knife_edge_loss(0.0).value(), 6.0, 0.05);
    // Computed with scipy: ν, exact, approximate.
    close(nu, 2.738_612_8, 5e-8);
    close(knife_edge_loss(nu).value(), 21.740_892, 5e-7);
    close(knife_edge_approximation(nu).value(), 21.644_431, 5e-7);
    // The same as a path: antennas at 10 m, the top at 35 m, half-way.
    let edge = Edge { top: Metres::new(35.0), from_upper: Metres::km(1.0) };
    let path =
        Link { frequency: f, distance: Metres::km(2.0), upper: Metres::new(10.0), lower: Metres::new(10.0) };
    let over = Model::KnifeEdge(edge).loss(&path).unwrap().loss.value();
    close(over - free_space_loss(f, Metres::km(2.0)).value(), 21.740_892, 5e-7);
}

/// Half the field is left at grazing incidence, all of it far above; a mirror image adds up to the whole field.
#[test]
fn the_edge_behaves_as_a_half_plane() {
    close(knife_edge_loss(0.0).value(), 20.0 * 2f64.log10(), ROUNDING);
    // The field's ripple far above is 1/(√2 π ν): at ν = −100, 0.02 dB.
    close(knife_edge_loss(-100.0).value(), 0.0, 0.02);
    // Far below, 20 log10(√2 π ν), short by a share of the fourth power of ν.
    let deep = 20.0 * (2f64.sqrt() * std::f64::consts::PI * 100.0).log10();
    close(knife_edge_loss(100.0).value(), deep, 1e-7);
    let mut last = f64::NEG_INFINITY;
    for i in 0..400 {
        let here = knife_edge_loss(f64::from(i) * 0.05).value();
        assert!(here > last, "{i}");
        last = here;
    }
}

fn clutter(ghz: f64, km: f64, percent: f64) -> f64 {
    let share = Confidence::fraction(percent / 100.0).unwrap();
    clutter_loss(&link(ghz * 1e3, km * 1e3, 1.5, 1.5), share).unwrap().loss.value()
}

/// Largest error of the rational approximation to the normal quantile that both reference programs use (Abramowitz and
/// Stegun 26.2.23, from memory), times the largest deviation in the model, 6 dB.
const QUANTILE: f64 = 4.5e-4 * 6.0;

/// What that approximation gives for the median instead of zero (computed with Python), times 6 dB.
const MEDIAN: f64 = 1.010_067e-7 * 6.0;

#[test]
fn clutter_matches_two_reference_programs() {
    // Computed with proplib-p2108 1.1.0 (the U.S. reference software); medians need no quantile.
    for (ghz, km, db) in [(0.9, 0.5, 23.520_458_623), (2.4, 0.5, 26.160_262_923), (2.4, 1.0, 28.615_908_677)]
    {
        close(clutter(ghz, km, 50.0), db, MEDIAN + 5e-10);
    }
    for (ghz, km, percent, db) in [
        (2.4, 2.0, 90.0, 33.925_344_286),
        (5.8, 1.0, 10.0, 26.005_423_219),
        (0.5, 0.25, 1.0, 3.924_608_719),
        (67.0, 30.0, 99.0, 42.307_134_923),
    ] {
        close(clutter(ghz, km, percent), db, QUANTILE);
    }
    // READ in javaP2108 (P2108Test.java, commit 06def5f1), values of the spreadsheet approved with the Recommendation, 0.65 km.
    for (ghz, percent, db) in [
        (2.0, 5.0, 19.225_939),
        (10.0, 5.0, 21.717_219),
        (66.0, 5.0, 23.899_101),
        (2.0, 95.0, 34.591_634),
        (10.0, 95.0, 39.473_792),
        (66.0, 95.0, 39.585_141),
        (2.0, 99.9, 40.381_908),
        (10.0, 99.9, 45.326_771),
    ] {
        close(clutter(ghz, 0.65, percent), db, QUANTILE);
    }
    for (ghz, db) in [(2.0, 27.092_893), (10.0, 30.595_505), (66.0, 31.925_059)] {
        close(clutter(ghz, 0.65, 50.0), db, MEDIAN + 5e-7);
    }
}

#[test]
fn clutter_grows_no_further_than_to_two_kilometres() {
    let at = |metres, share| clutter_loss(&link(2400.0, metres, 1.5, 1.5), share).unwrap();
    let (near, edge) = (at(1900.0, Confidence::P50), at(2000.0, Confidence::P50));
    assert!(near.loss < edge.loss && near.slope > 0.0);
    assert_eq!(edge.loss, at(20_000.0, Confidence::P50).loss);
    close(at(20_000.0, Confidence::P50).slope, 0.0, 0.0);
    // The upper tail may lie lower elsewhere, because the scatter varies; never higher.
    for metres in [300.0, 900.0, 1900.0, 2100.0, 20_000.0] {
        assert!(at(metres, Confidence::P90).loss <= at(2000.0, Confidence::P90).loss);
    }
    let whole = Model::Cluttered(Confidence::P90).loss(&link(2400.0, 900.0, 1.5, 1.5)).unwrap();
    let free = free_space_loss(Hertz::mhz(2400.0), Metres::new(900.0)).value();
    close(whole.loss.value(), free + at(900.0, Confidence::P90).loss.value(), ROUNDING);
}
