//! Where a model may be asked.

use std::fmt;

use crate::radio::link::Link;

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
