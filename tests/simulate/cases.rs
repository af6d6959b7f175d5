//! Whole scenes: the same seed gives the same files, and the project's own readers take them as they are.

use azimark::{
    ingest,
    observe::Level,
    simulate::{self, Bearings, Field, Kind, Method, Plan, Prepared, Scene, WalkPlan, write},
    units::Metres,
};

fn files(kind: Kind, seed: u64) -> Vec<write::File> {
    let plan = Plan { readings: 200, ..Plan::of(kind, seed) };
    write::case(&Scene::new(&plan).unwrap()).unwrap()
}

fn text<'a>(files: &'a [write::File], name: &str) -> &'a str {
    &files.iter().find(|f| f.name == name).unwrap().text
}

#[test]
fn a_seed_gives_the_same_files_again_and_another_gives_others() {
    for kind in Kind::ALL {
        let first = files(kind, 1);
        assert_eq!(first, files(kind, 1));
        let other = files(kind, 2);
        assert_eq!(first.len(), if kind.town().is_some() { 5 } else { 4 });
        assert!(first.iter().zip(&other).all(|(a, b)| a.name == b.name && a.text != b.text), "{kind:?}");
    }
}

/// Fowler, Noll and Vo's hash of 64 bits, so that a whole case fits into a line.
fn hash(files: &[write::File]) -> u64 {
    let bytes = files.iter().flat_map(|f| f.text.bytes());
    bytes.fold(0xcbf2_9ce4_8422_2325, |h, b| (h ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3))
}

/// The bytes of two cases as they were when this was written (Linux, x86-64): another machine must give the same, and a change
/// of the physics is a change of every scene that somebody has quoted by its seed.
#[test]
fn the_files_of_a_seed_are_those_of_every_machine() {
    let found = [hash(&tables(Kind::Street)), hash(&tables(Kind::Open))];
    assert_eq!(found, [0x21bb_9b2e_021c_a2d4, 0xd074_2f37_35e4_5845], "{found:#x?}");
}

/// Without the truth, which carries the version.
fn tables(kind: Kind) -> Vec<write::File> {
    files(kind, 1).into_iter().filter(|f| f.name != "truth.json").collect()
}

/// Rows come back as they were written, without refusal or doubt.
#[test]
fn the_readers_take_the_files_as_they_are() {
    for kind in Kind::ALL {
        let plan = Plan { readings: 400, ..Plan::of(kind, 5) };
        let scene = Scene::new(&plan).unwrap();
        let files = write::case(&scene).unwrap();
        let settings = ingest::Settings::default();
        let read = ingest::bearings("bearings.csv", text(&files, "bearings.csv").as_bytes(), &settings);
        let doubts = |f: &azimark::finding::Finding| f.severity > azimark::finding::Severity::Assumed;
        assert!(!read.findings.iter().any(doubts), "{kind:?}: {:?}", read.findings);
        same_bearings(&scene.take_bearings().unwrap(), &read.rows);
        let levels = ingest::levels("walk_log.csv", text(&files, "walk_log.csv").as_bytes(), &settings);
        assert!(!levels.findings.iter().any(doubts), "{kind:?}: {:?}", levels.findings);
        let walk = scene.take_walk().unwrap();
        assert_eq!(walk.readings.len(), levels.rows.len());
        for (wrote, read) in walk.readings.iter().zip(&levels.rows) {
            assert_eq!(wrote.time.as_ref().map(|t| t.utc()), read.time.as_ref().map(|t| t.utc()));
            assert_eq!(wrote.at.is_some(), read.at.is_some());
            assert_eq!(wrote.fix.kind, read.fix.kind);
            let close = |a: f64, b: f64| (a - b).abs() < 0.051;
            match (wrote.level, read.level) {
                (Level::Measured(a), Level::Measured(b)) | (Level::BelowFloor(a), Level::BelowFloor(b)) => {
                    assert!(close(a.value(), b.value()));
                }
                other => panic!("{other:?}"),
            }
        }
        assert_eq!(ingest::kind(text(&files, "sectors.csv").as_bytes()), ingest::Kind::Sectors);
        let truth: serde_json::Value = serde_json::from_str(text(&files, "truth.json")).unwrap();
        assert_eq!(truth["scene"], kind.word());
        assert_eq!(truth["bearings"].as_array().unwrap().len(), 12);
        assert_eq!(truth["walk"]["true_lat_lon"].as_array().unwrap().len(), 400);
    }
}

fn same_bearings(wrote: &Bearings, read: &[azimark::observe::ReadBearing]) {
    assert_eq!(wrote.readings.len(), read.len());
    for (w, r) in wrote.readings.iter().zip(read) {
        assert_eq!((&w.id, &w.team, w.north, w.quality), (&r.id, &r.team, r.north, r.quality));
        assert!(w.read.miss_from(r.read).to_degrees().abs() < 1e-9 && w.swings.len() == r.swings.len());
        assert!((w.front.unwrap().value() - r.front.unwrap().value()).abs() < 0.051);
        assert!((w.stand.sigma.unwrap().to_metres() - r.stand.sigma.unwrap().to_metres()).abs() < 0.02);
    }
}

/// Every figure of every kind names a source, and the numbers are the ones that the scenes are made from.
#[test]
fn every_figure_has_a_source() {
    for kind in Kind::ALL {
        let figures = kind.figures();
        assert!(figures.len() > 20);
        assert!(figures.iter().all(|f| !f.source.is_empty() && f.value.is_finite()));
        let of = |name: &str| figures.iter().find(|f| f.name == name).unwrap().value;
        assert_eq!(of("standard deviation of shadowing"), kind.shadowing().0.value());
        assert_eq!(of("distance of streets"), kind.pitch().value());
        let printed = figures[0].to_string();
        assert!(printed.contains("exponent") && printed.contains('('), "{printed}");
        assert_eq!(Kind::from_word(kind.word()), Some(kind));
    }
    assert_eq!(Kind::from_word("moon"), None);
}

/// Times of the parts, printed; with `AZIMARK_LONG` set also the long logs. Nothing is asserted of times, which depend on the
/// machine; that a prepared route gives the walks that it would give anew is.
#[test]
fn a_prepared_route_gives_the_same_walk() {
    let plan = WalkPlan { seed: 3, ..WalkPlan::default() };
    let prepared = Prepared::new(&plan).unwrap();
    assert_eq!(prepared.draw(3), simulate::walk(&plan).unwrap());
    assert_ne!(prepared.draw(4).readings, prepared.draw(3).readings);
    let clock = std::time::Instant::now();
    (0..200).for_each(|seed| drop(prepared.draw(seed)));
    println!("draw of 200 readings: {:.3} ms", clock.elapsed().as_secs_f64() * 5.0);
    let clock = std::time::Instant::now();
    (0..200).for_each(|seed| drop(simulate::walk(&WalkPlan { seed, ..plan.clone() }).unwrap()));
    println!("whole walk of 200 readings: {:.3} ms", clock.elapsed().as_secs_f64() * 5.0);
    if std::env::var_os("AZIMARK_LONG").is_some() {
        for (count, method) in
            [(2_000, Method::Exact), (2_000, Method::Waves(1024)), (20_000, Method::Automatic)]
        {
            let clock = std::time::Instant::now();
            let long = simulate::walk(&WalkPlan { count, method, extent: Metres::km(3.0), ..plan.clone() });
            println!("{count} readings, {method:?}: {:.0} ms", clock.elapsed().as_secs_f64() * 1e3);
            assert_eq!(long.unwrap().readings.len(), count);
        }
    }
    let far = Field::new(vec![], Metres::new(10.0), Method::Automatic).unwrap();
    assert!(far.draw(&mut azimark::numeric::random::Random::seeded(1)).is_empty());
}
