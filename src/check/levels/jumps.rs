//! Places that jump away and back.

use crate::{
    check::levels::{Label, Labelled, at_share, seconds},
    finding::Finding,
    geodesy::{Place, course},
    observe::LevelReading,
};

/// A leap is faster than this many times what nine in ten steps of the log reach: common practice, no source.
const TIMES_ORDINARY: f64 = 5.0;

/// Slower or shorter steps are the scatter of a receiver, faster ones than the last nobody makes on the ground: common
/// practice, no source.
const SLOWEST_LEAP: f64 = 5.0;
const SHORTEST_LEAP_M: f64 = 30.0;
const FASTEST_GROUND: f64 = 70.0;

/// A jump comes back within this time; what stays away longer is another place.
const LONGEST_AWAY_S: f64 = 60.0;

/// So many leaps in a minute have no meaning.
const MOST_LEAPS: usize = 100;

/// With fewer steps a log does not say what is ordinary.
const FEWEST_STEPS: usize = 10;

/// A reading with place and time.
struct Stop {
    index: usize,
    at: Place,
    time: f64,
}

struct Step {
    metres: f64,
    speed: f64,
}

/// Labels the readings of a walk between a leap away and a leap back. A leap without return is told, and nothing is
/// labelled: which side is wrong cannot be told.
pub fn label(readings: &[LevelReading], walk: &[usize], out: &mut Labelled) {
    let stops: Vec<Stop> = walk
        .iter()
        .filter(|i| !out.labels[**i].has(Label::NoFix))
        .filter_map(|i| {
            let reading = &readings[*i];
            Some(Stop { index: *i, at: reading.at?, time: seconds(reading)? })
        })
        .collect();
    let back = stops.windows(2).find(|w| w[1].time < w[0].time);
    if let Some(pair) = back {
        let message = "the times go back from one line to the next";
        let hint =
            "are these several walks, or was the clock set? the places are not checked for speed there";
        let at = readings[pair[1].index].written.origin();
        out.findings.push(Finding::doubtful("time-goes-back", message).at(at).hint(hint));
    }
    let steps: Vec<Option<Step>> = stops.windows(2).map(|w| step(&w[0], &w[1])).collect();
    let limit = limit(&steps);
    let leaps: Vec<usize> =
        (1..stops.len()).filter(|i| steps[i - 1].as_ref().is_some_and(|s| is_leap(s, limit))).collect();
    let lost = pair_up(&stops, &leaps, limit, out);
    if let Some((first, count)) = lost {
        let message = format!("{count} step(s) are too fast and do not come back");
        let hint = "are these two walks in one file? the readings are used as they are";
        let at = readings[stops[first].index].written.origin();
        out.findings.push(Finding::doubtful("leap", message).at(at).hint(hint));
    }
}

/// Labels what lies between a leap and its return; the first leap without one, and how many there are.
fn pair_up(stops: &[Stop], leaps: &[usize], limit: f64, out: &mut Labelled) -> Option<(usize, usize)> {
    let (mut next, mut lost) = (0, None);
    while let Some(away) = leaps.get(next) {
        // However bad the log, few leaps are looked at for each.
        let near = |back: &usize| stops[*back - 1].time - stops[*away].time <= LONGEST_AWAY_S;
        let returns = leaps[next + 1..]
            .iter()
            .take(MOST_LEAPS)
            .take_while(|b| near(b))
            .position(|back| step(&stops[away - 1], &stops[*back]).is_some_and(|s| !is_leap(&s, limit)));
        match returns {
            Some(after) => {
                let back = leaps[next + 1 + after];
                stops[*away..back].iter().for_each(|s| out.labels[s.index].add(Label::Jump));
                next += after + 2;
            }
            None => {
                lost = lost.map_or(Some((*away, 1)), |(first, n)| Some((first, n + 1)));
                next += 1;
            }
        }
    }
    lost
}

fn is_leap(step: &Step, limit: f64) -> bool {
    step.speed > limit && step.metres > SHORTEST_LEAP_M
}

fn step(from: &Stop, to: &Stop) -> Option<Step> {
    let dt = to.time - from.time;
    (dt > 0.0).then(|| {
        let metres = course(from.at, to.at).distance.value();
        Step { metres, speed: metres / dt }
    })
}

/// The speed above which a step is a leap.
fn limit(steps: &[Option<Step>]) -> f64 {
    let mut speeds: Vec<f64> = steps.iter().flatten().map(|s| s.speed).collect();
    if speeds.len() < FEWEST_STEPS {
        return FASTEST_GROUND;
    }
    speeds.sort_by(f64::total_cmp);
    let ordinary = at_share(&speeds, 0.9).unwrap_or(FASTEST_GROUND);
    (TIMES_ORDINARY * ordinary).clamp(SLOWEST_LEAP, FASTEST_GROUND)
}
