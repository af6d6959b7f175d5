//! Time of the advice where to stand next, on street plans of growing size, and of reading the streets.

use azimark::{
    geodesy::{Place, course, destination},
    ingest,
    north::{self, TrueBearing},
    plan::{self, Search, Setup},
    solve::{self, Options, Problem},
    streets::Streets,
    units::{Angle, Metres},
};

fn main() {
    divan::main();
}

/// Blocks along each side of the town; those of the last are small, so that 2,000 stands are within reach.
const BLOCKS: [usize; 5] = [4, 8, 16, 32, 43];

/// Half the town's side, metres.
fn half(blocks: usize) -> f64 {
    if blocks == BLOCKS[4] { 25.0 * blocks as f64 } else { 50.0 * blocks as f64 }
}

fn middle() -> Place {
    Place::from_lat_lon_degrees(47.0, 8.0).expect("a place")
}

fn at(east: f64, north: f64) -> Place {
    destination(middle(), Angle::radians(east.atan2(north)), Metres::new(east.hypot(north))).0
}

fn town(blocks: usize) -> String {
    let half = half(blocks);
    let line = |a: Place, b: Place| {
        let ([a, b], [c, d]) = (a.lon_lat(), b.lon_lat());
        format!(
            r#"{{"type":"Feature","properties":{{"highway":"residential"}},"geometry":{{"type":"LineString","coordinates":[[{a},{b}],[{c},{d}]]}}}}"#
        )
    };
    let lines: Vec<String> = (0..=blocks)
        .map(|i| 2.0 * half * i as f64 / blocks as f64 - half)
        .flat_map(|x| [line(at(x, -half), at(x, half)), line(at(-half, x), at(half, x))])
        .collect();
    format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, lines.join(","))
}

fn bearings(blocks: usize) -> Vec<TrueBearing> {
    let mut notes = String::from("id,lat,lon,bearing_deg,north,sigma_deg\n");
    let (emitter, half) = (at(60.0, 130.0), half(blocks));
    for i in 0..5 {
        let stand = at(-0.8 * half + 0.2 * half * f64::from(i), -0.9 * half);
        let off = 3.0 * (1.7 * f64::from(i)).sin();
        let read = course(stand, emitter).departure.turned(Angle::degrees(off)).to_degrees();
        notes += &format!("b{i},{},{},{read},true,4\n", stand.lat_degrees(), stand.lon_degrees());
    }
    let read = ingest::bearings("notes.csv", notes.as_bytes(), &ingest::Settings::default());
    north::resolve(&read.rows, &north::Settings::default()).bearings
}

#[divan::bench(args = BLOCKS)]
fn streets(bencher: divan::Bencher, blocks: usize) {
    let text = town(blocks);
    bencher.bench_local(|| Streets::read("town.geojson", text.as_bytes()));
}

#[divan::bench(args = BLOCKS, sample_count = 5)]
fn next(bencher: divan::Bencher, blocks: usize) {
    let (streets, _) = Streets::read("town.geojson", town(blocks).as_bytes());
    let bearings = bearings(blocks);
    let fit = solve::fit(&Problem { bearings: &bearings, ..Problem::default() }, &Options::default())
        .expect("a fit");
    let from = bearings[4].read().stand.at;
    let setup = Setup { from, streets: Some(&streets), search: Search::default(), most: 5 };
    println!("{blocks} blocks: {} stands tried", plan::next(&fit, &bearings, &setup).tried);
    bencher.bench_local(|| plan::next(&fit, &bearings, &setup));
}
