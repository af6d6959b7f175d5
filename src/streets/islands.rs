//! Parts of the streets that do not connect.

use crate::{finding::Finding, streets::Streets, units::Metres};

/// A part of the streets within which all connects.
#[derive(Clone, Debug, PartialEq)]
pub struct Island {
    /// Its nodes.
    pub nodes: Vec<usize>,
    /// Its edges.
    pub edges: Vec<usize>,
    /// Length of its streets.
    pub length: Metres,
}

impl Streets {
    /// The parts that do not connect, the longest first; one part where all connects.
    pub fn islands(&self) -> Vec<Island> {
        let mut seen = vec![false; self.nodes.len()];
        let mut out = Vec::new();
        for start in 0..self.nodes.len() {
            if seen[start] {
                continue;
            }
            seen[start] = true;
            let mut nodes = vec![start];
            let mut next = 0;
            while next < nodes.len() {
                for edge in self.at_node(nodes[next]) {
                    for node in [self.edges[*edge].from, self.edges[*edge].to] {
                        if !seen[node] {
                            seen[node] = true;
                            nodes.push(node);
                        }
                    }
                }
                next += 1;
            }
            nodes.sort_unstable();
            let mut edges: Vec<usize> = nodes.iter().flat_map(|n| self.at_node(*n)).copied().collect();
            edges.sort_unstable();
            edges.dedup();
            let length = Metres::new(edges.iter().map(|e| self.edges[*e].length.value()).sum());
            out.push(Island { nodes, edges, length });
        }
        out.sort_by(|a, b| b.length.value().total_cmp(&a.length.value()).then(a.nodes.cmp(&b.nodes)));
        out
    }

    /// The street outside of an island that comes nearest to a node of it, with the gap.
    fn gap(&self, island: &Island) -> Option<(&str, Metres)> {
        let own = |edge: usize| island.edges.binary_search(&edge).is_ok();
        let gaps = island.nodes.iter().filter_map(|n| {
            let found = self.nearest_where(self.nodes[*n].point, |edge| !own(edge))?;
            Some((self.edges[found.edge].name.as_str(), found.off))
        });
        gaps.min_by(|a, b| a.1.value().total_cmp(&b.1.value()))
    }
}

/// At most so many islands are told one by one.
const TOLD: usize = 5;

/// What there is to tell about parts that do not connect.
pub fn tell(streets: &Streets) -> Vec<Finding> {
    let islands = streets.islands();
    let mut out = Vec::new();
    for (i, island) in islands.iter().enumerate().skip(1).take(TOLD) {
        let mut names: Vec<&str> = Vec::new();
        for edge in &island.edges {
            let name = streets.edges[*edge].name.as_str();
            if !names.contains(&name) && names.len() < 3 {
                names.push(name);
            }
        }
        let gap = streets.gap(island).map_or(String::new(), |(name, gap)| {
            format!("; the nearest of the others is {name}, {:.0} m away", gap.value().ceil())
        });
        let message = format!(
            "part {} of the streets does not connect with the rest: {:.0} m of {}{gap}",
            i + 1,
            island.length.value(),
            names.join(", ")
        );
        let hint = "draw the missing link, or nobody is sent there by the streets";
        out.push(Finding::doubtful("streets-apart", message).hint(hint));
    }
    if islands.len() > TOLD + 1 {
        let message = format!("{} more parts of the streets do not connect", islands.len() - TOLD - 1);
        out.push(Finding::doubtful("streets-apart", message));
    }
    out
}
