//! Doubts about observations that read well: places that cannot be meant, stands that are all one spot, the same
//! bearing written down twice, lines that do not meet. It labels; it never repairs.

mod directions;
mod positions;
mod repeats;

pub use directions::directions;
pub use positions::{Checked, positions};
pub use repeats::repeats;
