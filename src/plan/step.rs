//! What somebody underway does next: a bearing somewhere, or go and look.

use crate::{
    geodesy::{Place, PlanePoint},
    plan::{
        ahead::{Ahead, Move},
        candidates::{Candidate, along, rings},
        next::Search,
        picture::{Picture, foreign},
    },
    streets::{Pace, Reach, Streets},
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
    let all = candidates(picture, &ahead, from, streets, search);
    let moves = moves(&Mover::new(picture, &ahead, from, streets, search.pace), &all, search, depth.moves);
    let indices: Vec<usize> = (0..moves.len()).collect();
    let keep = quarter(moves.len());
    let best = fewest(indices, keep, depth.plays, &|i, plays| ahead.minutes(&moves[*i], plays));
    let (minutes, i) = best.first().copied().unwrap_or((f64::INFINITY, 0));
    Step { to: picture.plane.to_place(moves[i].to()), bearing: moves[i].bearing, minutes, tried: moves.len() }
}

/// So many of the moves are looked at closely.
pub(super) const fn quarter(moves: usize) -> usize {
    if moves < 16 { 4 } else { moves / 4 }
}

/// Things by their mean minutes, the fewest first: all of them in every fourth of the plays, which together span the belief, and
/// the best `keep` in the others too. The rest is left out.
pub(super) fn fewest<T: Clone>(
    things: Vec<T>,
    keep: usize,
    plays: usize,
    minutes: &dyn Fn(&T, std::ops::Range<usize>) -> Vec<f64>,
) -> Vec<(f64, T)> {
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

/// Makes moves of somebody at one place.
pub(super) struct Mover<'a> {
    picture: &'a Picture,
    ahead: &'a Ahead<'a>,
    streets: Option<(&'a Streets, Reach)>,
    here: PlanePoint,
    pace: Pace,
}

impl<'a> Mover<'a> {
    pub fn new(
        picture: &'a Picture,
        ahead: &'a Ahead<'a>,
        from: Place,
        streets: Option<&'a Streets>,
        pace: Pace,
    ) -> Self {
        let streets = streets.and_then(|s| s.reach(from, pace).map(|reach| (s, reach)));
        Self { picture, ahead, streets, here: picture.plane.to_plane(from), pace }
    }

    /// The way along streets, or straight where there are none.
    pub fn way(&self, to: PlanePoint) -> Vec<PlanePoint> {
        let plane = &self.picture.plane;
        let along = self.streets.as_ref().and_then(|(streets, reach)| {
            let way = reach.way(streets, streets.nearest(plane.to_place(to))?)?;
            Some(way.into_iter().map(|p| plane.to_plane(streets.plane().to_place(p))).collect::<Vec<_>>())
        });
        std::iter::once(self.here).chain(along.unwrap_or_else(|| vec![to])).collect()
    }

    /// Somewhere, with a bearing there or without; `candidate` is its number among the stands that may be proposed.
    pub fn going(&self, to: PlanePoint, bearing: bool, candidate: Option<usize>) -> Move {
        let way = self.way(to);
        let length: f64 = way.windows(2).map(|w| apart(w[0], w[1])).sum();
        let foreign = self.foreign(way[way.len() - 1], bearing);
        Move { way, minutes: length / self.pace.value(), bearing, foreign, candidate }
    }

    /// A bearing here.
    pub fn staying(&self) -> Move {
        let foreign = self.foreign(self.here, true);
        Move { way: vec![self.here], minutes: 0.0, bearing: true, foreign, candidate: None }
    }

    fn foreign(&self, stand: PlanePoint, bearing: bool) -> Vec<f64> {
        if bearing { shares(self.picture, self.ahead, stand) } else { Vec::new() }
    }
}

/// Stands that may come next: along the streets, else on rings of open ground about the place and the likeliest one.
pub(super) fn candidates(
    picture: &Picture,
    ahead: &Ahead,
    from: Place,
    streets: Option<&Streets>,
    search: &Search,
) -> Vec<Candidate> {
    let plane = &picture.plane;
    if let Some(streets) = streets {
        return along(streets, from, search.pace, plane);
    }
    let here = plane.to_plane(from);
    let goal = ahead.goal().unwrap_or(here);
    rings(here, goal, 0.5 * apart(here, goal), search.pace, plane)
}

/// Moves worth playing: straight to the likeliest place, a bearing here, and stands around the way there, apart from each other,
/// each with a bearing and some of them without.
pub(super) fn moves(mover: &Mover, all: &[Candidate], search: &Search, most: usize) -> Vec<Move> {
    let (picture, ahead, here) = (mover.picture, mover.ahead, mover.here);
    let goal = ahead.goal().unwrap_or(here);
    let mut out = vec![mover.going(goal, false, None)];
    let fresh = |p: PlanePoint| picture.stands.iter().all(|s| apart(*s, p) >= SAME_STAND_M);
    if fresh(here) {
        out.push(mover.staying());
    }
    // Way to the stand and on to the emitter.
    let minutes = |(distance, c): &(f64, usize)| all[*c].minutes + distance / search.pace.value();
    let mut sifted: Vec<(f64, usize)> =
        all.iter().enumerate().map(|(i, c)| (ahead.mean_distance(c.point), i)).collect();
    sifted.sort_by(|a, b| minutes(a).total_cmp(&minutes(b)));
    let mut kept: Vec<PlanePoint> = Vec::new();
    // Near ones first close together, then the farther ones thinner, until there are enough.
    for least in [0.3, 0.2, 0.12] {
        for (distance, number) in &sifted {
            let point = all[*number].point;
            let gap = (least * distance).clamp(40.0, 300.0);
            if kept.len() < most && kept.iter().all(|k| apart(*k, point) >= gap) {
                kept.push(point);
                let with = mover.going(point, true, Some(*number));
                // Whoever goes and looks along one street may be better off in another.
                if kept.len().is_multiple_of(2) && mover.streets.is_some() {
                    out.push(Move { bearing: false, ..with.clone() });
                }
                if fresh(point) {
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
    let share =
        |p: &PlanePoint| if picture.buildings.between(stand, *p) { picture.behind } else { foreign(false) };
    ahead.points().iter().map(share).collect()
}

fn apart(a: PlanePoint, b: PlanePoint) -> f64 {
    (a.east - b.east).hypot(a.north - b.north)
}
