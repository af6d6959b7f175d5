//! A first division by straight cuts, each of which halves minutes and probability at once.
//!
//! That one line can halve two measures of the plane is the ham-sandwich theorem; a cut into unequal numbers of parts may
//! have no such line, and then the nearest is taken. What a cut leaves hanging loose goes to the neighbours.

use crate::{divide::pieces::Pieces, numeric::portable::sin_cos};

/// Directions that are tried for each cut.
const DIRECTIONS: usize = 72;

/// How much a cut through the longest boundary counts against a share of probability that misses its goal.
const LENGTH: f64 = 0.03;

/// For each piece its part, 0 to `parts` − 1; every part is connected where all pieces together are. There must be at least as
/// many pieces as parts.
pub fn cut(pieces: &Pieces, parts: usize) -> Vec<u32> {
    let mut part = vec![0; pieces.len()];
    let all: Vec<usize> = (0..pieces.len()).collect();
    halve(pieces, all, 0, parts.max(1), &mut part);
    mend(pieces, &mut part, parts.max(1));
    part
}

fn halve(pieces: &Pieces, ids: Vec<usize>, first: u32, parts: usize, part: &mut [u32]) {
    if parts <= 1 {
        for id in ids {
            part[id] = first;
        }
        return;
    }
    let left = parts / 2;
    let (mut before, after) = best_cut(pieces, &ids, left, parts);
    before.sort_unstable();
    halve(pieces, before, first, left, part);
    halve(pieces, after, first + left as u32, parts - left, part);
}

/// The ids on both sides of the best line.
fn best_cut(pieces: &Pieces, ids: &[usize], left: usize, parts: usize) -> (Vec<usize>, Vec<usize>) {
    let goal = left as f64 / parts as f64;
    let probability: f64 = ids.iter().map(|i| pieces.all()[*i].probability).sum();
    let mut side = vec![0u8; pieces.len()];
    let tried: Vec<(Vec<usize>, usize, f64, f64)> = (0..DIRECTIONS)
        .map(|d| {
            let (order, at) = line(pieces, ids, d, goal, left, parts);
            let held: f64 = order[..at].iter().map(|i| pieces.all()[*i].probability).sum();
            let off = if probability > 0.0 { (held / probability - goal).abs() } else { 0.0 };
            for (rank, id) in order.iter().enumerate() {
                side[*id] = if rank < at { 1 } else { 2 };
            }
            let cut =
                order[..at].iter().flat_map(|i| pieces.touching(*i)).filter(|(j, _)| side[*j as usize] == 2);
            let length = cut.map(|(_, metres)| metres).sum();
            (order, at, off, length)
        })
        .collect();
    let longest = tried.iter().map(|t| t.3).fold(f64::MIN_POSITIVE, f64::max);
    let worth = |t: &(Vec<usize>, usize, f64, f64)| t.2 + LENGTH * t.3 / longest;
    let best = tried.into_iter().min_by(|a, b| worth(a).total_cmp(&worth(b)));
    let (mut order, at, ..) = best.unwrap_or_default();
    let after = order.split_off(at);
    (order, after)
}

/// The ids in the order in which a line of this direction meets them, and how many lie before it when it has the share `goal`
/// of the minutes behind it.
fn line(
    pieces: &Pieces,
    ids: &[usize],
    direction: usize,
    goal: f64,
    left: usize,
    parts: usize,
) -> (Vec<usize>, usize) {
    let (sin, cos) = sin_cos(std::f64::consts::TAU * direction as f64 / DIRECTIONS as f64);
    let along = |i: usize| {
        let at = pieces.all()[i].at;
        at.east * sin + at.north * cos
    };
    let mut order = ids.to_vec();
    order.sort_by(|a, b| along(*a).total_cmp(&along(*b)).then(a.cmp(b)));
    let total: f64 = ids.iter().map(|i| pieces.all()[*i].minutes).sum();
    let mut sum = 0.0;
    let mut at = 0;
    while at < order.len() && sum + 0.5 * pieces.all()[order[at]].minutes < goal * total {
        sum += pieces.all()[order[at]].minutes;
        at += 1;
    }
    // Each side keeps a piece for each of its parts.
    let most = order.len().saturating_sub(parts - left).max(left);
    (order, at.clamp(left, most))
}

/// Keeps of every part its longest connected group, and gives the rest to the neighbours that it touches most.
fn mend(pieces: &Pieces, part: &mut [u32], parts: usize) {
    let (group, count) = pieces.groups(|_| true, |i, j| part[i] == part[j]);
    let mut minutes = vec![0.0; count as usize];
    for (i, g) in group.iter().enumerate() {
        minutes[*g as usize] += pieces.all()[i].minutes;
    }
    let mut kept = vec![u32::MAX; parts];
    for (i, g) in group.iter().enumerate() {
        let best = &mut kept[part[i] as usize];
        if *best == u32::MAX || minutes[*g as usize] > minutes[*best as usize] {
            *best = *g;
        }
    }
    let mut loose: Vec<usize> = (0..pieces.len()).filter(|i| kept[part[*i] as usize] != group[*i]).collect();
    for i in &loose {
        part[*i] = u32::MAX;
    }
    while !loose.is_empty() {
        let before = loose.len();
        loose.retain(|&i| {
            let mut pull = vec![0.0; parts];
            for (j, metres) in pieces.touching(i) {
                if let Some(sum) = pull.get_mut(part[*j as usize] as usize) {
                    *sum += metres.max(f64::MIN_POSITIVE);
                }
            }
            let strongest = (0..parts).rev().max_by(|a, b| pull[*a].total_cmp(&pull[*b])).unwrap_or(0);
            if pull[strongest] > 0.0 {
                part[i] = strongest as u32;
            }
            pull[strongest] <= 0.0
        });
        if loose.len() == before {
            // Nothing else touches these: they belong to no connected whole.
            for i in loose.drain(..) {
                part[i] = 0;
            }
        }
    }
}
