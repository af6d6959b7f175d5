//! Pairs of least total cost: every node with exactly one other.
//!
//! The exact method is Edmonds' ([`crate::sources::EDMONDS1965`]), primal and dual, in time of the order of the cube of the
//! number of nodes: trees of alternating edges grow from unpaired nodes; circles of odd length shrink to one node (a flower);
//! prices of nodes and flowers move until an edge becomes tight.

use std::collections::VecDeque;

/// More nodes than this are paired otherwise: the table of costs would have more than a few million entries.
pub const MOST: usize = 400;

/// The partner of each of `count` nodes so that the sum of `cost(a, b)` over the pairs is least. Costs are whole numbers of at least
/// 0 and at most 2⁴⁰, and the same both ways. `None` for an odd count, for more than [`MOST`] nodes, and for costs beyond.
pub fn pairs(count: usize, cost: impl Fn(usize, usize) -> i64) -> Option<Vec<usize>> {
    if count % 2 == 1 || count > MOST {
        return None;
    }
    let mut top = 0;
    for a in 0..count {
        for b in 0..a {
            let c = cost(a, b);
            if !(0..=1 << 40).contains(&c) {
                return None;
            }
            top = top.max(c);
        }
    }
    let mut forest = Forest::new(count, |a, b| 2 * (top + 1 - cost(a, b)));
    while forest.grow() {}
    let mates: Vec<usize> = forest.mate[1..=count].iter().map(|m| m.wrapping_sub(1)).collect();
    mates.iter().all(|m| *m < count).then_some(mates)
}

/// Nodes are numbered from 1, flowers follow after the nodes; 0 is nobody.
struct Forest {
    nodes: usize,
    /// Highest number in use.
    used: usize,
    /// Edge between two nodes or flowers: its end nodes, and its weight (0: none).
    edge: Vec<Vec<Edge>>,
    /// Prices.
    price: Vec<i64>,
    mate: Vec<usize>,
    /// Node outside with the tightest edge to this one.
    tight: Vec<usize>,
    /// Outermost flower that a node or flower lies in; 0 for a flower that is not in use.
    outer: Vec<usize>,
    /// Node through which the tree came here.
    parent: Vec<usize>,
    /// Which part of a flower a node lies in.
    within: Vec<Vec<usize>>,
    petals: Vec<Vec<usize>>,
    mark: Vec<Mark>,
    visit: Vec<usize>,
    visits: usize,
    queue: VecDeque<usize>,
}

#[derive(Clone, Copy, Default)]
struct Edge {
    from: usize,
    to: usize,
    weight: i64,
}

/// Where in its tree a node or flower stands: at an even or odd distance from the root, or in no tree.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Mark {
    Free,
    Even,
    Odd,
}

impl Forest {
    fn new(nodes: usize, weight: impl Fn(usize, usize) -> i64) -> Self {
        let size = nodes + nodes / 2 + 2;
        let mut edge = vec![vec![Edge::default(); size]; size];
        let mut top = 0;
        for a in 1..=nodes {
            for b in 1..=nodes {
                let weight = if a == b { 0 } else { weight(a - 1, b - 1) };
                edge[a][b] = Edge { from: a, to: b, weight };
                top = top.max(weight);
            }
        }
        let mut within = vec![vec![0; nodes + 1]; size];
        for a in 1..=nodes {
            within[a][a] = a;
        }
        Self {
            nodes,
            used: nodes,
            edge,
            price: (0..size).map(|i| if (1..=nodes).contains(&i) { top } else { 0 }).collect(),
            mate: vec![0; size],
            tight: vec![0; size],
            outer: (0..size).map(|i| if i <= nodes { i } else { 0 }).collect(),
            parent: vec![0; size],
            within,
            petals: vec![Vec::new(); size],
            mark: vec![Mark::Free; size],
            visit: vec![0; size],
            visits: 0,
            queue: VecDeque::new(),
        }
    }

    /// How far an edge is from tight.
    fn slack(&self, e: Edge) -> i64 {
        self.price[e.from] + self.price[e.to] - self.edge[e.from][e.to].weight * 2
    }

    fn offer(&mut self, node: usize, to: usize) {
        let now = self.tight[to];
        if now == 0 || self.slack(self.edge[node][to]) < self.slack(self.edge[now][to]) {
            self.tight[to] = node;
        }
    }

    fn retighten(&mut self, to: usize) {
        self.tight[to] = 0;
        for node in 1..=self.nodes {
            let outer = self.outer[node];
            if self.edge[node][to].weight > 0 && outer != to && self.mark[outer] == Mark::Even {
                self.offer(node, to);
            }
        }
    }

    /// Nodes of a node or flower, one after the other.
    fn inner(&self, x: usize) -> Vec<usize> {
        let (mut out, mut open) = (Vec::new(), vec![x]);
        while let Some(x) = open.pop() {
            if x <= self.nodes { out.push(x) } else { open.extend(self.petals[x].iter().rev()) }
        }
        out
    }

    fn enqueue(&mut self, x: usize) {
        let nodes = self.inner(x);
        self.queue.extend(nodes);
    }

    fn put_into(&mut self, x: usize, outer: usize) {
        let mut open = vec![x];
        while let Some(x) = open.pop() {
            self.outer[x] = outer;
            if x > self.nodes {
                open.extend(self.petals[x].iter());
            }
        }
    }

    /// Turns a flower so that the way from its base to `petal` has an even number of steps, and gives that number.
    fn even_way(&mut self, flower: usize, petal: usize) -> usize {
        let at = self.petals[flower].iter().position(|p| *p == petal).unwrap_or(0);
        if at % 2 == 0 {
            return at;
        }
        self.petals[flower][1..].reverse();
        self.petals[flower].len() - at
    }

    /// Pairs `a` with `b`, and the inside of a flower accordingly.
    fn pair(&mut self, a: usize, b: usize) {
        let e = self.edge[a][b];
        self.mate[a] = e.to;
        if a <= self.nodes {
            return;
        }
        let petal = self.within[a][e.from];
        let way = self.even_way(a, petal);
        for i in 0..way {
            let (p, q) = (self.petals[a][i], self.petals[a][i ^ 1]);
            self.pair(p, q);
        }
        self.pair(petal, b);
        self.petals[a].rotate_left(way);
    }

    /// Swaps paired and unpaired edges from here to the root.
    fn swap_to_root(&mut self, mut a: usize, mut b: usize) {
        loop {
            let next = self.outer[self.mate[a]];
            self.pair(a, b);
            if next == 0 {
                return;
            }
            let up = self.outer[self.parent[next]];
            self.pair(next, up);
            (a, b) = (up, next);
        }
    }

    /// Where two branches of a tree meet; 0 where they belong to two trees.
    fn meeting(&mut self, mut a: usize, mut b: usize) -> usize {
        self.visits += 1;
        while a != 0 || b != 0 {
            if a != 0 {
                if self.visit[a] == self.visits {
                    return a;
                }
                self.visit[a] = self.visits;
                a = self.outer[self.mate[a]];
                if a != 0 {
                    a = self.outer[self.parent[a]];
                }
            }
            (a, b) = (b, a);
        }
        0
    }

    /// Shrinks the circle through `base` that the edge from `a` to `b` closes.
    fn shrink(&mut self, a: usize, base: usize, b: usize) {
        let flower = (self.nodes + 1..=self.used).find(|f| self.outer[*f] == 0).unwrap_or(self.used + 1);
        self.used = self.used.max(flower);
        self.price[flower] = 0;
        self.mark[flower] = Mark::Even;
        self.mate[flower] = self.mate[base];
        self.petals[flower] = vec![base];
        for (side, from) in [a, b].into_iter().enumerate() {
            let mut x = from;
            while x != base {
                let mate = self.outer[self.mate[x]];
                self.petals[flower].extend([x, mate]);
                self.enqueue(mate);
                x = self.outer[self.parent[mate]];
            }
            if side == 0 {
                self.petals[flower][1..].reverse();
            }
        }
        self.put_into(flower, flower);
        for x in 1..=self.used {
            self.edge[flower][x].weight = 0;
            self.edge[x][flower].weight = 0;
        }
        self.within[flower].fill(0);
        for petal in self.petals[flower].clone() {
            for x in 1..=self.used {
                let old = self.edge[flower][x];
                let new = self.edge[petal][x];
                if new.weight > 0 && (old.weight == 0 || self.slack(new) < self.slack(old)) {
                    self.edge[flower][x] = new;
                    self.edge[x][flower] = self.edge[x][petal];
                }
            }
            for x in 1..=self.nodes {
                if self.within[petal][x] != 0 {
                    self.within[flower][x] = petal;
                }
            }
        }
        self.retighten(flower);
    }

    /// Opens a flower at an odd place whose price has come down to nothing.
    fn open(&mut self, flower: usize) {
        for petal in self.petals[flower].clone() {
            self.put_into(petal, petal);
        }
        let entry = self.within[flower][self.edge[flower][self.parent[flower]].from];
        let way = self.even_way(flower, entry);
        for i in (0..way).step_by(2) {
            let (odd, even) = (self.petals[flower][i], self.petals[flower][i + 1]);
            self.parent[odd] = self.edge[even][odd].from;
            self.mark[odd] = Mark::Odd;
            self.mark[even] = Mark::Even;
            self.tight[odd] = 0;
            self.retighten(even);
            self.enqueue(even);
        }
        self.mark[entry] = Mark::Odd;
        self.parent[entry] = self.parent[flower];
        for i in way + 1..self.petals[flower].len() {
            let petal = self.petals[flower][i];
            self.mark[petal] = Mark::Free;
            self.retighten(petal);
        }
        self.outer[flower] = 0;
    }

    /// Uses a tight edge; true if it brought one more pair.
    fn use_edge(&mut self, e: Edge) -> bool {
        let (a, b) = (self.outer[e.from], self.outer[e.to]);
        match self.mark[b] {
            Mark::Free => {
                self.parent[b] = e.from;
                self.mark[b] = Mark::Odd;
                let mate = self.outer[self.mate[b]];
                self.tight[b] = 0;
                self.tight[mate] = 0;
                self.mark[mate] = Mark::Even;
                self.enqueue(mate);
                false
            }
            Mark::Even => {
                let base = self.meeting(a, b);
                if base == 0 {
                    self.swap_to_root(a, b);
                    self.swap_to_root(b, a);
                    return true;
                }
                self.shrink(a, base, b);
                false
            }
            Mark::Odd => false,
        }
    }

    /// One more pair; false when there is none to gain.
    fn grow(&mut self) -> bool {
        self.mark.fill(Mark::Free);
        self.tight.fill(0);
        self.queue.clear();
        for x in 1..=self.used {
            if self.outer[x] == x && self.mate[x] == 0 {
                self.parent[x] = 0;
                self.mark[x] = Mark::Even;
                self.enqueue(x);
            }
        }
        if self.queue.is_empty() {
            return false;
        }
        loop {
            if self.scan() {
                return true;
            }
            if !self.reprice() {
                return false;
            }
            for x in 1..=self.used {
                let from = self.tight[x];
                if self.outer[x] == x
                    && from != 0
                    && self.outer[from] != x
                    && self.slack(self.edge[from][x]) == 0
                {
                    let e = self.edge[from][x];
                    if self.use_edge(e) {
                        return true;
                    }
                }
            }
            for flower in self.nodes + 1..=self.used {
                if self.outer[flower] == flower && self.mark[flower] == Mark::Odd && self.price[flower] == 0 {
                    self.open(flower);
                }
            }
        }
    }

    /// Looks along the edges of nodes in the queue.
    fn scan(&mut self) -> bool {
        while let Some(node) = self.queue.pop_front() {
            if self.mark[self.outer[node]] == Mark::Odd {
                continue;
            }
            for other in 1..=self.nodes {
                let e = self.edge[node][other];
                if e.weight == 0 || self.outer[node] == self.outer[other] {
                    continue;
                }
                if self.slack(e) == 0 {
                    if self.use_edge(e) {
                        return true;
                    }
                } else {
                    let outer = self.outer[other];
                    self.offer(node, outer);
                }
            }
        }
        false
    }

    /// Moves the prices as far as they go; false when a node's own price runs out, which ends the whole.
    fn reprice(&mut self) -> bool {
        let mut step = i64::MAX;
        for flower in self.nodes + 1..=self.used {
            if self.outer[flower] == flower && self.mark[flower] == Mark::Odd {
                step = step.min(self.price[flower] / 2);
            }
        }
        for x in 1..=self.used {
            if self.outer[x] != x || self.tight[x] == 0 {
                continue;
            }
            let slack = self.slack(self.edge[self.tight[x]][x]);
            match self.mark[x] {
                Mark::Free => step = step.min(slack),
                Mark::Even => step = step.min(slack / 2),
                Mark::Odd => {}
            }
        }
        if step == i64::MAX {
            return false;
        }
        for node in 1..=self.nodes {
            match self.mark[self.outer[node]] {
                Mark::Even if self.price[node] <= step => return false,
                Mark::Even => self.price[node] -= step,
                Mark::Odd => self.price[node] += step,
                Mark::Free => {}
            }
        }
        for flower in self.nodes + 1..=self.used {
            if self.outer[flower] == flower {
                match self.mark[flower] {
                    Mark::Even => self.price[flower] += 2 * step,
                    Mark::Odd => self.price[flower] -= 2 * step,
                    Mark::Free => {}
                }
            }
        }
        self.queue.clear();
        true
    }
}
