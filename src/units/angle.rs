//! Angles, their one wrapped difference, and the mean of angles on the circle.

use std::f64::consts::{PI, TAU};

/// A plane angle, held in radians; as a direction it runs clockwise from north.
///
/// Any finite value is allowed; [`Angle::wrapped`] and [`Angle::compass`] bring it into range.
/// Differences of directions must go through [`Angle::miss_from`], the only subtraction that wraps.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Angle(f64);

impl Angle {
    /// Zero.
    pub const ZERO: Self = Self(0.0);

    /// An angle given in degrees.
    pub fn degrees(value: f64) -> Self {
        Self(value.to_radians())
    }

    /// An angle given in radians.
    pub const fn radians(value: f64) -> Self {
        Self(value)
    }

    /// The value in degrees, as it is held (not wrapped).
    pub fn to_degrees(self) -> f64 {
        self.0.to_degrees()
    }

    /// The value in radians, as it is held (not wrapped).
    pub const fn to_radians(self) -> f64 {
        self.0
    }

    /// The same direction in (−180°, 180°].
    pub fn wrapped(self) -> Self {
        let r = self.0 - TAU * (self.0 / TAU).round();
        Self(if r <= -PI { r + TAU } else { r })
    }

    /// The same direction in [0°, 360°).
    pub fn compass(self) -> Self {
        let r = self.0.rem_euclid(TAU);
        Self(if r >= TAU { 0.0 } else { r })
    }

    /// Signed miss of this direction from `other`, in (−180°, 180°]; positive when this one lies
    /// clockwise of `other`.
    pub fn miss_from(self, other: Self) -> Self {
        Self(self.0 - other.0).wrapped()
    }

    /// The opposite direction, in [0°, 360°).
    pub fn reversed(self) -> Self {
        Self(self.0 + PI).compass()
    }

    /// Turned clockwise by `by`, in [0°, 360°).
    pub fn turned(self, by: Self) -> Self {
        Self(self.0 + by.0).compass()
    }
}

impl std::ops::Neg for Angle {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

/// Mean and scatter of directions on the circle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CircularMean {
    /// Mean direction in [0°, 360°): the direction of the sum of unit vectors.
    pub mean: Angle,
    /// Sample standard deviation of the misses from the mean (n − 1 in the denominator);
    /// zero for a single direction.
    pub deviation: Angle,
    /// Largest angle between any two of the directions, at most 180°.
    pub span: Angle,
}

/// Circular mean of `directions`: 359° and 001° give 000°, not 180°.
///
/// `None` for an empty slice, for a non-finite direction, or when the unit vectors cancel so that no
/// mean direction exists (resultant shorter than 1e-9 per direction).
pub fn circular_mean(directions: &[Angle]) -> Option<CircularMean> {
    let n = directions.len() as f64;
    let (s, c) = directions.iter().fold((0.0, 0.0), |(s, c), a| (s + a.0.sin(), c + a.0.cos()));
    if directions.is_empty() || s.hypot(c).partial_cmp(&(1e-9 * n)) != Some(std::cmp::Ordering::Greater) {
        return None;
    }
    let mean = Angle(s.atan2(c)).compass();
    let squares: f64 = directions.iter().map(|a| a.miss_from(mean).0.powi(2)).sum();
    let deviation = Angle(if n > 1.0 { (squares / (n - 1.0)).sqrt() } else { 0.0 });
    Some(CircularMean { mean, deviation, span: span(directions) })
}

/// Largest angle between any two directions: for each, that to the neighbour of its opposite on either side. Sorted
/// first, so that a thousand directions cost no more than a thousand look-ups.
fn span(directions: &[Angle]) -> Angle {
    let mut sorted: Vec<Angle> = directions.iter().map(|a| a.compass()).collect();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let n = sorted.len();
    let widest = sorted.iter().fold(0.0, |widest: f64, a| {
        let beyond = sorted.partition_point(|b| b.0 < a.reversed().0);
        let apart = |i: usize| sorted[i % n].miss_from(*a).0.abs();
        widest.max(apart(beyond)).max(apart(beyond + n - 1))
    });
    Angle(widest)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_mean_of_359_and_001_is_north() {
        let m = circular_mean(&[Angle::degrees(359.0), Angle::degrees(1.0)]).unwrap();
        assert!(m.mean.miss_from(Angle::ZERO).to_degrees().abs() < 1e-12);
        assert!((m.span.to_degrees() - 2.0).abs() < 1e-12);
        assert!((m.deviation.to_degrees() - 2f64.sqrt()).abs() < 1e-12);
    }

    /// The same by trying every pair.
    #[test]
    fn the_span_is_that_of_the_widest_pair() {
        for count in 1..40 {
            let directions: Vec<Angle> =
                (0..count).map(|k| Angle::degrees(f64::from(37 * k * k % (9 * count)))).collect();
            let pairs =
                directions.iter().flat_map(|a| directions.iter().map(|b| a.miss_from(*b).to_degrees()));
            let widest = pairs.fold(0.0, |widest: f64, miss| widest.max(miss.abs()));
            assert!((span(&directions).to_degrees() - widest).abs() < 1e-9, "{count}: {widest}");
        }
    }

    #[test]
    fn opposite_directions_have_no_mean() {
        assert_eq!(circular_mean(&[Angle::degrees(10.0), Angle::degrees(190.0)]), None);
        assert_eq!(circular_mean(&[]), None);
        assert_eq!(circular_mean(&[Angle::degrees(f64::NAN)]), None);
    }

    #[test]
    fn wrapping_keeps_the_half_open_ends() {
        assert_eq!(Angle::degrees(-180.0).wrapped().to_degrees(), 180.0);
        assert_eq!(Angle::degrees(540.0).wrapped().to_degrees(), 180.0);
        assert_eq!(Angle::degrees(360.0).compass(), Angle::ZERO);
        assert_eq!(Angle::radians(-1e-20).compass().to_degrees(), 0.0);
        let miss = Angle::degrees(2.0).miss_from(Angle::degrees(358.0));
        assert!((miss.to_degrees() - 4.0).abs() < 1e-12);
    }
}
