//! The likelihood of a place from signal levels, with everything else integrated out.
//!
//! Level of reading i: Lᵢ = P₀ − 10 n log₁₀ dᵢ + a sin φᵢ + b cos φᵢ + Sᵢ, with dᵢ the slant distance in metres, φᵢ the
//! direction from the place to the reading, a and b the first harmonic of the emitter's own pattern, and S the shadowing:
//! normal, with covariance σ² [(1 − ν) exp(−δ/D) + ν] over a distance δ between readings
//! ([`crate::sources::GUDMUNDSON1991`]), ν the part that neighbours do not share. Given the place, P₀, n, a and b are linear
//! with normal priors: they are integrated out in closed form. σ, D and ν are integrated out over a few nodes each, so that a
//! region allows for not knowing them.
//!
//! The covariance depends only on where the readings were taken: it is factored once for each (D, ν), each reading given its
//! nearest earlier ones ([`crate::sources::VECCHIA1988`]), and every candidate place costs one whitened product.

mod cells;
mod columns;
mod floor;
mod kernel;
mod likelihood;
mod packed;
mod priors;
mod summary;

pub use cells::{Cell, Reading};
pub use kernel::Kernel;
pub use likelihood::{LevelSight, Levels, sights};
pub use priors::{HARMONICS, LevelPriors};
pub use summary::LevelFit;
