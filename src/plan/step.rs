//! What somebody underway does next: a bearing somewhere, or go and look.

use crate::{
    geodesy::{Place, PlanePoint},
    plan::{
        ahead::{Ahead, Move},
        candidates::{Candidate, along, rings},
        next::Search,
        picture::Picture,
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
    let here = picture.plane.to_plane(from);
    let played = 4 * depth.plays;
    let ahead = Ahead::new(&picture.belief, here, search, picture.streets, played);
    let moves = moves(picture, &ahead, from, streets, search, depth.moves);
    let mut scores: Vec<(f64, &Move, Vec<f64>)> = moves
        .iter()
        .map(|m| {
            // Every fourth play: together they span the belief.
            let minutes: Vec<f64> =
                (0..depth.plays).flat_map(|k| ahead.minutes(m, 4 * k + 1..4 * k + 2)).collect();
            (mean(&minutes), m, minutes)
        })
        .collect();
    scores.sort_by(|a, b| a.0.total_cmp(&b.0));
    scores.truncate((moves.len() / 4).max(4));
    for score in &mut scores {
        for k in 0..depth.plays {
            score.2.extend(ahead.minutes(score.1, 4 * k + 2..4 * k + 5 - 1));
            score.2.extend(ahead.minutes(score.1, 4 * k..4 * k + 1));
        }
        score.0 = mean(&score.2);
    }
    scores.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (minutes, best, _) = &scores[0];
    Step { to: picture.plane.to_place(best.to), bearing: best.bearing, minutes: *minutes, tried: moves.len() }
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

/// Moves worth playing: straight to the likeliest place with and without bearings on the way, a bearing here, and stands around
/// the way there, apart from each other.
fn moves(
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
    let nearest = |to: PlanePoint| {
        let best = all.iter().min_by(|a, b| apart(a.point, to).total_cmp(&apart(b.point, to)));
        best.map(|c| (c.point, c.minutes))
    };
    let straight = apart(here, goal) / search.pace.value();
    let (end, minutes) = match streets {
        Some(_) => nearest(goal).unwrap_or((goal, straight)),
        None => (goal, straight),
    };
    let mut out = vec![Move { to: end, minutes, bearing: false }];
    let fresh = |p: PlanePoint| picture.stands.iter().all(|s| apart(*s, p) >= SAME_STAND_M);
    if fresh(here) {
        out.push(Move { to: here, minutes: 0.0, bearing: true });
    }
    // Way to the stand and on to the emitter.
    let mut sifted: Vec<(f64, &Candidate)> = all
        .iter()
        .filter(|c| fresh(c.point))
        .map(|c| (c.minutes + ahead.mean_distance(c.point) / search.pace.value(), c))
        .collect();
    sifted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut kept: Vec<PlanePoint> = Vec::new();
    // Near ones first close together, then the farther ones thinner, until there are enough.
    for least in [0.3, 0.2, 0.12] {
        for (_, candidate) in &sifted {
            let gap = (least * ahead.mean_distance(candidate.point)).clamp(40.0, 300.0);
            if out.len() < most && kept.iter().all(|k| apart(*k, candidate.point) >= gap) {
                kept.push(candidate.point);
                out.push(Move { to: candidate.point, minutes: candidate.minutes, bearing: true });
            }
        }
    }
    out
}

fn apart(a: PlanePoint, b: PlanePoint) -> f64 {
    (a.east - b.east).hypot(a.north - b.north)
}
