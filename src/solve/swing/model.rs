//! The fit of level, beamwidth and depth at a given heading, and what it is worth.

use crate::{
    numeric::{
        least_squares::{Model, Normal, Options, Problem, minimise},
        special::log_normal_cdf,
    },
    radio::Pattern,
    solve::swing::{
        cells::Cell,
        prior::{Prior, SCATTER_DB, SCATTER_FREEDOM},
    },
    units::Angle,
};

/// Rounds in which the scatter of the readings and the fit wait for one another; mostly two or three are enough for the
/// scatter to move by less than a fiftieth, near which the logarithm is even.
const ROUNDS: usize = 6;

/// The best fit of the rest of the parameters where some are given.
#[derive(Clone, Copy, Debug)]
pub struct Trial<const N: usize> {
    /// Logarithm of likelihood times prior, the parameters and the scatter integrated out; a constant that is the same
    /// for all models of the same cells is left out.
    pub log: f64,
    /// The parameters; the first is the level at the peak, dBm.
    pub at: [f64; N],
    /// Their covariance.
    pub covariance: [[f64; N]; N],
    /// Root mean square of the residuals of what was heard, dB.
    pub residual: f64,
}

/// A model of levels whose bound parameters are in standard deviations of their priors.
pub trait Shape<const N: usize> {
    /// What does not depend on the heading.
    type Ready;
    /// That of these parameters; `None` where they mean nothing.
    fn ready(&self, at: &[f64; N]) -> Option<Self::Ready>;
    /// Predicted level at a heading with its derivatives.
    fn predicted(&self, ready: &Self::Ready, at: &[f64; N], heading: f64) -> (f64, [f64; N]);
    /// Whether a parameter has a standard normal prior; the others are free.
    fn bound(&self, parameter: usize) -> bool;
}

struct Fitting<'a, S> {
    shape: &'a S,
    cells: &'a [Cell],
    scatter: f64,
}

impl<const N: usize, S: Shape<N>> Problem<N> for Fitting<'_, S> {
    type Model = Normal<N>;

    fn model(&self, at: &[f64; N]) -> Option<Normal<N>> {
        let ready = self.shape.ready(at)?;
        let mut out = Normal { cost: 0.0, gradient: [0.0; N], curvature: [[0.0; N]; N], squares: [0.0; N] };
        for cell in self.cells {
            let (level, slopes) = self.shape.predicted(&ready, at, cell.heading);
            let (residual, by_level) = residual(cell, level, self.scatter);
            add(&mut out, residual, &slopes.map(|s| s * by_level));
        }
        for j in (0..N).filter(|j| self.shape.bound(*j)) {
            let row = std::array::from_fn(|k| f64::from(u8::from(k == j)));
            add(&mut out, at[j], &row);
        }
        Some(out)
    }
}

/// Adds a residual with its derivatives.
fn add<const N: usize>(model: &mut Normal<N>, residual: f64, by: &[f64; N]) {
    model.cost += 0.5 * residual * residual;
    for i in 0..N {
        model.gradient[i] += residual * by[i];
        model.squares[i] += by[i] * by[i];
        for j in 0..=i {
            model.curvature[i][j] += by[i] * by[j];
        }
    }
}

/// A residual in standard deviations, with its derivative by the predicted level. Half the square of that of a reading
/// below the floor is minus the logarithm of its probability.
fn residual(cell: &Cell, level: f64, scatter: f64) -> (f64, f64) {
    let room = (cell.level - level) / scatter;
    if !cell.below {
        return (room, -1.0 / scatter);
    }
    let log = log_normal_cdf(room);
    let root = (-2.0 * log).max(0.0).sqrt();
    if root < 1e-7 {
        return (0.0, 0.0);
    }
    let density = (-0.5 * room * room).exp() / (2.0 * std::f64::consts::PI).sqrt();
    // Far below, the ratio of density and probability is that of the asymptotic series.
    let ratio = if room < -12.0 { -room } else { density / log.exp() };
    (root, ratio / (root * scatter))
}

/// Fits a shape to the cells from a start; `None` where it has no minimum with a covariance.
///
/// The scatter σ has the scaled inverse χ² prior; at its best value, σ² = (ν₀ s₀² + SS)/(ν₀ + n) with SS the sum of squares
/// of the n cells that were heard. With all cells heard the result is the t-like (ν₀ s₀² + SS)^(−(ν₀ + n)/2).
pub fn trial<const N: usize>(shape: &impl Shape<N>, cells: &[Cell], start: [f64; N]) -> Option<Trial<N>> {
    // A hundredth of a standard deviation changes the logarithm by 5e-5.
    let options =
        Options { deviations: 1e-2, reach: f64::INFINITY, damping: 0.0, limit: 30, ..Options::default() };
    let heard = cells.iter().filter(|c| !c.below).count() as f64;
    let prior = SCATTER_FREEDOM * SCATTER_DB.powi(2);
    let mut scatter = SCATTER_DB;
    let mut at = start;
    let (mut squares, mut found) = (0.0, None);
    for _ in 0..ROUNDS {
        let minimum = minimise(&Fitting { shape, cells, scatter }, at, &options)?;
        at = minimum.at;
        squares = sum_of_squares(shape, cells, &at)?;
        found = Some(minimum.model);
        let next = ((prior + squares) / (SCATTER_FREEDOM + heard)).sqrt();
        let settled = (next / scatter - 1.0).abs() < 0.02;
        scatter = next;
        if settled {
            break;
        }
    }
    let covariance = found?.inverse()?;
    let mut log = -(SCATTER_FREEDOM + heard) * scatter.ln() - 0.5 * (prior + squares) / scatter.powi(2);
    let ready = shape.ready(&at)?;
    for cell in cells.iter().filter(|c| c.below) {
        log += log_normal_cdf((cell.level - shape.predicted(&ready, &at, cell.heading).0) / scatter);
    }
    log -= 0.5 * (0..N).filter(|j| shape.bound(*j)).map(|j| at[j] * at[j]).sum::<f64>();
    log += 0.5 * log_determinant(covariance)?;
    let residual = (squares / heard.max(1.0)).sqrt();
    Some(Trial { log, at, covariance, residual }).filter(|t| t.log.is_finite())
}

fn sum_of_squares<const N: usize>(shape: &impl Shape<N>, cells: &[Cell], at: &[f64; N]) -> Option<f64> {
    let ready = shape.ready(at)?;
    let miss = |c: &Cell| c.level - shape.predicted(&ready, at, c.heading).0;
    Some(cells.iter().filter(|c| !c.below).map(|c| miss(c).powi(2)).sum())
}

/// Logarithm of the determinant of a symmetric positive matrix, by Cholesky's factor.
fn log_determinant<const N: usize>(matrix: [[f64; N]; N]) -> Option<f64> {
    let mut lower = [[0.0; N]; N];
    let mut log = 0.0;
    for i in 0..N {
        for j in 0..=i {
            let sum: f64 = (0..j).map(|k| lower[i][k] * lower[j][k]).sum();
            let rest = matrix[i][j] - sum;
            lower[i][j] = if i == j { rest.sqrt() } else { rest / lower[j][j] };
        }
        log += 2.0 * lower[i][i].ln();
    }
    log.is_finite().then_some(log)
}

/// One pattern pointed along a heading: level, beamwidth, depth.
pub struct One<'a> {
    /// The family's priors.
    pub prior: &'a Prior,
    /// The heading of the peak, radians.
    pub peak: f64,
}

impl Shape<3> for One<'_> {
    type Ready = Pattern;

    fn ready(&self, at: &[f64; 3]) -> Option<Pattern> {
        self.prior.pattern([at[1], at[2]])
    }

    fn predicted(&self, pattern: &Pattern, at: &[f64; 3], heading: f64) -> (f64, [f64; 3]) {
        let off = Angle::radians(heading - self.peak);
        let by_width = -self.prior.beamwidth.spread * pattern.by_log_beamwidth(off);
        let by_depth = -self.prior.depth.spread * pattern.depth().value() * pattern.by_depth(off);
        (at[0] - pattern.attenuation(off).value(), [1.0, by_width, by_depth])
    }

    fn bound(&self, parameter: usize) -> bool {
        parameter > 0
    }
}

/// The same level all around.
pub struct Flat;

impl Shape<1> for Flat {
    type Ready = ();

    fn ready(&self, _: &[f64; 1]) -> Option<()> {
        Some(())
    }

    fn predicted(&self, (): &(), at: &[f64; 1], _: f64) -> (f64, [f64; 1]) {
        (at[0], [1.0])
    }

    fn bound(&self, _: usize) -> bool {
        false
    }
}

/// The strongest level heard, or the highest floor.
pub fn strongest(cells: &[Cell]) -> f64 {
    let top = |below| cells.iter().filter(|c| c.below == below).map(|c| c.level).max_by(f64::total_cmp);
    top(false).or(top(true)).unwrap_or(0.0)
}
