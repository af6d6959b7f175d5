//! Time of the whole answer: posterior, peaks and regions of 50, 90 and 95 %, and from bytes to JSON.

use azimark::{
    export,
    geodesy::{Place, destination},
    ingest,
    live::{File, Request, Session},
    north::{self, TrueBearing},
    region::Region,
    report::{self, Notes},
    solve::{self, Options, Problem},
    units::{Angle, Confidence, Metres},
};

fn main() {
    divan::main();
}

const COUNTS: [usize; 5] = [5, 12, 15, 50, 100];

/// `count` bearings of 3° around an emitter, one kilometre off, with errors of a fixed pattern, taken by one team.
fn notes(count: usize) -> String {
    notes_of(1, count)
}

/// The same by several teams in turn.
fn notes_of(teams: usize, count: usize) -> String {
    let emitter = Place::from_lat_lon_degrees(47.0, 8.0).expect("a place");
    let mut out = String::from("id,team,lat,lon,bearing_deg,north,sigma_deg\n");
    for i in 0..count {
        let around = 360.0 * i as f64 / count as f64 + 17.0;
        let (stand, back) = destination(emitter, Angle::degrees(around), Metres::new(1_000.0));
        let off = 3.0 * (1.7 * i as f64).sin();
        let bearing = Angle::degrees(back.to_degrees() + 180.0 + off).compass().to_degrees();
        let (lat, lon) = (stand.lat_degrees(), stand.lon_degrees());
        out += &format!("b{i},T{},{lat},{lon},{bearing},true,3\n", i % teams);
    }
    out
}

fn bearings(count: usize) -> Vec<TrueBearing> {
    bearings_of(1, count)
}

fn bearings_of(teams: usize, count: usize) -> Vec<TrueBearing> {
    let read = ingest::bearings("notes.csv", notes_of(teams, count).as_bytes(), &ingest::Settings::default());
    north::resolve(&read.rows, &north::Settings::default()).bearings
}

#[divan::bench(args = COUNTS)]
fn posterior(bencher: divan::Bencher, count: usize) {
    let bearings = bearings(count);
    let problem = Problem { bearings: &bearings, ..Problem::default() };
    bencher.bench_local(|| solve::fit(&problem, &Options::default()));
}

#[divan::bench(args = COUNTS)]
fn posterior_and_regions(bencher: divan::Bencher, count: usize) {
    let bearings = bearings(count);
    let problem = Problem { bearings: &bearings, ..Problem::default() };
    bencher.bench_local(|| {
        let fit = solve::fit(&problem, &Options::default()).expect("a fit");
        Region::several(&fit, &[Confidence::P50, Confidence::P90, Confidence::P95])
    });
}

#[divan::bench(args = COUNTS)]
fn posterior_and_regions_of_four_teams(bencher: divan::Bencher, count: usize) {
    let bearings = bearings_of(4, count);
    let problem = Problem { bearings: &bearings, ..Problem::default() };
    bencher.bench_local(|| {
        let fit = solve::fit(&problem, &Options::default()).expect("a fit");
        Region::several(&fit, &[Confidence::P50, Confidence::P90, Confidence::P95])
    });
}

/// The demo as a page asks for it, with one bearing more each time and 600 levels: from JSON to JSON.
#[divan::bench(sample_count = 20, sample_size = 1)]
fn first_answer_with_a_bearing_more(bencher: divan::Bencher) {
    let file = |name: &str, kind: &str, text: &str| File::new(name, kind, text.as_bytes());
    let files = vec![
        file("bearings.csv", "bearings", include_str!("../fixtures/demo/bearings.csv")),
        file("walk_log.csv", "levels", include_str!("../fixtures/demo/walk_log.csv")),
        file("walk.gpx", "track", include_str!("../fixtures/demo/walk.gpx")),
    ];
    let asked = Request { files, first: true, ..Request::default() };
    let session = Session::default();
    divan::black_box(session.answered(&asked));
    let mut number = 0;
    bencher
        .with_inputs(|| {
            number += 1;
            let mut more = asked.clone();
            let place = 46.956 + 0.0002 * f64::from(number);
            more.files[0].text +=
                &format!("N,Z,2026-03-17T18:40:00Z,,{place},-118.3513,,,,,268,true,,B,,,,,,,\n");
            serde_json::to_string(&more).expect("a request")
        })
        .bench_local_values(|request| session.reply(&request));
}

/// Many cases of five bearings with regions, on two threads; the time is for a hundred cases.
#[divan::bench(sample_count = 20)]
fn hundred_cases_on_two_threads(bencher: divan::Bencher) {
    let bearings = bearings(5);
    let solve = |cases: usize| {
        for _ in 0..cases {
            let fit = solve::fit(&Problem { bearings: &bearings, ..Problem::default() }, &Options::default())
                .expect("a fit");
            divan::black_box(Region::several(&fit, &[Confidence::P50, Confidence::P90, Confidence::P95]));
        }
    };
    bencher.bench_local(|| {
        std::thread::scope(|scope| {
            scope.spawn(|| solve(50));
            scope.spawn(|| solve(50));
        });
    });
}

#[divan::bench(args = COUNTS)]
fn bytes_to_json(bencher: divan::Bencher, count: usize) {
    let notes = notes(count);
    bencher.bench_local(|| {
        let read = ingest::bearings("notes.csv", notes.as_bytes(), &ingest::Settings::default());
        let bearings = north::resolve(&read.rows, &north::Settings::default()).bearings;
        let fit = solve::fit(&Problem { bearings: &bearings, ..Problem::default() }, &Options::default())
            .expect("a fit");
        export::json(&report::answer(fit, Notes { bearings, ..Notes::default() }))
    });
}
