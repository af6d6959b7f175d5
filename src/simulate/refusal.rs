//! A plan that makes no sense.

use std::fmt;

/// Why nothing was simulated: which number of a plan makes no sense, and what to write instead.
#[derive(Clone, Debug, PartialEq)]
pub struct Refusal {
    /// What the number is.
    pub what: &'static str,
    /// The number as it was given.
    pub given: String,
    /// What to write.
    pub hint: &'static str,
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} of {} makes no sense: {}", self.what, self.given, self.hint)
    }
}

impl std::error::Error for Refusal {}

/// Refuses a number outside of a closed range, and one that is none.
pub(super) fn within(
    what: &'static str,
    value: f64,
    range: std::ops::RangeInclusive<f64>,
    hint: &'static str,
) -> Result<(), Refusal> {
    if range.contains(&value) { Ok(()) } else { Err(Refusal { what, given: value.to_string(), hint }) }
}

/// Refuses a probability outside of [0, 1].
pub(super) fn share(what: &'static str, value: f64) -> Result<(), Refusal> {
    within(what, value, 0.0..=1.0, "write a share from 0 to 1")
}
