//! Levels of a walk as weak evidence: the customary plain law of distance with its power, its exponent and its loss behind
//! buildings integrated out, over few cells of the walk, and with a power of the likelihood that keeps it from being believed
//! too much. A thousandth of the cost of the joint solver ([`crate::solve::levels`]), for those who decide many times while
//! underway.

use crate::{
    geodesy::PlanePoint,
    plan::{belief::Belief, guided::Ways, sight::Buildings},
    streets::Streets,
    units::Dbm,
};

/// Levels within so many metres of a walk are one cell.
pub(super) const CELL_M: f64 = 40.0;

/// Fewer cells tell nothing.
const LEAST_CELLS: usize = 3;

/// More cells than this are thinned.
const MOST_CELLS: usize = 30;

/// Standard deviation of a cell about the law, decibels. Common practice, no source.
pub(super) const CELL_DB: f64 = 8.0;

/// The likelihood's power is this over itself plus the number of cells.
const BELIEVED: f64 = 40.0;

/// Level at one metre, dBm, exponent, and loss behind buildings, dB, with their standard deviations: 30 ± 20 dBm less the free-space
/// loss of one metre at 900 MHz ([`crate::sources::P525`]), what cities have, and about what 3GPP TR 38.901 has between in sight
/// and out of sight. Common practice, no source.
pub(super) const AT_ONE_METRE: (f64, f64) = (-2.0, 20.0);
pub(super) const EXPONENT: (f64, f64) = (3.0, 0.6);
const BEHIND_DB: (f64, f64) = (15.0, 7.0);

/// Loss of a corner, dB, where waves run along streets: [`crate::sources::P1411`] has 20 dB in cities; its scatter is common practice.
const CORNER_DB: (f64, f64) = (20.0, 7.0);

/// Points with less of the mass than this are not looked at: they are left as they are.
const NOTHING: f64 = 1e-7;

/// Cells of a walk.
pub struct Faint {
    cells: Vec<(PlanePoint, f64)>,
}

impl Faint {
    /// From levels in the order of the walk; `None` for too few.
    pub fn of(levels: &[(PlanePoint, Dbm)]) -> Option<Self> {
        let mut cells: Vec<(PlanePoint, f64)> = Vec::new();
        let mut start = 0;
        for i in 0..levels.len() {
            let far = apart(levels[start].0, levels[i].0) >= CELL_M;
            if far || i + 1 == levels.len() {
                let cell = &levels[start..i.max(start + 1)];
                let mean = cell.iter().map(|c| c.1.value()).sum::<f64>() / cell.len() as f64;
                // The place of one of them, not their mean: around a corner that would lie within a building.
                cells.push((cell[cell.len() / 2].0, mean));
                start = i;
            }
        }
        let every = cells.len().div_ceil(MOST_CELLS).max(1);
        let cells: Vec<_> = cells.into_iter().step_by(every).collect();
        (cells.len() >= LEAST_CELLS).then_some(Self { cells })
    }

    /// Ways along streets to each cell.
    pub fn ways(&self, streets: &Streets) -> Vec<Option<Ways>> {
        self.cells.iter().map(|(cell, _)| Ways::to(streets, *cell)).collect()
    }

    /// Natural logarithm of the likelihood of an emitter at a point, up to a constant: the four unknowns are learnt cell by cell,
    /// and each cell is judged by those before it. What is not in sight comes through or over the buildings, or on the way along
    /// streets where that is expected to lose less; `along` has this way for each cell.
    fn log(&self, at: PlanePoint, buildings: &Buildings, along: &dyn Fn(usize) -> Option<(f64, f64)>) -> f64 {
        let priors = [AT_ONE_METRE, EXPONENT, BEHIND_DB, CORNER_DB];
        let (mut mean, mut log) = (priors.map(|p| p.0), 0.0);
        let mut cov = [[0.0; 4]; 4];
        for (i, (_, sd)) in priors.into_iter().enumerate() {
            cov[i][i] = sd * sd;
        }
        for (k, (cell, level)) in self.cells.iter().enumerate() {
            let straight = decades(*cell, at);
            let mut h = [1.0, -straight, 0.0, 0.0];
            if buildings.between(*cell, at) {
                h[2] = -1.0;
                if let Some((metres, corners)) = along(k) {
                    let way = 5.0 * (metres * metres + 100.0).log10();
                    let loses = EXPONENT.0 * way + CORNER_DB.0 * corners;
                    if loses < EXPONENT.0 * straight + BEHIND_DB.0 {
                        h = [1.0, -way, 0.0, -corners];
                    }
                }
            }
            let dot = |v: &[f64; 4]| h[0] * v[0] + h[1] * v[1] + h[2] * v[2] + h[3] * v[3];
            let push = [dot(&cov[0]), dot(&cov[1]), dot(&cov[2]), dot(&cov[3])];
            let variance = dot(&push) + CELL_DB * CELL_DB;
            let miss = level - dot(&mean);
            log -= 0.5 * (miss * miss / variance + variance.ln());
            for ((mean, row), along) in mean.iter_mut().zip(&mut cov).zip(&push) {
                *mean += along / variance * miss;
                for (c, across) in row.iter_mut().zip(&push) {
                    *c -= along * across / variance;
                }
            }
        }
        log
    }

    /// Logarithms of the likelihood at points, to the power at which it is believed; `along` has the way along streets from each
    /// point to each cell.
    pub fn logs(
        &self,
        points: &[PlanePoint],
        buildings: &Buildings,
        along: &dyn Fn(usize, usize) -> Option<(f64, f64)>,
    ) -> Vec<f64> {
        let power = BELIEVED / (BELIEVED + self.cells.len() as f64);
        points.iter().enumerate().map(|(j, p)| power * self.log(*p, buildings, &|k| along(k, j))).collect()
    }

    /// Weighs the points of a belief.
    pub fn weigh(&self, belief: &mut Belief, buildings: &Buildings) {
        let some: Vec<usize> = (0..belief.at.len()).filter(|i| belief.mass[*i] > NOTHING).collect();
        let points: Vec<PlanePoint> = some.iter().map(|i| belief.at[*i]).collect();
        let logs = self.logs(&points, buildings, &|_, _| None);
        let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        for (i, log) in some.into_iter().zip(logs) {
            belief.mass[i] *= (log - top).exp();
        }
        belief.normalise();
    }
}

/// Decibels of distance for each unit of the exponent, 10 log10 d, no nearer than 10 m: an emitter is above somebody's head.
pub(super) fn decades(from: PlanePoint, to: PlanePoint) -> f64 {
    5.0 * ((from.east - to.east).powi(2) + (from.north - to.north).powi(2) + 100.0).log10()
}

fn apart(a: PlanePoint, b: PlanePoint) -> f64 {
    (a.east - b.east).hypot(a.north - b.north)
}
