//! Plans that make no sense are refused with what to write instead, and nothing whatever panics.

use azimark::{
    numeric::random::Random,
    simulate::{
        self, BearingPlan, Below, Compass, Duty, Emitter, Fading, Field, Kind, Law, Method, Pattern, Plan,
        Positioning, Propagation, Receiver, Scene, SectorPlan, Stands, Town, TownPlan, WalkPlan,
    },
    units::{Angle, Db, Dbm, Hertz, Metres},
};

use crate::point;

fn refused<T: std::fmt::Debug>(found: Result<T, simulate::Refusal>, what: &str, hint: &str) {
    let text = found.expect_err(what).to_string();
    assert!(text.contains(what) && text.contains(hint), "{text}");
}

#[test]
fn walks_that_make_no_sense_are_refused() {
    let plain = WalkPlan::default;
    let open = || Propagation::open(3.0);
    let emitter = || Emitter::at(point(0.0, 0.0));
    let cases = [
        (WalkPlan { count: 0, ..plain() }, "number of readings of 0", "1 to 20000"),
        (WalkPlan { count: 20_001, ..plain() }, "number of readings", "1 to 20000"),
        (WalkPlan { step: Metres::new(f64::NAN), ..plain() }, "step in metres of NaN", "0.1 to 100"),
        (WalkPlan { pace: 0.0, ..plain() }, "pace of 0", "0.1 to 50 m/s"),
        (WalkPlan { extent: Metres::new(-5.0), ..plain() }, "extent of the walk of -5", "5 to 100000"),
        (WalkPlan { emitters: vec![], ..plain() }, "number of emitters of 0", "1 to 100"),
        (WalkPlan { shadowing: Db::new(f64::INFINITY), ..plain() }, "shadowing of inf", "0 to 30 dB"),
        (WalkPlan { decorrelation: Metres::new(0.0), ..plain() }, "decorrelation distance", "such as 20"),
        (WalkPlan { count: 3000, method: Method::Exact, ..plain() }, "points of 3000", "use waves"),
        (WalkPlan { method: Method::Waves(0), ..plain() }, "waves of 0", "such as 1024"),
        (WalkPlan { propagation: open().with(Law::Exponent(9.0)), ..plain() }, "exponent of 9", "1 to 6"),
        (
            WalkPlan { fading: Fading { steady: -1.0, samples: 1 }, ..plain() },
            "ratio K of the steady wave of -1",
            "0 (none)",
        ),
        (
            WalkPlan { receiver: Receiver { below: Below::Share(1.5), ..Receiver::default() }, ..plain() },
            "share of readings below the floor of 1.5",
            "0 to 1",
        ),
        (
            WalkPlan { positioning: Positioning { lost: 1.0, ..Positioning::EXACT }, ..plain() },
            "lost fixes of 1",
            "0 to 0.9",
        ),
        (
            WalkPlan { emitters: vec![Emitter { eirp: Dbm::new(1e9), ..emitter() }], ..plain() },
            "radiated power",
            "-100 to 120 dBm",
        ),
        (
            WalkPlan {
                emitters: vec![Emitter { duty: Duty::Cycle { on: 0.0, off: 0.0, passed: 0.0 }, ..emitter() }],
                ..plain()
            },
            "time on the air of 0",
            "seconds",
        ),
        (
            WalkPlan {
                emitters: vec![Emitter {
                    pattern: Pattern::Cardioid {
                        axis: Angle::degrees(f64::NAN),
                        front_to_back: Db::new(15.0),
                    },
                    ..emitter()
                }],
                ..plain()
            },
            "axis of NaN",
            "-360 to 360",
        ),
    ];
    for (plan, what, hint) in cases {
        refused(simulate::walk(&plan), what, hint);
    }
}

/// A shorthand for the table above.
trait With {
    fn with(self, law: Law) -> Self;
}

impl With for Propagation {
    fn with(self, law: Law) -> Self {
        Self { law, ..self }
    }
}

#[test]
fn bearings_sectors_and_towns_that_make_no_sense_are_refused() {
    let plain = BearingPlan::default;
    let around = |low: f64, high: f64, from: f64, width: f64| Stands::Around {
        range: (Metres::new(low), Metres::new(high)),
        from: Angle::degrees(from),
        width: Angle::degrees(width),
    };
    let cases = [
        (BearingPlan { count: 0, ..plain() }, "number of bearings of 0"),
        (BearingPlan { stands: around(5.0, 1.0, 0.0, 360.0), ..plain() }, "least range of 5"),
        (BearingPlan { stands: around(1.0, 5.0, f64::NAN, 360.0), ..plain() }, "sector of stands of NaN"),
        (BearingPlan { stands: around(1.0, 5.0, 0.0, 0.0), ..plain() }, "width of the sector"),
        (BearingPlan { stands: Stands::At(vec![]), ..plain() }, "number of stands of 0"),
        (BearingPlan { factor: -1.0, ..plain() }, "factor of the stated errors of -1"),
        (BearingPlan { teams: 0, ..plain() }, "number of teams of 0"),
        (BearingPlan { foreign: 1.1, ..plain() }, "share of foreign bearings of 1.1"),
        (BearingPlan { reversed: f64::NAN, ..plain() }, "share of reversed bearings of NaN"),
        (BearingPlan { stated: simulate::Stated::Classes(vec![]), ..plain() }, "number of classes of 0"),
        (
            BearingPlan { compass: Compass { pulled: 2.0, ..Compass::EXACT }, ..plain() },
            "share of pulled compasses of 2",
        ),
        (
            BearingPlan {
                emitters: vec![Emitter {
                    duty: Duty::Cycle { on: 1e-3, off: 1e7, passed: 1.0 },
                    ..Emitter::at(point(0.0, 0.0))
                }],
                ..plain()
            },
            "silence",
        ),
    ];
    for (plan, what) in cases {
        refused(simulate::bearings(&plan), what, "");
    }
    refused(
        simulate::sectors(&SectorPlan { sites: 0, ..SectorPlan::default() }),
        "number of sites",
        "1 to 100",
    );
    let thin = SectorPlan { beamwidth: Angle::ZERO, ..SectorPlan::default() };
    refused(simulate::sectors(&thin), "antenna of sectors", "beamwidth");
    let town = Kind::Street.town().unwrap();
    refused(Town::new(&TownPlan { blocks: 0, ..town }, 1), "number of blocks of 0", "1 to 60");
    refused(Town::new(&TownPlan { street: Metres::new(90.0), ..town }, 1), "width of streets", "half");
    refused(Field::new(vec![], Metres::new(f64::NAN), Method::Exact), "decorrelation", "such as 20");
    refused(Scene::new(&Plan { emitters: 0, ..Plan::of(Kind::Open, 1) }), "number of emitters", "1 to 10");
    let scene = Scene::new(&Plan { frequency: Hertz::new(0.0), ..Plan::of(Kind::Open, 1) }).unwrap();
    refused(scene.take_walk(), "frequency in Hz of 0", "1 MHz to 100 GHz");
}

/// Numbers from everywhere: a plan is refused or gives what was asked for, and no number that is written is none.
#[test]
fn any_numbers_give_observations_or_a_refusal() {
    let mut random = Random::seeded(71);
    let odd = [f64::NAN, f64::INFINITY, -1.0, 0.0, 1e-300, 1e300, 0.5, 3.0, 40.0, 900.0];
    let mut given = 0;
    for seed in 0..3000 {
        // Most numbers make sense, so that the odd ones are reached.
        let mut n = |usual: f64| if random.happens(0.04) { odd[random.index(odd.len())] } else { usual };
        let walk = WalkPlan {
            seed,
            count: n(12.0) as usize,
            step: Metres::new(n(5.0)),
            pace: n(1.3),
            pitch: Metres::new(n(80.0)),
            extent: Metres::new(n(300.0)),
            scatter: Metres::new(n(100.0)),
            shadowing: Db::new(n(6.0)),
            decorrelation: Metres::new(n(20.0)),
            fading: Fading { steady: n(2.0), samples: n(10.0) as u32 },
            receiver: Receiver {
                noise: Dbm::new(n(-110.0)),
                samples: n(9.0) as u32,
                below: Below::Share(n(0.2)),
                step: Db::new(n(0.1)),
                attenuator: None,
                calibration: Db::new(n(1.0)),
            },
            positioning: Positioning {
                sigma: Metres::new(n(3.0)),
                correlation: n(60.0),
                canyon: n(2.0),
                jumps: n(0.1),
                jump: Metres::new(n(90.0)),
                lost: n(0.1),
            },
            ..WalkPlan::default()
        };
        if let Ok(walk) = simulate::walk(&walk) {
            given += 1;
            assert!(walk.samples.iter().all(|s| !s.power.value().is_nan()));
            assert!(walk.readings.iter().all(|r| r.raw.unwrap().value.is_finite()), "{seed}");
        }
        let bearings = BearingPlan {
            seed,
            count: n(4.0) as usize,
            factor: n(1.0),
            teams: n(2.0) as usize,
            swings: n(3.0) as usize,
            rounding: Angle::degrees(n(1.0)),
            foreign: n(0.2),
            reversed: n(0.1),
            shadowing: Db::new(n(5.0)),
            levels: true,
            scatter: Metres::new(n(10.0)),
            ..BearingPlan::default()
        };
        if let Ok(bearings) = simulate::bearings(&bearings) {
            given += 1;
            assert!(bearings.readings.iter().all(|b| (0.0..360.0).contains(&b.read.to_degrees())));
        }
    }
    assert!((1000..6000).contains(&given), "{given}");
}
