//! The likelihood of a place from signal levels, with everything else integrated out.
//!
//! Level of reading i: Lᵢ = P₀ − 10 n log₁₀ dᵢ − Σₖ bₖ hₖ(dᵢ) + Σₘ (aₘ sin mφᵢ + cₘ cos mφᵢ) + Δ + Sᵢ, with dᵢ the slant distance
//! in metres; hₖ hinges at which the law of distance may bend; φᵢ the direction from the place to the reading, aₘ and cₘ
//! losses that depend on it (the emitter's pattern, what stands beside it); Δ the difference of the receiver; and S the
//! shadowing: normal, with covariance σ² times [`Kernel`] over a distance δ between readings
//! ([`crate::sources::GUDMUNDSON1991`]), of which neighbours do not share a part ν. Given the place, all but S are linear with
//! normal priors: they are integrated out in closed form. How large bₖ, aₘ and cₘ may be, the distances of the kernel and ν are
//! integrated out over nodes, of which those that count nowhere near the best places are left out beforehand; ln σ by Laplace's
//! approximation at each place and node.
//!
//! Readings below the floor come last, each given its neighbours: Φ((floor − expected)/deviation), where a neighbour that is
//! below the floor itself stands at its expected level ([`crate::sources::TOBIN1958`]); the linear unknowns are then
//! integrated out by Laplace's approximation about the best ones.
//!
//! The covariance depends only on where the readings were taken: it is factored once for each kernel, each cell of readings
//! given its nearest earlier ones ([`crate::sources::VECCHIA1988`], in the order of [`crate::sources::GUINNESS2018`]), and every
//! candidate place costs one whitened product. Long logs are gathered into at most 160 cells, so that their length hardly
//! matters. Real surveys follow the model only nearly: in irregular surroundings the likelihood is taken to the power α/(α + n)
//! ([`crate::sources::MILLER2019`]); how regular they are, the readings tell (`weighing`).

mod cells;
mod columns;
mod floor;
mod kernel;
mod likelihood;
mod logarithm;
mod marginal;
mod node;
mod packed;
mod priors;
mod summary;
mod weighing;

pub use cells::{Cell, Reading};
pub use kernel::Kernel;
pub use likelihood::{LevelSight, Levels, sights};
pub use priors::{HARMONICS, LevelPriors};
pub use summary::LevelFit;
