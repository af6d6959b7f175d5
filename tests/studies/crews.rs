//! Teams whose compasses are each off by an error of their own: the same scenes with the teams named, and as if one had taken all.

use azimark::{
    north,
    observe::ReadBearing,
    region::Region,
    solve::{self, Options, Problem},
    trial::{Class, Drawn, Evidence, draw},
    units::Confidence,
};

use super::long;

/// How many of the 95 % regions hold the emitter, and their median area, square metres.
fn study(scenes: u32, named: bool) -> (u32, f64) {
    let (mut held, mut areas) = (0, Vec::new());
    for number in 0..scenes {
        let Drawn { evidence, truths, .. } = draw(9, Class::CompassTeams, number).unwrap();
        let Evidence::Bearings(read) = evidence else { unreachable!("a class of bearings") };
        let read: Vec<ReadBearing> =
            read.into_iter().map(|b| ReadBearing { team: b.team.clone().filter(|_| named), ..b }).collect();
        let bearings = north::resolve(&read, &north::Settings::default()).bearings;
        let fit = solve::fit(&Problem { bearings: &bearings, ..Problem::default() }, &Options::default());
        let fit = fit.unwrap();
        let Ok(region) = Region::of(&fit, Confidence::P95) else { continue };
        held += u32::from(region.holds(&fit, truths[0]));
        areas.push(region.area().value());
    }
    areas.sort_by(f64::total_cmp);
    (held, areas[areas.len() / 2])
}

#[test]
fn naming_the_teams_makes_regions_hold_more_and_be_smaller() {
    let scenes = if long() { 400 } else { 50 };
    let (named, plain) = (study(scenes, true), study(scenes, false));
    println!("{scenes} scenes: teams named {named:?}, not named {plain:?}");
    // Three standard deviations of a count below 95 %.
    let n = f64::from(scenes);
    assert!(f64::from(named.0) >= 0.95 * n - 3.0 * (0.95 * 0.05 * n).sqrt(), "{named:?}");
    assert!(named.0 > plain.0 && named.1 < plain.1, "named {named:?}, not named {plain:?}");
}
