//! A path between two antennas, and what a model says of it.

use std::fmt;

use crate::{
    radio::validity::{Breach, Quantity, Validity},
    units::{Db, Hertz, Metres},
};

/// A path over flat ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Link {
    /// The frequency; finite and positive.
    pub frequency: Hertz,
    /// Horizontal distance of the antennas; finite and positive.
    pub distance: Metres,
    /// Height above ground of the antenna that the model calls base station: the higher one, as a rule. Not negative.
    pub upper: Metres,
    /// Height above ground of the other antenna. Not negative.
    pub lower: Metres,
}

impl Link {
    /// Straight distance of the antennas.
    pub fn slant(&self) -> Metres {
        Metres::new(self.distance.value().hypot(self.upper.value() - self.lower.value()))
    }

    fn unusable(&self) -> Option<Quantity> {
        let positive = |x: f64| x.is_finite() && x > 0.0;
        let height = |x: f64| x.is_finite() && x >= 0.0;
        [
            (positive(self.frequency.value()), Quantity::Frequency),
            (positive(self.distance.value()), Quantity::Distance),
            (height(self.upper.value()), Quantity::Upper),
            (height(self.lower.value()), Quantity::Lower),
        ]
        .into_iter()
        .find_map(|(fine, quantity)| (!fine).then_some(quantity))
    }
}

/// Loss of a path and the straight line, in decibels over the logarithm of distance, that touches the model there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loss {
    /// Median basic transmission loss between isotropic antennas.
    pub loss: Db,
    /// Derivative by log10 of the horizontal distance with the heights held, dB per decade. At a breakpoint, that of the
    /// farther side.
    pub slope: f64,
    /// Exponent n of the power law in the slant distance that the model follows here: 2 in free space.
    pub exponent: f64,
    /// Loss at 1 m on that power law: loss − 10 n log10(slant distance in metres).
    pub intercept: Db,
}

/// A loss with its derivative by log10 of the horizontal distance; models add and compare these.
#[derive(Clone, Copy, Debug)]
pub(super) struct Line {
    pub(super) db: f64,
    pub(super) slope: f64,
}

impl Line {
    /// A loss whose formula runs in the slant distance, with its derivative by log10 of that.
    pub(super) fn of_slant(db: f64, per_decade: f64, link: &Link) -> Self {
        Self { db, slope: per_decade * (link.distance.value() / link.slant().value()).powi(2) }
    }

    /// The greater of two losses.
    pub(super) fn or_more(self, other: Self) -> Self {
        if other.db > self.db { other } else { self }
    }

    fn seen_on(self, link: &Link) -> Loss {
        let slant = link.slant().value();
        let exponent = self.slope / 10.0 * (slant / link.distance.value()).powi(2);
        let intercept = Db::new(self.db - 10.0 * exponent * slant.log10());
        Loss { loss: Db::new(self.db), slope: self.slope, exponent, intercept }
    }
}

impl std::ops::Add for Line {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { db: self.db + other.db, slope: self.slope + other.slope }
    }
}

/// Why a model gives no loss.
#[derive(Clone, Debug, PartialEq)]
pub enum PathLossError {
    /// The quantity is not a number, not finite, or not positive where it must be.
    Unusable(Quantity),
    /// The model's source does not cover this path.
    Outside {
        /// What lies outside, at least one quantity.
        breaches: Vec<Breach>,
        /// What the formula gives all the same, for whoever takes it deliberately; `None` where it gives no number.
        extrapolated: Option<Loss>,
    },
}

impl fmt::Display for PathLossError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unusable(quantity) => write!(f, "{quantity:?} is not a usable number"),
            Self::Outside { breaches, .. } => {
                let told: Vec<String> = breaches.iter().map(ToString::to_string).collect();
                write!(f, "the model does not cover this path: {}", told.join("; "))
            }
        }
    }
}

impl std::error::Error for PathLossError {}

/// The loss of `link` by a formula, or why there is none.
pub(super) fn judged(
    link: &Link,
    validity: &Validity,
    formula: impl Fn(&Link) -> Line,
) -> Result<Loss, PathLossError> {
    if let Some(quantity) = link.unusable() {
        return Err(PathLossError::Unusable(quantity));
    }
    let line = formula(link);
    let loss = (line.db.is_finite() && line.slope.is_finite()).then(|| line.seen_on(link));
    let breaches = validity.breaches(link);
    if breaches.is_empty() {
        loss.ok_or(PathLossError::Unusable(Quantity::Model))
    } else {
        Err(PathLossError::Outside { breaches, extrapolated: loss })
    }
}
