//! The answer as text for a person: the place first, then the figures, then what is doubtful, then cautions.

mod answer;
mod words;

pub use answer::{Answer, answer};
pub use words::{area, bearing, place};
