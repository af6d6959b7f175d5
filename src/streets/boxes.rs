//! A hierarchy of boxes over segments: which come near a box, and which is nearest to a point.

use crate::geodesy::PlanePoint;

/// Segments of one leaf.
const LEAF: usize = 8;

/// Least and greatest east, least and greatest north.
#[derive(Clone, Copy, Debug)]
pub struct Bounds {
    pub east: (f64, f64),
    pub north: (f64, f64),
}

impl Bounds {
    /// Around points, widened by `margin` metres on every side.
    pub fn around(points: &[PlanePoint], margin: f64) -> Self {
        let fold = |f: fn(&PlanePoint) -> f64| {
            let low = points.iter().map(f).fold(f64::INFINITY, f64::min);
            let high = points.iter().map(f).fold(f64::NEG_INFINITY, f64::max);
            (low - margin, high + margin)
        };
        Self { east: fold(|p| p.east), north: fold(|p| p.north) }
    }

    fn with(self, other: Self) -> Self {
        let both = |a: (f64, f64), b: (f64, f64)| (a.0.min(b.0), a.1.max(b.1));
        Self { east: both(self.east, other.east), north: both(self.north, other.north) }
    }

    fn meets(&self, other: &Self) -> bool {
        let over = |a: (f64, f64), b: (f64, f64)| a.0 <= b.1 && b.0 <= a.1;
        over(self.east, other.east) && over(self.north, other.north)
    }

    fn distance(&self, p: PlanePoint) -> f64 {
        let off = |x: f64, b: (f64, f64)| (b.0 - x).max(x - b.1).max(0.0);
        off(p.east, self.east).hypot(off(p.north, self.north))
    }
}

#[derive(Clone, Debug)]
struct Node {
    bounds: Bounds,
    range: std::ops::Range<usize>,
    /// The second child; the first follows its parent at once. `None` for leaves.
    second: Option<usize>,
}

/// The hierarchy. Items are known by their index.
#[derive(Clone, Debug, Default)]
pub struct Boxes {
    order: Vec<usize>,
    nodes: Vec<Node>,
}

impl Boxes {
    /// Builds it: every split halves the items along the longer side, so that it is never deeper than log₂ of their number.
    pub fn new(items: &[Bounds]) -> Self {
        let mut out = Self { order: (0..items.len()).collect(), nodes: Vec::new() };
        if !items.is_empty() {
            out.build(items, 0..items.len());
        }
        out
    }

    fn build(&mut self, items: &[Bounds], range: std::ops::Range<usize>) {
        let all = self.order[range.clone()].iter().map(|i| items[*i]);
        let bounds = all.reduce(Bounds::with).expect("a range is never empty");
        let own = self.nodes.len();
        self.nodes.push(Node { bounds, range: range.clone(), second: None });
        if range.len() <= LEAF {
            return;
        }
        let wide = bounds.east.1 - bounds.east.0 >= bounds.north.1 - bounds.north.0;
        let middle = |i: &usize| {
            let side = if wide { items[*i].east } else { items[*i].north };
            side.0 + side.1
        };
        let half = range.len() / 2;
        self.order[range.clone()]
            .select_nth_unstable_by(half, |a, b| middle(a).total_cmp(&middle(b)).then(a.cmp(b)));
        self.build(items, range.start..range.start + half);
        self.nodes[own].second = Some(self.nodes.len());
        self.build(items, range.start + half..range.end);
    }

    /// Items whose leaf meets `bounds`; some of them may not meet it themselves.
    pub fn near(&self, bounds: &Bounds, mut take: impl FnMut(usize)) {
        let mut stack = if self.nodes.is_empty() { Vec::new() } else { vec![0] };
        while let Some(at) = stack.pop() {
            let node = &self.nodes[at];
            if !node.bounds.meets(bounds) {
                continue;
            }
            match node.second {
                Some(second) => stack.extend([second, at + 1]),
                None => self.order[node.range.clone()].iter().for_each(|i| take(*i)),
            }
        }
    }

    /// The item of least `distance` from `point`, with it; `distance` gives infinity for items that do not count.
    pub fn nearest(&self, point: PlanePoint, distance: impl Fn(usize) -> f64) -> Option<(usize, f64)> {
        let mut best: Option<(usize, f64)> = None;
        let mut stack = if self.nodes.is_empty() { Vec::new() } else { vec![0] };
        while let Some(at) = stack.pop() {
            let node = &self.nodes[at];
            if best.is_some_and(|b| node.bounds.distance(point) >= b.1) {
                continue;
            }
            let Some(second) = node.second else {
                for &i in &self.order[node.range.clone()] {
                    let d = distance(i);
                    if d.is_finite() && best.is_none_or(|b| d < b.1) {
                        best = Some((i, d));
                    }
                }
                continue;
            };
            let first = self.nodes[at + 1].bounds.distance(point);
            let other = self.nodes[second].bounds.distance(point);
            stack.extend(if first <= other { [second, at + 1] } else { [at + 1, second] });
        }
        best
    }
}
