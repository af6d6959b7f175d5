//! Damped least squares for a handful of parameters, on analytic derivatives.
//!
//! Around each point the caller gives a quadratic [`Model`] of half the sum of squared residuals; [`minimise`] steps
//! to the minimum of the model plus ½ λ Σ (Dⱼ δⱼ)², with λ the damping ([`crate::sources::MARQUARDT1963`]) and Dⱼ
//! the greatest length that column j of the Jacobian has lately had, which makes the steps independent of the units
//! of the parameters ([`crate::sources::MORE1978`]). λ follows the ratio of the fall of the cost to the fall that
//! the model promised ([`crate::sources::NIELSEN1999`]).
//!
//! Two models are ready made. [`Triangle`] keeps the triangular factor of the Jacobian, built a row at a time: the
//! one for badly conditioned problems. [`Normal`] keeps the normal equations and may carry second derivatives: the
//! one for two or three well scaled parameters, where speed counts. Nothing is allocated.

mod normal;
mod triangle;

pub use normal::Normal;
pub use triangle::Triangle;

/// A sum of squares to be made least.
pub trait Problem<const N: usize> {
    /// How the cost is described around a point.
    type Model: Model<N>;

    /// The model of the cost around `at`; `None` where the cost is not defined. A cost that is not finite counts as
    /// not defined too.
    fn model(&self, at: &[f64; N]) -> Option<Self::Model>;
}

/// The cost, half the sum of squared residuals, as a quadratic around a point.
pub trait Model<const N: usize>: Copy {
    /// The cost at the point itself.
    fn cost(&self) -> f64;

    /// For each parameter the length of its column of the Jacobian.
    fn scale(&self) -> [f64; N];

    /// The step δ to the minimum of the model plus ½ `damping` Σ (`scale`ⱼ δⱼ)²; `None` where that has no single
    /// minimum.
    fn step(&self, damping: f64, scale: &[f64; N]) -> Option<Step<N>>;

    /// Inverse of the model's matrix of second derivatives: for residuals in standard deviations, the covariance of
    /// the parameters; for others, times the variance of a residual. `None` where the matrix is singular.
    fn inverse(&self) -> Option<[[f64; N]; N]>;
}

/// A step, and what the model promises of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step<const N: usize> {
    /// Change of each parameter.
    pub by: [f64; N],
    /// By how much the cost falls if the model is right; never negative.
    pub promised: f64,
}

/// When to stop, and how boldly to step. Each test for the end is of a *full* step, one without damping.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Stop when the full step is shorter than this many standard deviations, with the residuals' own scatter as the
    /// measure: its promise is less than this squared, times the cost ([`crate::sources::BATES1981`]'s relative offset).
    pub offset: f64,
    /// Stop when the full step is shorter than this many standard deviations, for residuals that are themselves in
    /// standard deviations: its promise is less than half of this squared.
    pub deviations: f64,
    /// Stop when no parameter changes by more than this share of itself.
    pub change: f64,
    /// No step is longer than this many times the parameters themselves, both scaled by D. Infinite where zero is
    /// a place like any other.
    pub reach: f64,
    /// Damping of the first step. Zero tries the full step first, right where the model is good from the start.
    pub damping: f64,
    /// Stop after this many steps, whether taken or turned down.
    pub limit: u32,
}

impl Default for Options {
    /// For problems of unknown difficulty: common practice, no source.
    fn default() -> Self {
        Self { offset: 1e-9, deviations: 0.0, change: 1e-14, reach: 10.0, damping: 1e-3, limit: 1_000 }
    }
}

/// Why the iteration stopped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stop {
    /// The last full step was shorter than [`Options::offset`] or [`Options::deviations`]: the minimum is found.
    Converged,
    /// No parameter changed by more than [`Options::change`] of itself: the minimum is found as nearly as the
    /// parameters' own digits allow.
    Unchanged,
    /// However short the step, the cost fell no further. The point is a minimum to within rounding, or it lies at
    /// an edge beyond which the cost is not defined.
    Stalled,
    /// [`Options::limit`] steps were tried: the point is no minimum.
    Limit,
}

/// Where the iteration ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Minimum<const N: usize, M> {
    /// The parameters.
    pub at: [f64; N],
    /// The model around them.
    pub model: M,
    /// Steps tried.
    pub iterations: u32,
    /// Why it ended there.
    pub stop: Stop,
}

impl<const N: usize, M: Model<N>> Minimum<N, M> {
    /// Sum of the squared residuals.
    pub fn sum_of_squares(&self) -> f64 {
        2.0 * self.model.cost()
    }

    /// Whether a minimum was reached: by a full step that was short enough, or by one that changed no parameter.
    pub const fn reached(&self) -> bool {
        matches!(self.stop, Stop::Converged | Stop::Unchanged)
    }
}

/// A step is taken when the cost falls by at least this share of what the model promised.
const ENOUGH: f64 = 1e-4;
/// Changes of the cost by less than this share of itself may be rounding.
const ROUNDING: f64 = 1e-9;
/// Damping below this changes no digit of a step, so it is dropped.
const NEGLIGIBLE: f64 = 1e-15;
/// What is left of a column's greatest length after each step taken.
const FADE: f64 = 0.9;
/// Where the first step turned down begins, when there was no damping.
const FIRST: f64 = 1e-3;
/// Damping at which the step no longer differs from nothing.
const GREATEST: f64 = 1e30;

/// Steps from `start` to a minimum of the cost; which one, when there are several, depends on the start. `None` where the
/// cost is not defined at the start. Only [`Minimum::reached`] makes the result an answer.
pub fn minimise<const N: usize, P: Problem<N>>(
    problem: &P,
    start: [f64; N],
    options: &Options,
) -> Option<Minimum<N, P::Model>> {
    let mut here = Place { at: start, model: defined(problem, &start)? };
    let mut scale = here.model.scale();
    let mut trust = Trust { damping: options.damping, growth: 2.0 };
    for iterations in 0..options.limit {
        let full = here.model.step(0.0, &scale);
        if let Some((step, stop)) = full.and_then(|s| Some((s, end(&here, &s, options)?))) {
            // On trust: what it promises may be less than what rounding leaves of the cost.
            let last = here.moved(problem, &step).unwrap_or(here);
            return Some(last.end(iterations + 1, stop));
        }
        let step = if trust.damping == 0.0 { full } else { here.model.step(trust.damping, &scale) };
        let next = step.filter(|s| within(&here.at, s, &scale, options.reach)).and_then(|s| {
            let next = here.moved(problem, &s)?;
            Some((gain(&here.model, &next.model, &s, &scale), next))
        });
        match next {
            Some((gain, next)) if gain > ENOUGH => {
                here = next;
                trust.grown(gain);
                refresh(&mut scale, &here.model.scale());
            }
            _ if trust.shrunk() => {}
            _ => return Some(here.end(iterations, Stop::Stalled)),
        }
    }
    Some(here.end(options.limit, Stop::Limit))
}

/// Parameters with the model around them.
#[derive(Clone, Copy)]
struct Place<const N: usize, M> {
    at: [f64; N],
    model: M,
}

impl<const N: usize, M: Model<N>> Place<N, M> {
    fn moved<P: Problem<N, Model = M>>(&self, problem: &P, step: &Step<N>) -> Option<Self> {
        let at = std::array::from_fn(|j| self.at[j] + step.by[j]);
        defined(problem, &at).map(|model| Self { at, model })
    }

    fn end(self, iterations: u32, stop: Stop) -> Minimum<N, M> {
        Minimum { at: self.at, model: self.model, iterations, stop }
    }
}

/// How far the model is trusted: the damping, and the factor by which the next step turned down raises it.
struct Trust {
    damping: f64,
    growth: f64,
}

impl Trust {
    fn grown(&mut self, gain: f64) {
        self.damping *= (1.0 - (2.0 * gain.min(2.0) - 1.0).powi(3)).max(1.0 / 3.0);
        if self.damping < NEGLIGIBLE {
            self.damping = 0.0;
        }
        self.growth = 2.0;
    }

    /// Whether there is any trust left.
    fn shrunk(&mut self) -> bool {
        self.damping = (self.damping * self.growth).max(FIRST);
        self.growth *= 2.0;
        self.damping <= GREATEST
    }
}

fn defined<const N: usize, P: Problem<N>>(problem: &P, at: &[f64; N]) -> Option<P::Model> {
    problem.model(at).filter(|m| m.cost().is_finite())
}

/// Columns once long stay so for a while, lest the step that shortened one also lengthens the next step along it.
/// Moré keeps the greatest length for good; a start where the model is a million times too steep then never lets go.
fn refresh<const N: usize>(scale: &mut [f64; N], now: &[f64; N]) {
    for (kept, now) in scale.iter_mut().zip(now) {
        *kept = (FADE * *kept).max(*now);
    }
}

fn within<const N: usize>(at: &[f64; N], step: &Step<N>, scale: &[f64; N], reach: f64) -> bool {
    let square = |v: &[f64; N]| v.iter().zip(scale).map(|(x, d)| (x * d) * (x * d)).sum::<f64>();
    reach.is_infinite() || square(&step.by) <= reach * reach * square(at)
}

/// Whether the full step is short enough to be the last.
fn end<const N: usize, M: Model<N>>(here: &Place<N, M>, step: &Step<N>, options: &Options) -> Option<Stop> {
    let scatter = options.offset * options.offset * here.model.cost();
    if step.promised <= scatter.max(0.5 * options.deviations * options.deviations) {
        return Some(Stop::Converged);
    }
    let unchanged = here.at.iter().zip(&step.by).all(|(x, by)| by.abs() <= options.change * x.abs());
    unchanged.then_some(Stop::Unchanged)
}

/// The fall of the cost as a share of the promise. Near the minimum both drown in the rounding of the cost, which hides
/// the last half of the parameters' digits; there the full step's own promise tells whether it came nearer.
fn gain<const N: usize, M: Model<N>>(here: &M, next: &M, step: &Step<N>, scale: &[f64; N]) -> f64 {
    let fall = here.cost() - next.cost();
    let noise = ROUNDING * here.cost();
    if step.promised > noise || fall.abs() > noise {
        return fall / step.promised;
    }
    let ahead = |model: &M| model.step(0.0, scale).map_or(f64::INFINITY, |s| s.promised);
    if ahead(next) < ahead(here) { 1.0 } else { 0.0 }
}
