//! Uncertainty in the manner of the Guide to the Expression of Uncertainty in Measurement ([`crate::sources::GUM`]): repeated
//! readings, what a stated half-width is worth, combination with correlations, effective degrees of freedom, coverage factor.

use crate::numeric::quantile::student_half_width;

/// Probability that k = 2 stands for with a normal distribution.
pub const TWO_SIGMA: f64 = 0.954_499_736_103_641_6;

/// A mean of repeated readings (type A evaluation, [`crate::sources::GUM`] 4.2).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Repeated {
    /// The mean.
    pub mean: f64,
    /// Experimental standard deviation of one reading.
    pub deviation: f64,
    /// That of the mean: over the root of their number.
    pub error: f64,
    /// Their number less one.
    pub freedom: f64,
}

/// The mean of readings that were taken one by one of the same quantity; `None` for fewer than two, or numbers that are not
/// finite.
pub fn repeated(values: &[f64]) -> Option<Repeated> {
    if values.len() < 2 || values.iter().any(|v| !v.is_finite()) {
        return None;
    }
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let deviation = (values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / (n - 1.0)).sqrt();
    Some(Repeated { mean, deviation, error: deviation / n.sqrt(), freedom: n - 1.0 })
}

/// Correlation of two means whose readings were taken together, pair by pair ([`crate::sources::GUM`] 5.2.3); `None` for fewer than
/// two pairs, lists of different lengths, or a list that does not vary.
pub fn correlation(first: &[f64], second: &[f64]) -> Option<f64> {
    let (a, b) = (repeated(first)?, repeated(second)?);
    let product = a.deviation * b.deviation * a.freedom;
    let sum: f64 = first.iter().zip(second).map(|(x, y)| (x - a.mean) * (y - b.mean)).sum();
    (first.len() == second.len() && product > 0.0).then(|| sum / product)
}

/// How the possible values lie within what was stated (type B evaluation, [`crate::sources::GUM`] 4.3).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    /// A standard uncertainty.
    Standard,
    /// An expanded uncertainty with this coverage factor.
    Normal(f64),
    /// Limits, everything between them alike.
    Rectangular,
    /// Limits, the middle more likely.
    Triangular,
    /// Limits, the ends more likely: a sine of unknown phase, such as mismatch.
    UShaped,
}

impl Shape {
    /// What the stated half-width is divided by: 1, k, √3, √6, √2.
    pub fn divisor(self) -> f64 {
        match self {
            Self::Standard => 1.0,
            Self::Normal(k) => k,
            Self::Rectangular => 3f64.sqrt(),
            Self::Triangular => 6f64.sqrt(),
            Self::UShaped => 2f64.sqrt(),
        }
    }

    /// The word for a table.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Standard | Self::Normal(_) => "normal",
            Self::Rectangular => "rectangular",
            Self::Triangular => "triangular",
            Self::UShaped => "U-shaped",
        }
    }
}

/// An input of a result.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Component {
    /// Its standard uncertainty.
    pub standard: f64,
    /// How the result changes with it: the partial derivative.
    pub sensitivity: f64,
    /// Degrees of freedom of the uncertainty; infinite where it is taken as exact.
    pub freedom: f64,
}

impl Component {
    /// What it contributes to the result's uncertainty.
    pub fn contribution(&self) -> f64 {
        (self.sensitivity * self.standard).abs()
    }
}

/// Covariance of two results of the same inputs, with the correlation of the inputs `i` and `j` by `correlation(i, j)` (1 where they are
/// the same one): Σ cᵢ dⱼ uᵢ uⱼ rᵢⱼ ([`crate::sources::GUM`] 5.2.2 and H.2). The variance where the two are one. `first` and
/// `second` are sensitivities.
pub fn covariance(
    first: &[f64],
    second: &[f64],
    standard: &[f64],
    correlation: impl Fn(usize, usize) -> f64,
) -> f64 {
    let term = |i: usize, j: usize| first[i] * second[j] * standard[i] * standard[j] * correlation(i, j);
    let n = first.len().min(second.len()).min(standard.len());
    (0..n).map(|i| (0..n).map(|j| term(i, j)).sum::<f64>()).sum()
}

/// Combined standard uncertainty of independent inputs ([`crate::sources::GUM`] 5.1.2).
pub fn combined(components: &[Component]) -> f64 {
    components.iter().map(|c| c.contribution() * c.contribution()).sum::<f64>().sqrt()
}

/// Effective degrees of freedom of the combined uncertainty of independent inputs: u⁴/Σ(uᵢ⁴/νᵢ) ([`crate::sources::WELCH1947`],
/// [`crate::sources::GUM`] G.4.1); infinite where no input has finitely many.
pub fn effective_freedom(components: &[Component]) -> f64 {
    let fourth = |u: f64| u.powi(4);
    let sum: f64 = components.iter().map(|c| fourth(c.contribution()) / c.freedom).sum();
    if sum > 0.0 { fourth(combined(components)) / sum } else { f64::INFINITY }
}

/// Coverage factor for probability `p`: of Student's t distribution, the degrees of freedom rounded down
/// ([`crate::sources::GUM`] G.6.4). `None` below one degree of freedom.
pub fn coverage_factor(p: f64, freedom: f64) -> Option<f64> {
    // Rounding must not lose a whole degree; beyond a hundred thousand the normal distribution is the same to all digits shown.
    let whole = (freedom + 1e-9).floor().min(1e5);
    (whole >= 1.0).then(|| student_half_width(p, whole)).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Five simultaneous readings of voltage (V), current (mA) and phase (rad): JCGM 100:2008, H.2, Table H.2.
    const VOLTS: [f64; 5] = [5.007, 4.994, 5.005, 4.990, 4.999];
    const MILLIAMPERES: [f64; 5] = [19.663, 19.639, 19.640, 19.685, 19.678];
    const RADIANS: [f64; 5] = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433];

    /// JCGM 100:2008, H.2, Tables H.3 and H.4, the simultaneous resistance and reactance: R = 127.732 Ω, u = 0.071; X = 219.847 Ω,
    /// u = 0.295; Z = 254.260 Ω, u = 0.236; r(R, X) = −0.588, r(R, Z) = −0.485, r(X, Z) = 0.993. u(X) is 0.2956 with all digits: the Guide
    /// computed it from rounded inputs. Tolerance: half a unit of the last printed digit, for u(X) a whole one.
    #[test]
    fn resistance_and_reactance_of_the_guide() {
        let lists = [VOLTS.as_slice(), &MILLIAMPERES, &RADIANS];
        let means = lists.map(|l| repeated(l).unwrap());
        let [v, i, phi] = means.map(|m| m.mean);
        let i = i * 1e-3;
        let standard = [means[0].error, means[1].error * 1e-3, means[2].error];
        let r = |a: usize, b: usize| correlation(lists[a], lists[b]).unwrap();
        // Table H.2: s(V) = 0.0032, s(I) = 0.0095 mA, s(φ) = 0.00075; r(V, I) = −0.36, r(V, φ) = 0.86, r(I, φ) = −0.65.
        for (found, printed, last) in [
            (standard[0], 0.0032, 1e-4),
            (standard[1], 0.0095e-3, 1e-7),
            (standard[2], 0.000_75, 1e-5),
            (r(0, 1), -0.36, 1e-2),
            (r(0, 2), 0.86, 1e-2),
            (r(1, 2), -0.65, 1e-2),
        ] {
            assert!((found - printed).abs() <= 0.5 * last, "{found} {printed}");
        }
        let z = v / i;
        let (sin, cos) = phi.sin_cos();
        let gradients =
            [[cos / i, -z * cos / i, -z * sin], [sin / i, -z * sin / i, z * cos], [1.0 / i, -z / i, 0.0]];
        let cov = |a: usize, b: usize| covariance(&gradients[a], &gradients[b], &standard, r);
        let values = [z * cos, z * sin, z];
        for (k, (value, u, slack)) in
            [(127.732, 0.071, 0.5e-3), (219.847, 0.295, 1e-3), (254.260, 0.236, 0.5e-3)]
                .into_iter()
                .enumerate()
        {
            assert!((values[k] - value).abs() <= 0.5e-3, "{} {value}", values[k]);
            assert!((cov(k, k).sqrt() - u).abs() <= slack, "{} {u}", cov(k, k).sqrt());
        }
        for (a, b, printed) in [(0, 1, -0.588), (0, 2, -0.485), (1, 2, 0.993)] {
            let found = cov(a, b) / (cov(a, a) * cov(b, b)).sqrt();
            assert!((found - printed).abs() <= 0.5e-3, "{found} {printed}");
        }
    }

    /// JCGM 100:2008, H.1.6, end gauge (carried from memory): 25 nm with 18 degrees of freedom, 9.7 nm with 25.6, 2.9 nm with 50, 16.6 nm
    /// with 2: u = 32 nm, 16 effective degrees of freedom, t for 99 % is 2.92, U = 93 nm.
    #[test]
    fn the_end_gauge_of_the_guide() {
        let component = |standard, freedom| Component { standard, sensitivity: 1.0, freedom };
        let all = [component(25.0, 18.0), component(9.7, 25.6), component(2.9, 50.0), component(16.6, 2.0)];
        let (u, freedom) = (combined(&all), effective_freedom(&all));
        assert!((u - 32.0).abs() <= 0.5, "{u}");
        assert_eq!(freedom.floor(), 16.0);
        let k = coverage_factor(0.99, freedom).unwrap();
        assert!((k - 2.92).abs() <= 0.005, "{k}");
        assert!((k * u.round() - 93.0).abs() <= 0.5, "{}", k * u.round());
    }

    /// JCGM 100:2008, Table G.2, t for 95.45 %: 13.97, 4.53, 2.28, 2.13, 2.05 for 1, 2, 10, 20, 50 degrees of freedom; 2.000 for
    /// infinitely many (carried from memory).
    #[test]
    fn coverage_factors_have_the_values_of_the_table() {
        for (freedom, k) in
            [(1.0, 13.97), (2.0, 4.53), (10.0, 2.28), (20.9, 2.13), (50.0, 2.05), (f64::INFINITY, 2.0)]
        {
            assert!((coverage_factor(TWO_SIGMA, freedom).unwrap() - k).abs() <= 0.006, "{freedom}");
        }
        assert_eq!(coverage_factor(TWO_SIGMA, 0.9), None);
    }

    #[test]
    fn divisors_are_those_of_the_distributions() {
        // Variances of unit half-width: 1/3, 1/6, 1/2, by integration.
        for (shape, variance) in [
            (Shape::Rectangular, 1.0 / 3.0),
            (Shape::Triangular, 1.0 / 6.0),
            (Shape::UShaped, 0.5),
            (Shape::Normal(2.0), 0.25),
        ] {
            assert!((shape.divisor().powi(-2) - variance).abs() < 1e-15);
        }
        assert_eq!((repeated(&[1.0]), repeated(&[1.0, f64::NAN])), (None, None));
        assert_eq!(correlation(&[1.0, 1.0], &[1.0, 2.0]), None);
    }
}
