//! Two teams at once: the pair of stands whose two bearings bring somebody to the emitter soonest.

use crate::{
    geodesy::Place,
    plan::{
        ahead::{Ahead, Move},
        next::Search,
        picture::Picture,
        step::{Depth, Mover, candidates, fewest, moves, quarter},
    },
    streets::Streets,
    units::Angle,
};

/// The best pair of stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Pair {
    /// Where each team goes, in the order in which the teams were given.
    pub stands: [Place; 2],
    /// Minutes on foot of each.
    pub walks: [f64; 2],
    /// Expected minutes until one of them meets the emitter.
    pub minutes: f64,
    /// The same where only the better placed of the two takes bearings.
    pub alone: f64,
    /// The angle, 0° to 90°, under which the two lines meet at the likeliest place.
    pub cut: Option<Angle>,
}

/// So many stands of each team are paired.
const EACH: usize = 14;

/// The best pair for teams at two places; `None` where one of them finds no stand.
pub fn pair(
    picture: &Picture,
    teams: [Place; 2],
    streets: Option<&Streets>,
    search: &Search,
    depth: Depth,
) -> Option<Pair> {
    let ahead = Ahead::new(&picture.belief, search, picture.streets, 4 * depth.plays);
    let of = teams.map(|from| {
        let mover = Mover::new(picture, &ahead, from, streets, search.pace);
        moves(&mover, &candidates(picture, &ahead, from, streets, search), search, EACH)
    });
    let single = |moves: &[Move]| {
        let indices: Vec<usize> = (0..moves.len()).collect();
        let best =
            fewest(indices, quarter(moves.len()), depth.plays, &|i, plays| ahead.minutes(&moves[*i], plays));
        best.first().map_or(f64::INFINITY, |b| b.0)
    };
    let alone = single(&of[0]).min(single(&of[1]));
    let [first, second] = of.map(|m| m.into_iter().filter(|m| m.bearing).collect::<Vec<Move>>());
    let pairs: Vec<(&Move, &Move)> = first.iter().flat_map(|a| second.iter().map(move |b| (a, b))).collect();
    let keep = quarter(pairs.len());
    let best = fewest(pairs, keep, depth.plays, &|(a, b), plays| ahead.minutes_of_two([*a, *b], plays));
    let (minutes, (a, b)) = best.first().copied()?;
    let cut = ahead.goal().map(|goal| {
        let toward = |m: &Move| (goal.east - m.to().east).atan2(goal.north - m.to().north);
        let turn: f64 = toward(a) - toward(b);
        Angle::radians(turn.sin().abs().atan2(turn.cos().abs()))
    });
    let stands = [a, b].map(|m| picture.plane.to_place(m.to()));
    Some(Pair { stands, walks: [a.minutes, b.minutes], minutes, alone, cut })
}
