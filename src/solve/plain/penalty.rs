//! What a miss costs, by each method.

use super::{
    blocks::{LANES, Lanes, View},
    turn::turns,
};
use crate::numeric::loss::Loss;

/// The cost of each miss of a block, with its derivatives by the miss.
pub struct Judged {
    /// The cost itself.
    pub cost: Lanes,
    /// Its first derivative.
    pub pull: Lanes,
    /// Its second derivative.
    pub bend: Lanes,
    /// The first derivative over the miss, never negative: the weight of the equivalent least squares.
    pub weight: Lanes,
}

/// A cost of a miss.
pub trait Penalty: Copy {
    /// Whether the cost is half the squared standardised miss.
    const QUADRATIC: bool;

    /// The costs of a block's misses; `keen` is 1/σ of each, zero for a filler, which costs nothing.
    fn judge(self, view: &View, keen: &Lanes) -> Judged;

    /// Factor on 1/σ² in the weight of a standardised miss.
    fn share(self, standardised: f64) -> f64;
}

/// ½ (m/σ)².
#[derive(Clone, Copy, Debug)]
pub struct Gaussian;

/// (1 − cos m)/σ².
#[derive(Clone, Copy, Debug)]
pub struct VonMises;

/// ρ(m/σ).
#[derive(Clone, Copy, Debug)]
pub struct Robust(pub Loss);

impl Penalty for Gaussian {
    const QUADRATIC: bool = true;

    #[inline(always)]
    fn judge(self, view: &View, keen: &Lanes) -> Judged {
        let miss = turns(&view.across, &view.along);
        let weight: Lanes = std::array::from_fn(|l| keen[l] * keen[l]);
        let pull: Lanes = std::array::from_fn(|l| weight[l] * miss[l]);
        let cost = std::array::from_fn(|l| 0.5 * pull[l] * miss[l]);
        Judged { cost, pull, bend: weight, weight }
    }

    fn share(self, _: f64) -> f64 {
        1.0
    }
}

impl Penalty for VonMises {
    const QUADRATIC: bool = false;

    #[inline(always)]
    fn judge(self, view: &View, keen: &Lanes) -> Judged {
        let weight: Lanes = std::array::from_fn(|l| keen[l] * keen[l]);
        let mut judged = Judged { cost: [0.0; LANES], pull: [0.0; LANES], bend: [0.0; LANES], weight };
        for l in 0..LANES {
            let inverse = view.inverse_square[l].sqrt();
            let (sin, cos) = (view.across[l] * inverse, view.along[l] * inverse);
            // sin²/(1 + cos) keeps the digits that 1 − cos loses for small misses.
            let fall = if cos > 0.0 { sin * sin / (1.0 + cos) } else { 1.0 - cos };
            judged.cost[l] = weight[l] * fall;
            judged.pull[l] = weight[l] * sin;
            judged.bend[l] = weight[l] * cos;
        }
        judged
    }

    fn share(self, _: f64) -> f64 {
        1.0
    }
}

impl Penalty for Robust {
    const QUADRATIC: bool = false;

    #[inline(always)]
    fn judge(self, view: &View, keen: &Lanes) -> Judged {
        let miss = turns(&view.across, &view.along);
        let mut judged =
            Judged { cost: [0.0; LANES], pull: [0.0; LANES], bend: [0.0; LANES], weight: [0.0; LANES] };
        for l in 0..LANES {
            let (u, square) = (miss[l] * keen[l], keen[l] * keen[l]);
            judged.cost[l] = self.0.rho(u);
            judged.weight[l] = square * self.0.weight(u);
            judged.pull[l] = judged.weight[l] * miss[l];
            judged.bend[l] = square * self.0.curvature(u);
        }
        judged
    }

    fn share(self, standardised: f64) -> f64 {
        self.0.weight(standardised)
    }
}
