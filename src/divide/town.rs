//! The streets to search: the posterior's mass on them, those that hold most of it, and what joins them.

use crate::{
    divide::{
        net::{Net, Stretch, apart, between},
        spread::Spread,
    },
    geodesy::PlanePoint,
    streets::{Pace, Streets},
    units::Metres,
};

/// What decides which streets are searched.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reach {
    /// Probability farther than this from any street is on none.
    pub off_street: Metres,
    /// Share of the probability on streets that the streets to search hold.
    pub share: f64,
    /// Longest way without such probability, along streets or across open ground, by which pieces are joined.
    pub join: Metres,
    /// How fast teams walk.
    pub pace: Pace,
}

impl Default for Reach {
    /// What `azimark divide` takes where nothing is stated: 150 m, 95 %, 1 km, a walk.
    fn default() -> Self {
        Self { off_street: Metres::new(150.0), share: 0.95, join: Metres::new(1000.0), pace: Pace::WALKING }
    }
}

/// The streets to search.
#[derive(Clone, Debug, PartialEq)]
pub struct Search {
    /// The streets, which hang together.
    pub net: Net,
    /// The edge of the town's graph for each stretch; none for a crossing.
    pub edges: Vec<Option<usize>>,
    /// Probability farther from all streets than the reach.
    pub off_street: f64,
    /// Probability on streets that are not searched because they hold little for each minute.
    pub thin: f64,
    /// Pieces that do not hang together with the rest and are too far to be joined: probability, metres of street, metres of
    /// open ground to the rest.
    pub islands: Vec<(f64, f64, f64)>,
    /// Crossings of open ground, metres each.
    pub crossings: Vec<f64>,
}

/// Streets are cut into pieces of at most this length, so that long ones can be shared and country roads searched in part.
const PIECE: f64 = 60.0;

/// All streets, cut into pieces: the first corners are those of the town's graph.
struct Cut {
    net: Net,
    /// Edge of the town's graph for each piece.
    edge: Vec<usize>,
    /// First piece of each edge, and how many there are.
    pieces: Vec<(usize, usize)>,
}

fn cut(streets: &Streets, pace: Pace, piece: f64) -> Cut {
    let mut net = Net { corners: streets.nodes().iter().map(|n| n.point).collect(), stretches: Vec::new() };
    let (mut edge_of, mut pieces) = (Vec::new(), Vec::new());
    for (number, edge) in streets.edges().iter().enumerate() {
        let length = edge.length.value();
        let count = ((length / piece).ceil() as usize).clamp(1, 1_000);
        pieces.push((net.stretches.len(), count));
        let each = Metres::new(length / count as f64);
        let mut from = edge.from;
        for i in 0..count {
            let line = between(&edge.polyline, i as f64 * each.value(), (i + 1) as f64 * each.value());
            let to = if i + 1 == count { edge.to } else { net.corners.len() };
            if i + 1 < count {
                net.corners.extend(line.last());
            }
            let (name, minutes) = (edge.name.clone(), pace.minutes(each).max(1e-3));
            net.stretches.push(Stretch {
                name,
                ends: [from, to],
                length: each,
                minutes,
                probability: 0.0,
                line,
                crossing: false,
            });
            edge_of.push(number);
            from = to;
        }
    }
    Cut { net, edge: edge_of, pieces }
}

/// Puts every cell's probability onto the nearest piece of street within reach; what is on none comes back.
fn load(cut: &mut Cut, spread: &Spread, streets: &Streets, reach: Metres) -> f64 {
    let mut off = 0.0;
    let same = spread.plane() == streets.plane();
    for cell in spread.cells() {
        let nearest = if same {
            streets.nearest_point(cell.at)
        } else {
            streets.nearest(spread.plane().to_place(cell.at))
        };
        let Some(near) = nearest.filter(|n| n.off.value() <= reach.value()) else {
            off += cell.probability;
            continue;
        };
        let (first, count) = cut.pieces[near.edge];
        let along = near.along.value() / streets.edges()[near.edge].length.value().max(1e-9);
        let piece = first + ((along * count as f64) as usize).min(count - 1);
        cut.net.stretches[piece].probability += cell.probability;
    }
    off
}

/// So many pieces for each part are made at least, by shorter pieces down to the shortest.
const FEW: usize = 15;
const SHORTEST: f64 = 10.0;

/// Chooses the streets to search, in pieces fit for so many parts. `None` where no probability is on any street.
pub fn search(spread: &Spread, streets: &Streets, reach: &Reach, parts: usize) -> Option<Search> {
    let first = search_in(spread, streets, reach, PIECE)?;
    let length: f64 = first.net.stretches.iter().map(|s| s.length.value()).sum();
    let finer = length / (FEW * parts.max(1)) as f64;
    let mut out =
        if finer >= PIECE { first } else { search_in(spread, streets, reach, finer.max(SHORTEST))? };
    let (net, of) = out.net.finer(parts);
    out.edges = of.into_iter().map(|i| out.edges[i]).collect();
    out.net = net;
    Some(out)
}

fn search_in(spread: &Spread, streets: &Streets, reach: &Reach, piece: f64) -> Option<Search> {
    let mut cut = cut(streets, reach.pace, piece);
    let off_street = load(&mut cut, spread, streets, reach.off_street);
    let Cut { net, edge, .. } = cut;
    let on = |i: usize| net.stretches[i].probability;
    let whole: f64 = (0..net.stretches.len()).map(on).sum();
    if whole <= 0.0 {
        return None;
    }
    let mut order: Vec<usize> = (0..net.stretches.len()).filter(|i| on(*i) > 0.0).collect();
    let density = |i: usize| on(i) / net.stretches[i].length.value().max(1.0);
    order.sort_by(|a, b| density(*b).total_cmp(&density(*a)).then(a.cmp(b)));
    let (mut chosen, mut sum) = (vec![false; net.stretches.len()], 0.0);
    for i in order {
        if sum >= reach.share * whole {
            break;
        }
        chosen[i] = true;
        sum += on(i);
    }
    let joined = join(&net, chosen, reach.join.value());
    Some(finish(&net, &edge, &joined, off_street))
}

struct Joined {
    chosen: Vec<bool>,
    crossings: Vec<[usize; 2]>,
    islands: Vec<(f64, f64, f64)>,
}

/// Joins the chosen streets, beginning with the piece that holds most, each time to the piece that is nearest along streets, else
/// across open ground.
fn join(net: &Net, mut chosen: Vec<bool>, most: f64) -> Joined {
    let meeting = net.meeting();
    let (mut crossings, mut islands) = (Vec::new(), Vec::new());
    let pieces = net.pieces();
    let (group, count) = pieces.groups(|i| chosen[i], |_, _| true);
    let mut held = vec![0.0; count as usize];
    for (i, g) in group.iter().enumerate().filter(|(_, g)| **g != u32::MAX) {
        held[*g as usize] += net.stretches[i].probability;
    }
    let Some(main) = (0..count as usize).rev().max_by(|a, b| held[*a].total_cmp(&held[*b])) else {
        return Joined { chosen, crossings, islands };
    };
    // Which corners each piece has, by its group.
    let corners_of = |g: usize| -> Vec<usize> {
        let of = group.iter().enumerate().filter(|(_, x)| **x as usize == g);
        let mut out: Vec<usize> = of.flat_map(|(i, _)| net.stretches[i].ends).collect();
        out.sort_unstable();
        out.dedup();
        out
    };
    let corners: Vec<Vec<usize>> = (0..count as usize).map(corners_of).collect();
    let mut inside = vec![false; net.corners.len()];
    corners[main].iter().for_each(|c| inside[*c] = true);
    let mut open: Vec<usize> = (0..count as usize).filter(|g| *g != main).collect();
    while !open.is_empty() {
        let ways = net.ways_from(&meeting, |c| inside[c]);
        let along = |g: &usize| -> (f64, usize) {
            let far = |c: &usize| ways.far[*c];
            let best = corners[*g].iter().copied().min_by(|a, b| far(a).total_cmp(&far(b))).unwrap_or(0);
            (ways.far[best], best)
        };
        let nearest = open.iter().copied().map(|g| (along(&g), g)).min_by(|a, b| a.0.0.total_cmp(&b.0.0));
        let Some(((far, corner), g)) = nearest else { break };
        let g = if far <= most {
            let mut at = corner;
            while let Some(stretch) = net.stretches.get(ways.by[at]) {
                chosen[ways.by[at]] = true;
                inside[at] = true;
                at = if stretch.ends[0] == at { stretch.ends[1] } else { stretch.ends[0] };
            }
            g
        } else {
            let Some((gap, g, pair)) = gap(net, &inside, &corners, &open) else { break };
            if gap > most {
                let length = (0..group.len()).filter(|i| group[*i] as usize == g);
                let metres = length.map(|i| net.stretches[i].length.value()).sum();
                islands.push((held[g], metres, gap));
                (0..group.len()).filter(|i| group[*i] as usize == g).for_each(|i| chosen[i] = false);
                open.retain(|x| *x != g);
                continue;
            }
            crossings.push(pair);
            g
        };
        corners[g].iter().for_each(|c| inside[*c] = true);
        open.retain(|x| *x != g);
    }
    Joined { chosen, crossings, islands }
}

/// The shortest way across open ground from what is inside to another piece.
fn gap(
    net: &Net,
    inside: &[bool],
    corners: &[Vec<usize>],
    open: &[usize],
) -> Option<(f64, usize, [usize; 2])> {
    let mine: Vec<usize> = (0..inside.len()).filter(|c| inside[*c]).collect();
    let mut best: Option<(f64, usize, [usize; 2])> = None;
    for &g in open {
        for &b in &corners[g] {
            for &a in &mine {
                let far = apart(net.corners[a], net.corners[b]);
                if best.is_none_or(|x| far < x.0) {
                    best = Some((far, g, [a, b]));
                }
            }
        }
    }
    best
}

/// Keeps the chosen streets and their corners.
fn finish(net: &Net, edge: &[usize], joined: &Joined, off_street: f64) -> Search {
    let mut number = vec![usize::MAX; net.corners.len()];
    let mut out = Net::default();
    let mut corner = |c: usize, out: &mut Net| {
        if number[c] == usize::MAX {
            number[c] = out.corners.len();
            out.corners.push(net.corners[c]);
        }
        number[c]
    };
    let (mut edges, mut thin) = (Vec::new(), 0.0);
    let islands: f64 = joined.islands.iter().map(|i| i.0).sum();
    for (i, stretch) in net.stretches.iter().enumerate() {
        if !joined.chosen[i] {
            thin += stretch.probability;
            continue;
        }
        let ends = stretch.ends.map(|c| corner(c, &mut out));
        out.stretches.push(Stretch { ends, ..stretch.clone() });
        edges.push(Some(edge[i]));
    }
    let mut crossings = Vec::new();
    let pace = net.stretches.first().map_or(80.0, |s| s.length.value().max(1e-6) / s.minutes);
    for pair in &joined.crossings {
        let line: Vec<PlanePoint> = pair.iter().map(|c| net.corners[*c]).collect();
        let metres = apart(line[0], line[1]);
        crossings.push(metres);
        let ends = pair.map(|c| corner(c, &mut out));
        let minutes = (metres / pace).max(1e-3);
        let name = "open ground".to_owned();
        let length = Metres::new(metres);
        out.stretches.push(Stretch { name, ends, length, minutes, probability: 0.0, line, crossing: true });
        edges.push(None);
    }
    Search {
        net: out,
        edges,
        off_street,
        thin: (thin - islands).max(0.0),
        islands: joined.islands.clone(),
        crossings,
    }
}
