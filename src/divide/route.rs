//! A walk along every stretch of a part: the postman's problem.
//!
//! A walk that goes along every stretch once exists where at most two corners have an odd number of stretches (Euler). Else
//! corners are paired, and the way between the two of a pair is walked once more; the least sum over the pairs makes the
//! shortest walk ([`crate::sources::EDMONDS1973`]).

use crate::{
    divide::{
        matching,
        net::{Net, apart},
    },
    geodesy::PlanePoint,
    units::Metres,
};

/// A step of a walk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Step {
    /// The stretch.
    pub stretch: usize,
    /// The corner that it leads to.
    pub to: usize,
    /// Whether the stretch was walked before.
    pub again: bool,
}

/// A walk along every stretch of a part.
#[derive(Clone, Debug, PartialEq)]
pub struct Walk {
    /// The corner where it begins.
    pub start: usize,
    /// Its steps.
    pub steps: Vec<Step>,
    /// Its length.
    pub length: Metres,
    /// Minutes at walking pace.
    pub minutes: f64,
    /// No walk along all these stretches is shorter.
    pub bound: Metres,
}

/// Where a walk begins. It may end anywhere.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Begin {
    /// Wherever that makes it shortest.
    Anywhere,
    /// At the part's corner nearest to this point.
    Near(PlanePoint),
}

/// A walk along all `stretches` of a net, which must hang together; it uses no others. The shortest there is for up to
/// [`matching::MOST`] odd corners (to a millimetre for each stretch that is walked again); beyond that pairs are made of
/// neighbours, nearest first, and [`Walk::bound`] is the length of the stretches alone plus half of each odd corner's way to its nearest.
/// `None` for no stretches, or for such as do not hang together.
pub fn walk(net: &Net, stretches: &[usize], begin: Begin) -> Option<Walk> {
    let part = Part::of(net, stretches);
    let first = part.begin(begin)?;
    let mut odd: Vec<usize> = (0..net.corners.len()).filter(|c| part.meeting[*c].len() % 2 == 1).collect();
    let fixed = matches!(begin, Begin::Near(_));
    if fixed {
        // The walk leaves the start once more than it comes back: that changes the parity there.
        match odd.iter().position(|c| *c == first) {
            Some(at) => drop(odd.remove(at)),
            None => odd.push(first),
        }
    }
    let (again, more) = part.again(&odd, if fixed { 1 } else { 2 })?;
    let mut times = vec![1u32; net.stretches.len()];
    for i in again {
        times[i] += 1;
    }
    let start = if fixed { first } else { part.loose_end(&times).unwrap_or(first) };
    let steps = part.euler(start, &times)?;
    let sum = |of: fn(&crate::divide::net::Stretch) -> f64| {
        steps.iter().map(|s| of(&net.stretches[s.stretch])).sum()
    };
    let own: f64 = stretches.iter().map(|i| net.stretches[*i].length.value()).sum();
    let length: f64 = sum(|s| s.length.value());
    Some(Walk {
        start,
        length: Metres::new(length),
        minutes: sum(|s| s.minutes),
        bound: Metres::new(more.map_or(length, |m| own + m)),
        steps,
    })
}

struct Part<'n> {
    net: &'n Net,
    stretches: &'n [usize],
    /// Stretches of the part at each corner of the net.
    meeting: Vec<Vec<usize>>,
}

/// What is walked again, and a lower bound of its length where it is not known to be the least.
type Again = (Vec<usize>, Option<f64>);

/// Beyond the exact method each odd corner looks at so many of its nearest.
const NEAREST: usize = 10;

impl<'n> Part<'n> {
    fn of(net: &'n Net, stretches: &'n [usize]) -> Self {
        let mut meeting = vec![Vec::new(); net.corners.len()];
        for &i in stretches {
            for end in net.stretches[i].ends {
                meeting[end].push(i);
            }
        }
        Self { net, stretches, meeting }
    }

    fn begin(&self, begin: Begin) -> Option<usize> {
        let mut corners = (0..self.net.corners.len()).filter(|c| !self.meeting[*c].is_empty());
        match begin {
            Begin::Anywhere => corners.next(),
            Begin::Near(point) => corners.min_by(|a, b| {
                let far = |c: &usize| apart(self.net.corners[*c], point);
                far(a).total_cmp(&far(b))
            }),
        }
    }

    /// A corner where the walk begins or ends, if it is not a round.
    fn loose_end(&self, times: &[u32]) -> Option<usize> {
        let ends = |c: usize| self.meeting[c].iter().map(|i| times[*i]).sum::<u32>();
        (0..self.net.corners.len()).find(|c| ends(*c) % 2 == 1)
    }

    /// Stretches to walk again so that all but `loose` of the odd corners become even. Of the odd corners up to `loose` may stay, which
    /// nodes that cost nothing to be paired with stand for.
    fn again(&self, odd: &[usize], loose: usize) -> Option<Again> {
        let count = odd.len() + loose;
        if count > matching::MOST {
            return Some(self.by_neighbours(odd, loose));
        }
        let ways: Vec<_> = odd.iter().map(|c| self.net.ways(&self.meeting, *c)).collect();
        if ways.iter().any(|w| odd.iter().any(|c| !w.far[*c].is_finite())) {
            return None;
        }
        let cost = |a: usize, b: usize| match (odd.get(a), odd.get(b)) {
            (Some(_), Some(to)) => (1e3 * ways[a].far[*to]).round().min((1u64 << 40) as f64) as i64,
            _ => 0,
        };
        // The table is not symmetric to the last bit: the lower number decides.
        let mates = matching::pairs(count, |a, b| cost(a.min(b), a.max(b)))?;
        let mut out = Vec::new();
        for (a, &b) in mates.iter().enumerate().filter(|(a, b)| a < *b && **b < odd.len()) {
            self.trace(&ways[a].by, odd[b], odd[a], &mut out);
        }
        Some((out, None))
    }

    /// Adds the stretches from a corner back to where the ways begin.
    fn trace(&self, by: &[usize], mut at: usize, start: usize, out: &mut Vec<usize>) {
        while at != start {
            let Some(stretch) = self.net.stretches.get(by[at]) else { return };
            out.push(by[at]);
            at = if stretch.ends[0] == at { stretch.ends[1] } else { stretch.ends[0] };
        }
    }

    /// For many odd corners: each looks at its nearest, the nearest pairs are taken first, and what is left is joined along a
    /// tree. A stretch that would be walked three times is walked once.
    fn by_neighbours(&self, odd: &[usize], loose: usize) -> Again {
        let mut needs = vec![false; self.net.corners.len()];
        for c in odd {
            needs[*c] = true;
        }
        let (mut near, mut halves) = (Vec::new(), Vec::new());
        for &c in odd {
            let found = self.nearest(c, &needs);
            halves.push(0.5 * found.first().map_or(0.0, |f| f.0));
            near.extend(found.into_iter().map(|(metres, to, way)| (metres, c, to, way)));
        }
        near.sort_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2))));
        let mut again = vec![false; self.net.stretches.len()];
        for (_, a, b, way) in near {
            if needs[a] && needs[b] {
                (needs[a], needs[b]) = (false, false);
                for i in way {
                    again[i] = !again[i];
                }
            }
        }
        self.along_a_tree(&mut needs, &mut again);
        let out: Vec<usize> = self.stretches.iter().copied().filter(|i| again[*i]).collect();
        // Some of the odd corners may stay as they are: at best those with the longest way.
        halves.sort_by(f64::total_cmp);
        halves.truncate(halves.len().saturating_sub(loose));
        (out, Some(halves.iter().sum()))
    }

    /// The nearest odd corners: metres, corner, and the stretches on the way.
    fn nearest(&self, from: usize, odd: &[bool]) -> Vec<(f64, usize, Vec<usize>)> {
        let mut reach: Vec<(f64, usize, Vec<usize>)> = vec![(0.0, from, Vec::new())];
        let mut done: Vec<usize> = Vec::new();
        let mut out = Vec::new();
        while let Some(best) = (0..reach.len()).min_by(|a, b| reach[*a].0.total_cmp(&reach[*b].0)) {
            let (metres, at, way) = reach.swap_remove(best);
            if done.contains(&at) {
                continue;
            }
            done.push(at);
            if at != from && odd[at] {
                out.push((metres, at, way.clone()));
            }
            if out.len() == NEAREST || done.len() > 20 * NEAREST {
                break;
            }
            for &i in &self.meeting[at] {
                let to = self.net.other(i, at);
                if !done.contains(&to) {
                    let mut longer = way.clone();
                    longer.push(i);
                    reach.push((metres + self.net.stretches[i].length.value(), to, longer));
                }
            }
        }
        out
    }

    /// Joins the odd corners that are left along a tree: a branch is walked again where it has an odd number of them.
    fn along_a_tree(&self, needs: &mut [bool], again: &mut [bool]) {
        let Some(root) = self.begin(Begin::Anywhere) else { return };
        let mut order = vec![(root, usize::MAX)];
        let mut seen = vec![false; self.net.corners.len()];
        seen[root] = true;
        let mut at = 0;
        while at < order.len() {
            let (corner, _) = order[at];
            for &i in &self.meeting[corner] {
                let to = self.net.other(i, corner);
                if !seen[to] {
                    seen[to] = true;
                    order.push((to, i));
                }
            }
            at += 1;
        }
        for (corner, by) in order.into_iter().skip(1).rev() {
            if needs[corner] {
                let up = self.net.other(by, corner);
                needs[corner] = false;
                needs[up] = !needs[up];
                again[by] = !again[by];
            }
        }
    }

    /// Goes along every stretch as often as `times` says (Hierholzer). `None` if they do not hang together.
    fn euler(&self, start: usize, times: &[u32]) -> Option<Vec<Step>> {
        let mut left: Vec<u32> = times.to_vec();
        let mut next = vec![0; self.net.corners.len()];
        let mut path: Vec<(usize, usize)> = vec![(start, usize::MAX)];
        let mut back: Vec<(usize, usize)> = Vec::new();
        while let Some(&(at, by)) = path.last() {
            while next[at] < self.meeting[at].len() && left[self.meeting[at][next[at]]] == 0 {
                next[at] += 1;
            }
            if let Some(&i) = self.meeting[at].get(next[at]) {
                left[i] -= 1;
                path.push((self.net.other(i, at), i));
            } else {
                path.pop();
                back.push((at, by));
            }
        }
        back.reverse();
        let goes: usize = self.stretches.iter().map(|i| times[*i] as usize).sum();
        if back.len() != goes + 1 {
            return None;
        }
        let mut walked = vec![false; self.net.stretches.len()];
        let steps = back.windows(2).map(|w| {
            let (to, stretch) = w[1];
            Step { stretch, to, again: std::mem::replace(&mut walked[stretch], true) }
        });
        Some(steps.collect())
    }
}
