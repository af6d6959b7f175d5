//! A path between two antennas, what a model says of it, and where the model may be asked.

use std::fmt;

use crate::units::{Db, Hertz, Metres};

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

/// What a limit is set to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantity {
    /// Frequency, hertz.
    Frequency,
    /// Distance, metres.
    Distance,
    /// Height of the upper antenna, metres.
    Upper,
    /// Height of the lower antenna, metres.
    Lower,
    /// A figure of the model itself.
    Model,
}

/// A closed interval; an end that the source does not state is infinite.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// Lower end.
    pub from: f64,
    /// Upper end.
    pub to: f64,
}

impl Span {
    /// No limit stated.
    pub const ANY: Self = Self { from: f64::NEG_INFINITY, to: f64::INFINITY };

    /// From `from` to `to`, both included.
    pub const fn new(from: f64, to: f64) -> Self {
        Self { from, to }
    }

    /// Whether `value` lies within; not for a value that is not a number.
    pub fn holds(self, value: f64) -> bool {
        (self.from..=self.to).contains(&value)
    }

    pub(super) const fn times(self, unit: f64) -> Self {
        Self { from: self.from * unit, to: self.to * unit }
    }
}

/// Which distance a model's limits speak of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Along {
    /// Over the ground.
    Ground,
    /// From antenna to antenna.
    Slant,
}

/// Where a model may be asked, as its source states it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Validity {
    /// Frequencies, hertz.
    pub frequency: Span,
    /// Distances, metres.
    pub distance: Span,
    /// Which distance that is.
    pub along: Along,
    /// Heights of the upper antenna, metres.
    pub upper: Span,
    /// Heights of the lower antenna, metres.
    pub lower: Span,
}

/// One quantity outside its limits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Breach {
    /// Which.
    pub quantity: Quantity,
    /// Its value: hertz or metres.
    pub value: f64,
    /// The limits.
    pub limits: Span,
}

impl fmt::Display for Breach {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (name, unit, scale) = match self.quantity {
            Quantity::Frequency => ("the frequency", "MHz", 1e6),
            Quantity::Distance => ("the distance", "m", 1.0),
            Quantity::Upper => ("the height of the upper antenna", "m", 1.0),
            Quantity::Lower => ("the height of the lower antenna", "m", 1.0),
            Quantity::Model => ("a figure of the model", "", 1.0),
        };
        let Span { from, to } = self.limits;
        write!(
            f,
            "{name}, {} {unit}, is outside {} to {} {unit}",
            self.value / scale,
            from / scale,
            to / scale
        )
    }
}

impl Validity {
    /// Every quantity of `link` that lies outside; empty when the model may be asked.
    pub fn breaches(&self, link: &Link) -> Vec<Breach> {
        let distance = match self.along {
            Along::Ground => link.distance,
            Along::Slant => link.slant(),
        };
        [
            (Quantity::Frequency, link.frequency.value(), self.frequency),
            (Quantity::Distance, distance.value(), self.distance),
            (Quantity::Upper, link.upper.value(), self.upper),
            (Quantity::Lower, link.lower.value(), self.lower),
        ]
        .into_iter()
        .filter(|(_, value, limits)| !limits.holds(*value))
        .map(|(quantity, value, limits)| Breach { quantity, value, limits })
        .collect()
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
