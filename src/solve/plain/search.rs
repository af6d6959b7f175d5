//! The search for the least cost: starts, steps, and what the end of the steps amounts to.

use nalgebra::Vector2;

use super::{
    PlainError, PlainFix, PlainProblem,
    blocks::NEAREST,
    local::{Local, Scored},
    penalty::Penalty,
};
use crate::{
    numeric::least_squares::{self, Minimum, Model, Options, Stop},
    solve::cut::{Ray, best_apart, cuts},
    units::Angle,
};

/// Where the steps begin.
#[derive(Clone, Copy)]
pub struct Start {
    /// Metres east and north of the middle of the stands.
    pub at: Vector2<f64>,
    /// The correction in radians.
    pub shift: f64,
}

impl Start {
    /// With no correction.
    pub const fn at(at: Vector2<f64>) -> Self {
        Self { at, shift: 0.0 }
    }
}

/// A full step below 1e-5 standard deviations is the last, for Newton's steps square what is left. There is damping only
/// where a step was turned down, and the plane's middle is a place like any other.
const OPTIONS: Options =
    Options { offset: 0.0, deviations: 1e-5, change: 1e-14, reach: f64::INFINITY, damping: 0.0, limit: 100 };

/// How many of the cuts are polished.
const STARTS: usize = 4;

impl PlainProblem {
    fn scored<P: Penalty>(&self, penalty: P) -> Scored<'_, P> {
        let prior = self.offset.map_or(0.0, |s| s.to_radians().powi(-2));
        Scored { blocks: &self.blocks, penalty, prior }
    }

    /// The best of the fits from the given starts and from the best cuts.
    pub(super) fn best<P: Penalty>(
        &self,
        penalty: P,
        middle: Start,
        held: Option<Start>,
    ) -> Result<PlainFix, PlainError> {
        let scored = self.scored(penalty);
        let rays: Vec<Ray> = self.blocks.rays().collect();
        let ranked = cuts(&rays).into_iter().filter_map(|p| Some((scored.cost(p)?, p))).collect();
        let mut best: Result<PlainFix, PlainError> = Err(PlainError::NoMinimum);
        for start in best_apart(ranked, STARTS).into_iter().map(Start::at).chain([middle]).chain(held) {
            best = match (best, self.descend(penalty, start)) {
                (Ok(kept), Ok(new)) => Ok(if new.cost < kept.cost { new } else { kept }),
                (Ok(kept), Err(_)) => Ok(kept),
                (Err(_), Ok(new)) => Ok(new),
                (Err(PlainError::OnStand), Err(_)) => Err(PlainError::OnStand),
                (Err(_), new) => new,
            };
        }
        best
    }

    /// The minimum that the steps from a start lead to.
    pub(super) fn descend<P: Penalty>(&self, penalty: P, start: Start) -> Result<PlainFix, PlainError> {
        let scored = self.scored(penalty);
        if self.offset.is_none() {
            let found = least_squares::minimise(&scored, [start.at.x, start.at.y], &OPTIONS);
            return self.told(&scored, found, |at| ([at[0], at[1]], None));
        }
        let found = least_squares::minimise(&scored, [start.shift, start.at.x, start.at.y], &OPTIONS);
        self.told(&scored, found, |at| ([at[1], at[2]], Some(at[0])))
    }

    /// The fix that the end of an iteration amounts to.
    #[inline]
    fn told<const N: usize, P: Penalty>(
        &self,
        scored: &Scored<'_, P>,
        found: Option<Minimum<N, Local<N>>>,
        split: impl Fn(&[f64; N]) -> ([f64; 2], Option<f64>),
    ) -> Result<PlainFix, PlainError> {
        // The cost is not defined on a stand, so a start there has no model.
        let end = found.ok_or(PlainError::OnStand)?;
        let ([east, north], shift) = split(&end.at);
        if !end.reached() {
            let creeping = end.stop == Stop::Stalled && self.blocks.nearest(east, north) < 2.0 * NEAREST;
            return Err(if creeping { PlainError::OnStand } else { PlainError::NoMinimum });
        }
        let inverse = end.model.inverse().filter(|_| end.model.cupped).ok_or(PlainError::NoMinimum)?;
        let cost = end.model.cost();
        let chi_square =
            if P::QUADRATIC { 2.0 * cost } else { scored.chi_square(east, north, shift.unwrap_or(0.0)) };
        Ok(PlainFix {
            at: self.outward(east, north),
            covariance: [inverse[N - 2][N - 2], inverse[N - 2][N - 1], inverse[N - 1][N - 1]],
            chi_square,
            freedom: self.blocks.lines() as u32 - 2,
            offset: shift.map(Angle::radians),
            cost,
            steps: end.iterations,
        })
    }
}
