//! Readings whose shadowing is shared with their neighbours': generalised least squares.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn, Vector2};

use super::{
    columns::{Columns, DECADES, Survey},
    law::{Moments, Plain},
};
use crate::{
    radio::ShadowCorrelation,
    units::{Db, Metres, Sigma},
};

/// The readings' covariance, factored, with what does not depend on the place.
#[derive(Clone, Debug)]
pub struct Shared {
    factor: Cholesky<f64, Dyn>,
    ones: DVector<f64>,
    level: DVector<f64>,
    /// Generalised mean of the levels, counted from that of [`Columns`].
    mean: f64,
    /// 1ᵀ C⁻¹ 1.
    weight: f64,
}

impl Shared {
    /// Factors the covariance σᵢ σⱼ ρ(δᵢⱼ); `None` where it is not positive definite, as for two readings at one spot that have
    /// nothing of their own.
    pub fn new(columns: &Columns, sigmas: &[Sigma<Db>], correlation: ShadowCorrelation) -> Option<Self> {
        let count = columns.count;
        let covariance = DMatrix::from_fn(count, count, |i, j| {
            let (de, dn) = (columns.east[i] - columns.east[j], columns.north[i] - columns.north[j]);
            let alike = if i == j { 1.0 } else { correlation.between(Metres::new(de.hypot(dn))) };
            sigmas[i].to_db() * sigmas[j].to_db() * alike
        });
        let factor = Cholesky::new(covariance)?;
        // Rounding may leave a singular matrix a root of some 1e-8: a reading that the others foretell as nearly is no reading.
        let sound = (0..count).all(|i| factor.l_dirty()[(i, i)] > 1e-6 * sigmas[i].to_db());
        if !sound {
            return None;
        }
        let whiten = |v: DVector<f64>| factor.l_dirty().solve_lower_triangular(&v);
        let ones = whiten(DVector::from_element(count, 1.0))?;
        let level = whiten(DVector::from_column_slice(&columns.level[..count]))?;
        let weight = ones.norm_squared();
        let mean = ones.dot(&level) / weight;
        let level = level - mean * &ones;
        Some(Self { ones, level, mean, weight, factor })
    }

    /// Square of the whitened levels about their mean: twice what a place infinitely far away costs.
    pub fn scatter(&self) -> f64 {
        self.level.norm_squared()
    }

    /// The sums of [`Columns::survey`] with the inverse of the covariance for the weights.
    pub fn survey(
        &self,
        columns: &Columns,
        law: &Plain,
        at: Vector2<f64>,
        logs: &mut Vec<f64>,
    ) -> Option<Survey> {
        columns.logs(at, logs);
        let count = columns.count;
        let whiten = |v: &DVector<f64>| self.factor.l_dirty().solve_lower_triangular(v);
        let along = DMatrix::from_fn(count, 2, |i, k| {
            let d = at - Vector2::new(columns.east[i], columns.north[i]);
            DECADES * d[k] / columns.square(at, i)
        });
        let log = whiten(&DVector::from_column_slice(&logs[..count]))?;
        let slopes = self.factor.l_dirty().solve_lower_triangular(&along)?;
        let mean = self.ones.dot(&log) / self.weight;
        let aside = log - mean * &self.ones;
        let level = columns.mean + self.mean;
        let moments = Moments {
            weight: self.weight,
            level,
            mean,
            spread: aside.norm_squared(),
            slope: aside.dot(&self.level),
        };
        let law = law.fit(&moments)?;
        let left = level - law.start + law.exponent * mean;
        let miss = &self.level + law.exponent * &aside + left * &self.ones;
        let pair = |v: &DVector<f64>| [v.dot(&slopes.column(0)), v.dot(&slopes.column(1))];
        let outer = |i: usize, j: usize| slopes.column(i).dot(&slopes.column(j));
        let survey = Survey {
            law,
            mean,
            misses: miss.norm_squared(),
            push: pair(&miss),
            pull: pair(&self.ones),
            lean: pair(&aside),
            outer: [outer(0, 0), outer(0, 1), outer(1, 1)],
            bent: self.bent(columns, &miss, at)?,
        };
        survey.misses.is_finite().then_some(survey)
    }

    /// Σ (C⁻¹r) ∇²g.
    fn bent(&self, columns: &Columns, miss: &DVector<f64>, at: Vector2<f64>) -> Option<[f64; 3]> {
        let weighted = self.factor.l_dirty().tr_solve_lower_triangular(miss)?;
        let mut out = [0.0; 3];
        for (i, w) in weighted.iter().enumerate() {
            let d = at - Vector2::new(columns.east[i], columns.north[i]);
            let inverse = 1.0 / columns.square(at, i);
            let scale = w * DECADES * inverse;
            out[0] += scale * (1.0 - 2.0 * inverse * d.x * d.x);
            out[1] -= scale * 2.0 * inverse * d.x * d.y;
            out[2] += scale * (1.0 - 2.0 * inverse * d.y * d.y);
        }
        Some(out)
    }
}
