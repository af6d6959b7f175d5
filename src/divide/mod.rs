//! Who searches where: a net of streets or an area cut into contiguous parts with the same probability per minute of
//! walking, a walk for each, and what a search without a find leaves.
//!
//! Nothing here reads a file or a clock, and the same input gives the same parts to the last bit.

mod balance;
pub mod matching;
mod net;
mod pieces;
pub mod route;
mod start;
pub mod theory;
pub mod transport;

pub use balance::{balance, balance_longer, unevenness};
pub use net::{Net, Stretch, Ways, apart, middle};
pub use pieces::{Piece, Pieces};
