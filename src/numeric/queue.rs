//! What waits for its turn, the least cost first.

use std::cmp::Ordering;

/// Something that waits in a [`BinaryHeap`](std::collections::BinaryHeap), which gives the least cost first, and of equal costs the
/// lesser thing, so that the order never depends on how they came.
#[derive(Clone, Copy, Debug)]
pub struct Waiting<T> {
    /// What it costs to get there, in any unit.
    pub cost: f64,
    /// What waits.
    pub what: T,
}

impl<T: Ord> Ord for Waiting<T> {
    fn cmp(&self, other: &Self) -> Ordering {
        other.cost.total_cmp(&self.cost).then_with(|| other.what.cmp(&self.what))
    }
}

impl<T: Ord> PartialOrd for Waiting<T> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<T: Ord> PartialEq for Waiting<T> {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl<T: Ord> Eq for Waiting<T> {}

#[cfg(test)]
mod tests {
    use std::collections::BinaryHeap;

    use super::*;

    #[test]
    fn the_least_cost_comes_first_and_of_equals_the_lesser() {
        let mut queue: BinaryHeap<Waiting<u8>> = [(2.0, 1), (1.0, 9), (1.0, 3), (5.0, 0)]
            .map(|(cost, what)| Waiting { cost, what })
            .into_iter()
            .collect();
        let order: Vec<u8> = std::iter::from_fn(|| queue.pop().map(|w| w.what)).collect();
        assert_eq!(order, [3, 9, 1, 0]);
    }
}
