//! Streets as a net: corners, and stretches of street between them.

use std::collections::BinaryHeap;

use crate::{
    divide::pieces::{Piece, Pieces},
    geodesy::PlanePoint,
    numeric::queue::Waiting,
    units::Metres,
};

/// A stretch of street between two corners.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// The street's name; empty where it has none.
    pub name: String,
    /// Its two corners, by number; both the same for a loop.
    pub ends: [usize; 2],
    /// Its length.
    pub length: Metres,
    /// Minutes to walk it once.
    pub minutes: f64,
    /// Probability that the emitter is nearest to it.
    pub probability: f64,
    /// Its course, from the first corner to the second.
    pub line: Vec<PlanePoint>,
    /// Whether it is only there to get from one island of streets to another, across open ground.
    pub crossing: bool,
}

/// The least that a cut through a corner counts as boundary, metres.
const LEAST: f64 = 60.0;

/// A stretch with more than this share of what a part should hold is cut, into pieces no shorter than this, metres.
const HEAVY: f64 = 0.02;
const SHORTEST: f64 = 10.0;

/// Corners and stretches.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Net {
    /// Where the corners are.
    pub corners: Vec<PlanePoint>,
    /// The stretches between them.
    pub stretches: Vec<Stretch>,
}

impl Net {
    /// For each corner the stretches that end there; a loop stands twice.
    pub fn meeting(&self) -> Vec<Vec<usize>> {
        let mut out = vec![Vec::new(); self.corners.len()];
        for (i, stretch) in self.stretches.iter().enumerate() {
            for end in stretch.ends {
                out[end].push(i);
            }
        }
        out
    }

    /// The stretches as pieces: two touch where they share a corner. A cut through a corner counts as boundary the mean length
    /// of the stretches there, shared out so that cutting one stretch off from all others there counts it once.
    pub fn pieces(&self) -> Pieces {
        let all = self.stretches.iter().map(|s| Piece {
            at: middle(&s.line),
            minutes: s.minutes.max(1e-6),
            probability: s.probability.max(0.0),
        });
        let mut out = Pieces::new(all.collect());
        for here in self.meeting() {
            let sum: f64 = here.iter().map(|i| self.stretches[*i].length.value()).sum();
            // A cut within a block is no line that anybody sees: it costs as much as one through a corner.
            let mean = (sum / here.len().max(1) as f64).max(LEAST);
            for (rank, a) in here.iter().enumerate() {
                for b in &here[..rank] {
                    out.touch(*a, *b, mean / (here.len() - 1) as f64);
                }
            }
        }
        out
    }

    /// The same streets with the stretches that hold much cut into equal pieces, fit to be divided evenly among so many parts; and for
    /// each piece the stretch that it is of. The probability of a stretch is taken to lie evenly on it. Crossings stay whole.
    pub fn finer(&self, parts: usize) -> (Self, Vec<usize>) {
        let whole: f64 = self.stretches.iter().map(|s| s.probability).sum();
        let most = HEAVY * whole / parts.max(1) as f64;
        let mut out = Self { corners: self.corners.clone(), stretches: Vec::new() };
        let mut of = Vec::new();
        for (number, stretch) in self.stretches.iter().enumerate() {
            let longest = (stretch.length.value() / SHORTEST).floor().max(1.0);
            let wanted = if most > 0.0 && !stretch.crossing { stretch.probability / most } else { 1.0 };
            let count = wanted.ceil().clamp(1.0, longest) as usize;
            let (mut from, each) = (stretch.ends[0], 1.0 / count as f64);
            for k in 0..count {
                let along = |k: usize| stretch.length.value() * each * k as f64;
                let line = if count > 1 {
                    between(&stretch.line, along(k), along(k + 1))
                } else {
                    stretch.line.clone()
                };
                let to = if k + 1 == count { stretch.ends[1] } else { out.corners.len() };
                if k + 1 < count {
                    out.corners.extend(line.last());
                }
                out.stretches.push(Stretch {
                    name: stretch.name.clone(),
                    ends: [from, to],
                    length: Metres::new(stretch.length.value() * each),
                    minutes: stretch.minutes * each,
                    probability: stretch.probability * each,
                    line,
                    crossing: stretch.crossing,
                });
                of.push(number);
                from = to;
            }
        }
        (out, of)
    }

    /// Groups of stretches that hang together: for each stretch its group, and how many there are.
    pub fn islands(&self) -> (Vec<u32>, u32) {
        self.pieces().groups(|_| true, |_, _| true)
    }

    /// Least metres from a corner to all others along the stretches in `meeting`, and the stretch that leads to each.
    pub fn ways(&self, meeting: &[Vec<usize>], from: usize) -> Ways {
        self.ways_from(meeting, |c| c == from)
    }

    /// The same from the nearest of several corners.
    pub fn ways_from(&self, meeting: &[Vec<usize>], from: impl Fn(usize) -> bool) -> Ways {
        let starts: Vec<usize> = (0..self.corners.len()).filter(|c| from(*c)).collect();
        let mut far = vec![f64::INFINITY; self.corners.len()];
        let mut by = vec![usize::MAX; self.corners.len()];
        starts.iter().for_each(|c| far[*c] = 0.0);
        let mut next: BinaryHeap<Waiting<usize>> =
            starts.into_iter().map(|c| Waiting { cost: 0.0, what: c }).collect();
        while let Some(Waiting { cost: metres, what: at }) = next.pop() {
            if metres > far[at] {
                continue;
            }
            for &i in &meeting[at] {
                let to = self.other(i, at);
                let sum = metres + self.stretches[i].length.value();
                if sum < far[to] {
                    far[to] = sum;
                    by[to] = i;
                    next.push(Waiting { cost: sum, what: to });
                }
            }
        }
        Ways { far, by }
    }

    /// The other corner of a stretch.
    pub fn other(&self, stretch: usize, corner: usize) -> usize {
        let [a, b] = self.stretches[stretch].ends;
        if a == corner { b } else { a }
    }
}

/// Least metres from a corner.
#[derive(Clone, Debug)]
pub struct Ways {
    /// To each corner; infinite where none leads.
    pub far: Vec<f64>,
    /// The stretch that leads to each corner; `usize::MAX` for the start and where none leads.
    pub by: Vec<usize>,
}

/// The part of a line between two distances along it.
pub(super) fn between(line: &[PlanePoint], from: f64, to: f64) -> Vec<PlanePoint> {
    let mut out: Vec<PlanePoint> = Vec::new();
    let mut before = 0.0;
    for w in line.windows(2) {
        let step = apart(w[0], w[1]);
        let at = |along: f64| {
            let t = if step > 0.0 { ((along - before) / step).clamp(0.0, 1.0) } else { 0.0 };
            PlanePoint {
                east: w[0].east + t * (w[1].east - w[0].east),
                north: w[0].north + t * (w[1].north - w[0].north),
            }
        };
        if before + step >= from && before <= to {
            if out.is_empty() {
                out.push(at(from));
            }
            out.push(at(to));
        }
        before += step;
    }
    // A line a hair shorter than its stated length ends where it ends.
    while out.len() < 2 {
        out.extend(line.last());
    }
    out
}

/// The point half-way along a line; the origin for a line without points.
pub fn middle(line: &[PlanePoint]) -> PlanePoint {
    let length: f64 = line.windows(2).map(|w| apart(w[0], w[1])).sum();
    let mut left = 0.5 * length;
    for w in line.windows(2) {
        let step = apart(w[0], w[1]);
        if step >= left && step > 0.0 {
            let t = left / step;
            return PlanePoint {
                east: w[0].east + t * (w[1].east - w[0].east),
                north: w[0].north + t * (w[1].north - w[0].north),
            };
        }
        left -= step;
    }
    line.last().copied().unwrap_or(PlanePoint { east: 0.0, north: 0.0 })
}

/// Metres between two points.
pub fn apart(a: PlanePoint, b: PlanePoint) -> f64 {
    crate::numeric::portable::hypot(a.east - b.east, a.north - b.north)
}
