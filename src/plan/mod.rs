//! Where to stand next: the stand from which somebody is expected to reach the emitter in the fewest minutes.
//!
//! [`next()`] has a formula and plays. By the formula the expected minutes for a stand c are
//!
//! > walk to c + the bearing + E|x − c| ÷ pace + E V(what is left to search),
//!
//! with x the emitter by the posterior. The bearing's reading is one number, so that what is left is averaged over it without
//! chance: equal shares of its predictive distribution, and for each the posterior's points weighted anew. V counts bearings
//! that will be taken while closing in: the least over k of k bearings and a search of the area that they leave. Without it
//! the smallest next region would be sought, and the way there forgotten. The formula makes a shortlist; hunts played from each of
//! these stands, and from the one that [`step()`] would take, rank it, and of stands that their luck alone tells apart the formula's
//! comes first. Where no region is determined, only stands that close its open direction are on the list.
//!
//! A [`Picture`] of a town weighs two stories: waves come through the buildings, or along the streets and around their corners, so
//! that a bearing in a closed street tells the last corner. Bearings and levels decide between the two.
//!
//! [`step()`] is for those who decide after every bearing, on a [`Picture`] that costs a few milliseconds. Its minutes are played:
//! from each stand that may come next, with the emitter drawn from the belief and bearings from the mixture that the solver
//! assumes, a simple walker goes on until he meets it (part of the way toward the likeliest place, a bearing, and so on; what
//! he passed is crossed out). [`pair()`] sends two teams at once in the same way. What `step` gains is measured in
//! [`crate::trial::hunt`]'s hunts.
//!
//! Many stands are first sifted by how many nats a bearing from there tells of the place (mutual information): by as much the
//! logarithm of the area shrinks on the average.
//!
//! ```
//! use azimark::plan::gauss::Spread;
//! use azimark::units::{Angle, Metres, Sigma};
//!
//! // A long ellipse toward 060°: a bearing across it tells more than one along it.
//! let prior = Spread::of_axes(Metres::new(100.0), Metres::new(40.0), Angle::degrees(60.0));
//! let sigma = Sigma::<Angle>::degrees(3.0).unwrap();
//! let after = |toward: f64| prior.after_bearing(Angle::degrees(toward), Metres::new(600.0), sigma).determinant();
//! assert!(after(150.0) < after(60.0));
//! ```

mod ahead;
mod bearing;
mod belief;
mod candidates;
mod faint;
pub mod gauss;
mod guided;
mod levels_walk;
mod next;
mod pair;
mod picture;
mod reasons;
mod sight;
mod step;

pub use candidates::{Candidate, MOST_STANDS};
pub use next::{Advice, Kinds, Search, Setup, Stand, next};
pub use pair::{Pair, pair};
pub use picture::{Ground, Known, MET_WITHIN, Picture};
pub use reasons::{Cut, Why};
pub use step::{Depth, Step, step};
