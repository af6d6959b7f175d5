//! Does the audit of north find what was done to it? Ten bearings of classes A, B and C; the declination is that of the place and
//! day, 13.9° east.

use azimark::{
    geodesy::Place,
    north::{self, Treatment},
    numeric::random::Random,
    observe::{NorthReference, OperatorClass, ReadBearing},
    simulate::{self, BearingPlan, Stands, Stated},
    solve::{self, Options, Problem},
    units::{Angle, Metres, Sigma},
};

use super::long;

const DECLINATION: f64 = 13.9;

/// What the audit said in a share of the scenes.
#[derive(Debug, Default)]
struct Said {
    /// It favours what really happened; where nothing did, it favours nothing.
    right: f64,
    /// It favours something that did not happen by a factor of 20 over what did: chance does so in one scene of twenty at most,
    /// if the errors are as stated.
    wrong: f64,
    /// It says that it cannot tell what really happened from what was stated.
    open: f64,
}

/// Bearings of a scene, with what really was done to north.
fn scene(random: &mut Random, width: f64, happened: Option<Treatment>) -> Vec<ReadBearing> {
    let plan = BearingPlan {
        seed: (random.uniform() * 9e15) as u64,
        centre: Place::from_lat_lon_degrees(46.956, -118.356).unwrap(),
        count: 10,
        stands: Stands::Around {
            range: (Metres::new(100.0), Metres::new(1000.0)),
            from: Angle::degrees(random.between(0.0, 360.0)),
            width: Angle::degrees(width),
        },
        stated: Stated::Classes(vec![OperatorClass::A, OperatorClass::B, OperatorClass::C]),
        declination: (happened != Some(Treatment::DeclinationTwice)).then(|| Angle::degrees(DECLINATION)),
        ..BearingPlan::default()
    };
    let label = match happened {
        Some(Treatment::DeclinationForgotten) => NorthReference::True,
        _ => NorthReference::Magnetic,
    };
    let read = simulate::bearings(&plan).unwrap().readings;
    read.into_iter().map(|b| ReadBearing { north: label, ..b }).collect()
}

fn study(seed: u64, width: f64, happened: Option<Treatment>) -> Said {
    let scenes = if long() { 400 } else { 24 };
    let mut random = Random::seeded(seed);
    let settings = north::Settings {
        declination: Some((Angle::degrees(DECLINATION), Sigma::<Angle>::degrees(0.5).unwrap())),
        ..north::Settings::default()
    };
    let mut said = Said::default();
    for _ in 0..scenes {
        let read = scene(&mut random, width, happened);
        let bearings = north::resolve(&read, &settings).bearings;
        let problem = Problem { bearings: &bearings, ..Problem::default() };
        let fit = solve::fit(&problem, &Options::default()).unwrap();
        let audit = solve::audit(&fit, &north::hypotheses(&bearings, &settings));
        let favoured = audit.first().filter(|h| h.favoured()).map(|h| h.kind);
        said.right += f64::from(favoured == happened) / f64::from(scenes);
        let truth = audit.iter().find(|h| Some(h.kind) == happened).map_or(0.0, |h| h.gain);
        let wrong = audit.first().is_some_and(|h| h.favoured() && h.gain - truth >= 20f64.ln());
        said.wrong += f64::from(wrong) / f64::from(scenes);
        let open = audit.iter().any(|h| happened.is_none_or(|t| h.kind == t) && h.open());
        said.open += f64::from(open) / f64::from(scenes);
    }
    println!("{width:.0}°, {happened:?}: {said:.3?}");
    said
}

#[test]
fn the_audit_of_north_finds_what_was_done_where_stands_lie_all_round() {
    for (seed, happened) in
        [(31, None), (32, Some(Treatment::DeclinationForgotten)), (33, Some(Treatment::DeclinationTwice))]
    {
        let said = study(seed, 360.0, happened);
        assert!(said.right >= 0.95, "{happened:?}: {said:?}");
    }
}

#[test]
fn the_audit_of_north_says_that_it_cannot_tell_from_one_side() {
    for (seed, happened) in
        [(34, None), (35, Some(Treatment::DeclinationForgotten)), (36, Some(Treatment::DeclinationTwice))]
    {
        let said = study(seed, 60.0, happened);
        assert!(said.wrong <= 0.05, "{happened:?}: {said:?}");
    }
}
