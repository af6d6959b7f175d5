//! What somebody underway does next: a bearing somewhere, or go and look.

use crate::{
    geodesy::{Place, PlanePoint},
    plan::{
        ahead::{Ahead, Move},
        candidates::{Candidate, along, rings},
        next::Search,
        picture::{Picture, foreign},
    },
    streets::Streets,
};

/// What to do next.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Where to go.
    pub to: Place,
    /// Whether to take a bearing there; otherwise one goes and looks.
    pub bearing: bool,
    /// Expected minutes until the emitter is met, as played.
    pub minutes: f64,
    /// So many moves were tried.
    pub tried: usize,
}

/// How long the look ahead is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Depth {
    /// So many moves are played.
    pub moves: usize,
    /// Each so often at first; the better quarter twice as often again.
    pub plays: usize,
}

impl Depth {
    /// For one advice, where a second does not matter.
    pub const ADVICE: Self = Self { moves: 48, plays: 48 };
    /// For thousands of simulated hunts.
    pub const QUICK: Self = Self { moves: 24, plays: 12 };
}

/// A bearing nearer than this to an earlier stand tells little that is new.
const SAME_STAND_M: f64 = 30.0;

/// The next step of somebody at `from`.
pub fn step(
    picture: &Picture,
    from: Place,
    streets: Option<&Streets>,
    search: &Search,
    depth: Depth,
) -> Step {
    let played = 4 * depth.plays;
    let ahead = Ahead::new(&picture.belief, search, picture.streets, played);
    let moves = moves(picture, &ahead, from, streets, search, depth.moves);
    let indices: Vec<usize> = (0..moves.len()).collect();
    let best = fewest(indices, depth.plays, &|i, plays| ahead.minutes(&moves[*i], plays));
    let (minutes, i) = best.first().copied().unwrap_or((f64::INFINITY, 0));
    Step { to: picture.plane.to_place(moves[i].to()), bearing: moves[i].bearing, minutes, tried: moves.len() }
}

/// Things by their mean minutes, the fewest first: all of them in every fourth of the plays, which together span the belief, and
/// the better quarter in the others too. The rest is left out.
pub(super) fn fewest<T: Clone>(
    things: Vec<T>,
    plays: usize,
    minutes: &dyn Fn(&T, std::ops::Range<usize>) -> Vec<f64>,
) -> Vec<(f64, T)> {
    let keep = (things.len() / 4).max(4);
    let mut scored: Vec<(f64, T, Vec<f64>)> = things
        .into_iter()
        .map(|t| {
            let own: Vec<f64> = (0..plays).flat_map(|k| minutes(&t, 4 * k + 1..4 * k + 2)).collect();
            (mean(&own), t, own)
        })
        .collect();
    scored.sort_by(|a, b| a.0.total_cmp(&b.0));
    scored.truncate(keep);
    for score in &mut scored {
        for k in 0..plays {
            score.2.extend(minutes(&score.1, 4 * k..4 * k + 1));
            score.2.extend(minutes(&score.1, 4 * k + 2..4 * k + 4));
        }
        score.0 = mean(&score.2);
    }
    scored.sort_by(|a, b| a.0.total_cmp(&b.0));
    scored.into_iter().map(|(score, thing, _)| (score, thing)).collect()
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

/// Moves worth playing: straight to the likeliest place, a bearing here, and stands around the way there, apart from each other,
/// each with a bearing and some of them without.
pub(super) fn moves(
    picture: &Picture,
    ahead: &Ahead,
    from: Place,
    streets: Option<&Streets>,
    search: &Search,
    most: usize,
) -> Vec<Move> {
    let plane = &picture.plane;
    let here = plane.to_plane(from);
    let goal = ahead.goal().unwrap_or(here);
    let all: Vec<Candidate> = match streets {
        Some(streets) => along(streets, from, search.pace, plane),
        None => rings(here, goal, 0.5 * apart(here, goal), search.pace, plane),
    };
    let reach = streets.and_then(|s| s.reach(from, search.pace).map(|r| (s, r)));
    let way = |to: PlanePoint| -> Vec<PlanePoint> {
        let along = reach.as_ref().and_then(|(streets, reach)| {
            let on = streets.nearest(plane.to_place(to))?;
            let way = reach.way(streets, on)?;
            Some(way.into_iter().map(|p| plane.to_plane(streets.plane().to_place(p))).collect::<Vec<_>>())
        });
        std::iter::once(here).chain(along.unwrap_or_else(|| vec![to])).collect()
    };
    let going = |to: PlanePoint, bearing: bool| {
        let way = way(to);
        let length: f64 = way.windows(2).map(|w| apart(w[0], w[1])).sum();
        let stand = way[way.len() - 1];
        let foreign = if bearing { shares(picture, ahead, stand) } else { Vec::new() };
        Move { way, minutes: length / search.pace.value(), bearing, foreign }
    };
    let mut out = vec![going(goal, false)];
    let fresh = |p: PlanePoint| picture.stands.iter().all(|s| apart(*s, p) >= SAME_STAND_M);
    if fresh(here) {
        out.push(Move {
            way: vec![here],
            minutes: 0.0,
            bearing: true,
            foreign: shares(picture, ahead, here),
        });
    }
    // Way to the stand and on to the emitter.
    let minutes = |(distance, c): &(f64, &Candidate)| c.minutes + distance / search.pace.value();
    let mut sifted: Vec<(f64, &Candidate)> = all.iter().map(|c| (ahead.mean_distance(c.point), c)).collect();
    sifted.sort_by(|a, b| minutes(a).total_cmp(&minutes(b)));
    let mut kept: Vec<PlanePoint> = Vec::new();
    // Near ones first close together, then the farther ones thinner, until there are enough.
    for least in [0.3, 0.2, 0.12] {
        for (distance, candidate) in &sifted {
            let gap = (least * distance).clamp(40.0, 300.0);
            if kept.len() < most && kept.iter().all(|k| apart(*k, candidate.point) >= gap) {
                kept.push(candidate.point);
                let with = going(candidate.point, true);
                // Whoever goes and looks along one street may be better off in another.
                if kept.len().is_multiple_of(2) && streets.is_some() {
                    out.push(Move { bearing: false, ..with.clone() });
                }
                if fresh(candidate.point) {
                    out.push(with);
                }
            }
        }
    }
    out
}

/// The share of foreign bearings at a stand by point; empty without buildings.
fn shares(picture: &Picture, ahead: &Ahead, stand: PlanePoint) -> Vec<f64> {
    if picture.buildings.is_empty() {
        return Vec::new();
    }
    ahead.points().iter().map(|p| foreign(picture.buildings.between(stand, *p))).collect()
}

fn apart(a: PlanePoint, b: PlanePoint) -> f64 {
    (a.east - b.east).hypot(a.north - b.north)
}
