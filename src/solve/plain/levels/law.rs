//! The law that levels follow with distance, and what is known of it.

use nalgebra::{Matrix2, Vector2};

use crate::{
    radio::Span,
    units::{Db, Dbm, Metres, Sigma},
};

/// What is known of a parameter of the law: a value of type `Q` with one standard deviation of type `S`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Term<Q, S> {
    /// Nothing: it is fitted.
    Free,
    /// Its value, which is kept.
    Known(Q),
    /// A normal prior: fitted, with the prior as one more observation.
    Prior {
        /// Its mean.
        mean: Q,
        /// Its standard deviation.
        sigma: S,
    },
}

/// The power law of levels: L = P − 10 n log10(d/d₀), with d the slant distance ([`crate::sources::RAPPAPORT2002`], § 4.9).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Law {
    /// The distance d₀ that P belongs to; finite and positive.
    pub reference: Metres,
    /// What is known of P, the level at d₀ on the fitted line: radiated power and receiving antenna less the loss at d₀.
    pub start: Term<Dbm, Sigma<Db>>,
    /// What is known of the exponent n. Its standard deviation must be positive.
    pub exponent: Term<f64, f64>,
    /// A fitted exponent is kept within these; where it is held there, the fix says so ([`super::FittedLaw::bound`]).
    pub bounds: Span,
    /// Height of the emitter above the receiver; finite. Zero for the distance in the plane.
    pub height: Metres,
}

impl Default for Law {
    /// Both free; 1 m; bounds 1 and 8, wider than all published exponents (1.6 to 6, Rappaport 2002, Table 4.2); no height.
    fn default() -> Self {
        Self {
            reference: Metres::new(1.0),
            start: Term::Free,
            exponent: Term::Free,
            bounds: Span::new(1.0, 8.0),
            height: Metres::new(0.0),
        }
    }
}

/// An end of [`Law::bounds`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bound {
    /// The lower one.
    Lower,
    /// The upper one.
    Upper,
}

impl Law {
    /// What makes the law useless, in words.
    pub(super) fn flaw(&self) -> Option<&'static str> {
        let positive = |x: f64| x.is_finite() && x > 0.0;
        let start = match self.start {
            Term::Free => true,
            Term::Known(level) | Term::Prior { mean: level, .. } => level.value().is_finite(),
        };
        let exponent = match self.exponent {
            Term::Free => true,
            Term::Known(n) => positive(n),
            Term::Prior { mean, sigma } => positive(mean) && positive(sigma),
        };
        let Span { from, to } = self.bounds;
        [
            (positive(self.reference.value()), "the reference distance must be finite and positive"),
            (start, "the level at the reference distance must be finite"),
            (exponent, "the exponent and its deviation must be finite and positive"),
            (positive(from) && from < to, "the bounds of the exponent must be positive and in order"),
            (self.height.value().is_finite(), "the height must be finite"),
        ]
        .into_iter()
        .find_map(|(fine, told)| (!fine).then_some(told))
    }

    /// Parameters that nothing but the readings determine.
    pub(super) fn free(&self) -> usize {
        usize::from(self.start == Term::Free) + usize::from(self.exponent == Term::Free)
    }
}

/// The law in plain numbers: each term as its value and precision, infinite for a known one and zero for a free one.
#[derive(Clone, Copy, Debug)]
pub struct Plain {
    start: (f64, f64),
    exponent: (f64, f64),
    bounds: Span,
}

/// Sums over the readings at a place that the law is fitted to, with g = 10 log10(d/d₀).
#[derive(Clone, Copy, Debug)]
pub struct Moments {
    /// Σw.
    pub weight: f64,
    /// Weighted mean of the levels.
    pub level: f64,
    /// Weighted mean of g.
    pub mean: f64,
    /// Σw(g − mean)².
    pub spread: f64,
    /// Σw(g − mean)(level − its mean).
    pub slope: f64,
}

/// The law fitted to the readings as seen from one place.
#[derive(Clone, Copy, Debug)]
pub struct Fitted {
    /// P.
    pub start: f64,
    /// n.
    pub exponent: f64,
    /// The exponent's bound that holds it.
    pub bound: Option<Bound>,
    /// Whether P and n can move.
    pub moves: [bool; 2],
    /// Twice the cost of the priors.
    pub prior: f64,
    /// Second derivatives of the cost by P and n; those of a parameter that cannot move are not used.
    normal: Matrix2<f64>,
    /// Their determinant, formed without differences.
    determinant: f64,
}

impl Plain {
    pub fn of(law: &Law) -> Self {
        let precision = |s: f64| s.powi(-2);
        let start = match law.start {
            Term::Free => (0.0, 0.0),
            Term::Known(level) => (level.value(), f64::INFINITY),
            Term::Prior { mean, sigma } => (mean.value(), precision(sigma.to_db())),
        };
        let exponent = match law.exponent {
            Term::Free => (0.0, 0.0),
            Term::Known(n) => (n, f64::INFINITY),
            Term::Prior { mean, sigma } => (mean, precision(sigma)),
        };
        Self { start, exponent, bounds: law.bounds }
    }

    /// The best P and n. As a function of both the cost is ½ Σw (P − n m − L)² + ½ n² Σw(g − m)² + n Σw(g − m)(l − L) and
    /// the priors, with m and L the means; P is eliminated first. `None` where n is free and all distances are alike.
    #[inline]
    pub fn fit(&self, m: &Moments) -> Option<Fitted> {
        let ((start, firm), (exponent, stiff)) = (self.start, self.exponent);
        // What is left of the pull of P's prior on n: half the harmonic mean.
        let joint = if firm.is_infinite() { m.weight } else { m.weight * firm / (m.weight + firm) };
        let curvature = m.spread + joint * m.mean * m.mean;
        let (n, bound) = if stiff.is_infinite() {
            (exponent, None)
        } else {
            let pull = stiff * exponent - m.slope + joint * m.mean * (start - m.level);
            let sum = curvature + stiff;
            self.bounded((sum > 0.0).then(|| pull / sum)?)
        };
        let p = if firm.is_infinite() {
            start
        } else {
            (m.weight * (m.level + n * m.mean) + firm * start) / (m.weight + firm)
        };
        let prior = |pulled: f64, precision: f64| {
            if precision.is_infinite() { 0.0 } else { precision * pulled * pulled }
        };
        let mixed = -m.weight * m.mean;
        Some(Fitted {
            start: p,
            exponent: n,
            bound,
            moves: [firm.is_finite(), stiff.is_finite() && bound.is_none()],
            prior: prior(p - start, firm) + prior(n - exponent, stiff),
            normal: Matrix2::new(
                m.weight + firm,
                mixed,
                mixed,
                m.spread + m.weight * m.mean * m.mean + stiff,
            ),
            determinant: (m.weight + firm) * (m.spread + stiff) + firm * m.weight * m.mean * m.mean,
        })
    }

    fn bounded(&self, n: f64) -> (f64, Option<Bound>) {
        let Span { from, to } = self.bounds;
        if n < from {
            (from, Some(Bound::Lower))
        } else if n > to {
            (to, Some(Bound::Upper))
        } else {
            (n, None)
        }
    }
}

impl Fitted {
    /// Inverse of the second derivatives of the parameters that can move, zero for the others; `None` where singular.
    pub fn inverse(&self) -> Option<Matrix2<f64>> {
        match self.moves {
            [true, true] => {
                let [a, b, c] = [self.normal[(0, 0)], self.normal[(0, 1)], self.normal[(1, 1)]];
                // Beyond this, P and n are told apart by rounding alone.
                (self.determinant > 1e-14 * a * c).then(|| Matrix2::new(c, -b, -b, a) / self.determinant)
            }
            [start, exponent] => {
                let one = |moves: bool, k: usize| if moves { 1.0 / self.normal[(k, k)] } else { 0.0 };
                Some(Matrix2::from_diagonal(&Vector2::new(one(start, 0), one(exponent, 1))))
            }
        }
    }
}
