//! The quantities that are integrated out: a shared error of north, a common scale of the stated errors, and
//! the share of foreign bearings. Each is replaced by a few Gauss nodes.

use crate::{
    numeric::quadrature,
    solve::{
        compass::Compass,
        options::{Loss, Options},
        scene::{Scene, Sight},
    },
};

/// A node with its weight; weights of one quantity sum to 1.
pub type Node = (f64, f64);

/// An error of direction that bearings share: of a crew's compass, and of north.
#[derive(Clone, Copy, Debug)]
pub struct Offset {
    /// Of north, in standard deviations, for bearings that share one.
    pub north: f64,
    /// Of the compass, radians.
    pub compass: f64,
}

/// Quadrature nodes for the three quantities.
#[derive(Clone, Debug)]
pub struct Nodes {
    /// By crew, errors of its compass, radians; weights of those that were left out beforehand are missing from a sum of 1.
    pub compass: Vec<Vec<Node>>,
    /// Error of north in standard deviations, for bearings that share one.
    pub north: Vec<Node>,
    /// Common scale of the errors in standard deviations of its logarithm.
    pub scale: Vec<Node>,
    /// Share of foreign bearings that share no place.
    pub foreign: Vec<Node>,
    /// Share of foreign bearings where most of them share one.
    pub shared: Vec<Node>,
}

impl Nodes {
    /// The nodes that the bearings of a scene need.
    pub fn of(scene: &Scene, options: &Options) -> Self {
        let widest = |f: fn(&Sight) -> f64| scene.sights.iter().map(f).fold(0.0, f64::max);
        Self::choose(options, widest(|s| s.shared / s.sigma), widest(|s| s.spread), &scene.compasses)
    }

    /// As few nodes as the spread of each quantity allows. `offset` and `spread` are the largest shared error
    /// in units of a bearing's own error, and the largest spread of log scale.
    fn choose(options: &Options, offset: f64, spread: f64, compasses: &[Vec<Compass>]) -> Self {
        let one = vec![(0.0, 1.0)];
        let (scale, foreign, shared) = match options.loss {
            Loss::Mixture => (
                quadrature::standard_normal(count(spread / 0.15)),
                quadrature::beta(options.foreign.0, options.foreign.1, 3),
                quadrature::beta(options.front.foreign.0, options.front.foreign.1, 3),
            ),
            Loss::Classic(_) => (one.clone(), one.clone(), one),
        };
        let north = quadrature::standard_normal(count(offset / 0.3));
        Self { compass: compasses.to_vec(), north, scale, foreign, shared }
    }

    /// Every error of direction of a crew's bearings: for each compass error that of north.
    pub fn offsets(&self, crew: usize) -> Vec<Offset> {
        let at = |c: &Node| {
            let compass = c.0;
            self.north.iter().map(move |n| Offset { north: n.0, compass })
        };
        self.compass[crew].iter().flat_map(at).collect()
    }

    /// Number of combinations, for the crew with the most, with that many places that may be shared.
    pub fn combinations(&self, fronts: usize) -> usize {
        self.compass.iter().map(Vec::len).max().unwrap_or(1)
            * self.north.len()
            * self.scale.len()
            * (self.foreign.len() + fronts * self.shared.len())
    }
}

/// One node for a quantity that is fixed, two for a narrow one (exact to its third moment), up to seven for a wide one.
fn count(spread: f64) -> usize {
    match spread {
        s if s <= 0.0 => 1,
        s if s <= 0.7 => 2,
        s if s <= 1.5 => 3,
        s if s <= 3.0 => 5,
        _ => 7,
    }
}
