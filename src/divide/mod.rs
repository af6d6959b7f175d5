//! Who searches where: a net of streets or an area cut into contiguous parts with the same probability per minute of
//! walking, a walk for each, and what a search without a find leaves.
//!
//! Nothing here reads a file or a clock, and the same input gives the same parts to the last bit.

mod anneal;
mod balance;
mod bound;
pub mod division;
pub mod matching;
mod net;
mod open;
pub mod outline;
mod passes;
mod pieces;
pub mod route;
mod spots;
mod spread;
mod start;
mod teams;
pub mod theory;
pub mod town;
pub mod transport;

pub use balance::{EVEN_ENOUGH, balance, even_with_fewer, unevenness};
pub use bound::most_even;
pub use division::{Division, Part, Undivided};
pub use net::{Net, Stretch, Ways, apart, middle};
pub use passes::Detection;
pub use pieces::{Piece, Pieces};
pub use spread::{Cell, Spread};
pub use teams::Team;
pub use town::Reach;

use crate::{
    geodesy::{Place, Plane},
    units::SquareMetres,
};

/// Area within a ring of places, of either sense, on a plane at its middle; 0 for fewer than three.
pub fn area(ring: &[Place]) -> SquareMetres {
    let Some(plane) = Plane::centred_on(ring) else { return SquareMetres::new(0.0) };
    let points: Vec<_> = ring.iter().map(|p| plane.to_plane(*p)).collect();
    SquareMetres::new(outline::signed_area(&points).abs())
}
