//! Cautions where the work can hurt someone, with figures and assumptions. It changes no estimate, and it leaves the
//! decision to those who are responsible.

mod cautions;
mod exposure;

pub use cautions::{ALWAYS, Caution, cautions};
pub use exposure::{Distance, Exposure, ExposureError, Rule, Tier, exposure, limit};
