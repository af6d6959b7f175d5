//! A walk along the streets.

use std::collections::BTreeMap;

use crate::{geodesy::PlanePoint, numeric::random::Random};

/// A crossing, and a stretch between two neighbours, the lower one first: whichever way it is walked.
type Crossing = (i64, i64);
type Stretch = (Crossing, Crossing);

/// East, north, west, south as steps on the grid of crossings.
const WAYS: [Crossing; 4] = [(1, 0), (0, 1), (-1, 0), (0, -1)];

/// How much rather somebody goes straight on than around a corner, and how much less a stretch draws him that he has walked
/// already: common practice, no source.
const STRAIGHT_ON: f64 = 1.5;
const PER_VISIT: f64 = 4.0;

/// `count` points, `step` apart, along streets `pitch` apart whose crossings lie at whole multiples of it plus `shift` in
/// both directions, within `extent` of the middle. It begins on a crossing in the inner half, turns at crossings, seldom
/// back on stretches walked before, and never turns around except at the edge.
pub(super) fn route(
    random: &mut Random,
    count: usize,
    step: f64,
    (pitch, shift, extent): (f64, f64, f64),
) -> Vec<PlanePoint> {
    let highest = (((extent - shift) / pitch).floor() as i64).max(0);
    let lowest = ((-(extent + shift) / pitch).ceil() as i64).min(0);
    let start = || {
        |r: &mut Random| {
            let width = (highest - lowest) as f64;
            (lowest as f64 + width * r.between(0.25, 0.75)).round() as i64
        }
    };
    let mut at = (start()(random), start()(random));
    let mut heading = random.index(4);
    let mut visits = BTreeMap::new();
    let mut out = Vec::with_capacity(count);
    let mut ahead = pitch * random.uniform();
    while out.len() < count {
        let inside = |p: Crossing| (lowest..=highest).contains(&p.0) && (lowest..=highest).contains(&p.1);
        heading = turn(random, at, heading, &visits, inside);
        let (east, north) = WAYS[heading];
        // Where there is a single crossing only, the streets are walked beyond it.
        let to = (at.0 + east, at.1 + north);
        *visits.entry(stretch(at, to)).or_insert(0u32) += 1;
        while ahead < pitch && out.len() < count {
            let along = |index: i64, way: i64| shift + index as f64 * pitch + way as f64 * ahead;
            out.push(PlanePoint { east: along(at.0, east), north: along(at.1, north) });
            ahead += step;
        }
        ahead -= pitch;
        at = to;
    }
    out
}

fn stretch(a: Crossing, b: Crossing) -> Stretch {
    (a.min(b), a.max(b))
}

fn turn(
    random: &mut Random,
    at: Crossing,
    heading: usize,
    visits: &BTreeMap<Stretch, u32>,
    inside: impl Fn(Crossing) -> bool,
) -> usize {
    let mut weights = [0.0; 4];
    for (way, (east, north)) in WAYS.iter().enumerate() {
        let to = (at.0 + east, at.1 + north);
        if way == (heading + 2) % 4 || !inside(to) {
            continue;
        }
        let before = visits.get(&stretch(at, to)).copied().unwrap_or(0);
        weights[way] = if way == heading { STRAIGHT_ON } else { 1.0 } / (1.0 + PER_VISIT * f64::from(before));
    }
    let mut left = random.uniform() * weights.iter().sum::<f64>();
    for (way, weight) in weights.iter().enumerate() {
        if *weight > 0.0 && left < *weight {
            return way;
        }
        left -= weight;
    }
    // At a dead end, at a lone crossing, or by rounding: the way back.
    (heading + 2) % 4
}
