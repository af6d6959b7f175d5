//! The linear methods: least distances from the lines.

use nalgebra::{Matrix2, Vector2};

use super::{
    PlainError, PlainFix, PlainProblem,
    blocks::{FARTHEST, NEAREST},
    local::{Local, Scored},
    penalty::Gaussian,
};
use crate::{
    numeric::least_squares::{Model, Problem},
    solve::cut::Ray,
};

/// Lines that cross at less than this, in radians (root mean square over all pairs), count as parallel.
const PARALLEL: f64 = 1e-6;

/// Rounds of Stansfield's weights. Each brings a few times nearer; a hundred settle all but hopeless geometry.
const ROUNDS: u32 = 1_000;

/// Weights of the squared distances from the lines: all alike, or those at a place.
#[derive(Clone, Copy)]
enum Weights {
    Alike,
    At(Vector2<f64>),
}

impl Weights {
    /// That of a line with its 1/σ.
    fn of(self, ray: &Ray, keen: f64) -> f64 {
        match self {
            Self::Alike => 1.0,
            // On a stand a line would outweigh all others without bound.
            Self::At(at) => keen * keen / (at - ray.from).norm_squared().max(NEAREST * NEAREST),
        }
    }
}

/// Signed distance of a place from a line: cos(az) (E − e) − sin(az) (N − n).
fn distance(ray: &Ray, at: Vector2<f64>) -> f64 {
    let d = at - ray.from;
    ray.cos * d.x - ray.sin * d.y
}

impl PlainProblem {
    /// The place with the least sum of squared distances from the lines, about the middle of the stands.
    pub(super) fn middle(&self) -> Result<Vector2<f64>, PlainError> {
        self.weighted(Weights::Alike)
    }

    /// That place as a fix.
    pub(super) fn pseudolinear(&self, middle: Vector2<f64>) -> Result<PlainFix, PlainError> {
        self.linear(middle, Weights::Alike, 1)
    }

    /// The fix with weights 1/(σ r)² taken at the pseudolinear place.
    pub(super) fn stansfield_once(&self, middle: Vector2<f64>) -> Result<PlainFix, PlainError> {
        self.linear(self.weighted(Weights::At(middle))?, Weights::At(middle), 2)
    }

    /// The fix whose weights 1/(σ r)² are those of the place itself.
    pub(super) fn stansfield(&self, middle: Vector2<f64>) -> Result<PlainFix, PlainError> {
        let mut at = middle;
        for round in 1..=ROUNDS {
            let to = self.weighted(Weights::At(at))?;
            let step = (to - at).norm();
            at = to;
            let size = self.blocks.rays().map(|r| (at - r.from).norm()).fold(0.0, f64::max);
            if step <= 1e-12 * size {
                return self.linear(at, Weights::At(at), round);
            }
        }
        Err(PlainError::NoMinimum)
    }

    fn weighted(&self, weights: Weights) -> Result<Vector2<f64>, PlainError> {
        let (mut matrix, mut right) = (Matrix2::zeros(), Vector2::zeros());
        let (mut total, mut squares) = (0.0, 0.0);
        for (ray, keen) in self.blocks.weighted() {
            let w = weights.of(&ray, keen);
            let normal = Vector2::new(ray.cos, -ray.sin);
            matrix += w * normal * normal.transpose();
            right += w * normal.dot(&ray.from) * normal;
            total += w;
            squares += w * w;
        }
        // The determinant is the sum over pairs of wᵢwⱼ sin² of their crossing angle, and the weights of all pairs add up
        // to half of (Σw)² − Σw².
        let crossing = matrix.determinant() > PARALLEL * PARALLEL * 0.5 * (total * total - squares);
        let inverse = matrix.try_inverse().filter(|_| crossing);
        inverse.map(|m| m * right).ok_or(PlainError::Parallel)
    }

    /// A linear method's place with its covariance and χ².
    fn linear(&self, at: Vector2<f64>, weights: Weights, rounds: u32) -> Result<PlainFix, PlainError> {
        if at.amax() >= FARTHEST {
            return Err(PlainError::NoMinimum);
        }
        let scored = Scored { blocks: &self.blocks, penalty: Gaussian, prior: 0.0 };
        let here: Local<2> = scored.model(&[at.x, at.y]).ok_or(PlainError::OnStand)?;
        let inverse = here.inverse().ok_or(PlainError::Parallel)?;
        let cost = |(ray, keen): (Ray, f64)| weights.of(&ray, keen) * distance(&ray, at).powi(2);
        Ok(PlainFix {
            at: self.outward(at.x, at.y),
            covariance: [inverse[0][0], inverse[0][1], inverse[1][1]],
            chi_square: 2.0 * here.cost(),
            freedom: self.blocks.lines() as u32 - 2,
            offset: None,
            cost: self.blocks.weighted().map(cost).sum(),
            steps: rounds,
        })
    }
}
