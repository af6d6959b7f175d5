//! Loss functions of a standardised residual, with the constants that keep 95 % efficiency under normal errors.

/// Huber's constant for 95 % efficiency.
pub const HUBER: f64 = 1.345;
/// Tukey's constant for 95 % efficiency.
pub const TUKEY: f64 = 4.685;
/// Cauchy's constant for 95 % efficiency.
pub const CAUCHY: f64 = 2.385;

/// A loss ρ(u) of a residual in standard deviations; ρ(u) ≈ u²/2 near zero for all of them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Loss {
    /// u²/2.
    Squared,
    /// Quadratic up to the constant, linear beyond.
    Huber(f64),
    /// Bounded: constant beyond the constant (bisquare).
    Tukey(f64),
    /// Logarithmic: (c²/2) ln(1 + (u/c)²).
    Cauchy(f64),
}

impl Loss {
    /// The loss itself.
    pub fn rho(self, u: f64) -> f64 {
        match self {
            Self::Squared => 0.5 * u * u,
            Self::Huber(k) if u.abs() <= k => 0.5 * u * u,
            Self::Huber(k) => k * (u.abs() - 0.5 * k),
            Self::Tukey(c) => {
                let rest = 1.0 - (u / c).powi(2).min(1.0);
                c * c / 6.0 * (1.0 - rest.powi(3))
            }
            Self::Cauchy(c) => 0.5 * c * c * (u / c).powi(2).ln_1p(),
        }
    }

    /// Weight ρ′(u)/u of the equivalent weighted least squares.
    pub fn weight(self, u: f64) -> f64 {
        match self {
            Self::Squared => 1.0,
            Self::Huber(k) => (k / u.abs()).min(1.0),
            Self::Tukey(c) => (1.0 - (u / c).powi(2)).max(0.0).powi(2),
            Self::Cauchy(c) => 1.0 / (1.0 + (u / c).powi(2)),
        }
    }

    /// Second derivative ρ″(u), for Newton's steps; zero or negative where the loss flattens. At Huber's corners, where
    /// there is none, that of the inside.
    pub fn curvature(self, u: f64) -> f64 {
        match self {
            Self::Squared => 1.0,
            Self::Huber(k) => f64::from(u.abs() <= k),
            Self::Tukey(c) => {
                let z = (u / c).powi(2);
                (1.0 - z).max(0.0) * (1.0 - 5.0 * z)
            }
            Self::Cauchy(c) => {
                let z = (u / c).powi(2);
                (1.0 - z) / (1.0 + z).powi(2)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::derivative::slope;

    /// Asymptotic efficiency (∫ψ′φ)² / ∫ψ²φ of a location M-estimator under normal errors (Huber 1964); trapezoid
    /// over ±12 with a step of 1e-4. ψ = u·weight; ∫ψ′φ = ∫uψφ by parts.
    fn efficiency(loss: Loss) -> f64 {
        let (mut slope, mut power) = (0.0, 0.0);
        for i in -120_000..=120_000 {
            let u = f64::from(i) * 1e-4;
            let phi = (-0.5 * u * u).exp() * 1e-4 / std::f64::consts::TAU.sqrt();
            let psi = u * loss.weight(if u == 0.0 { 1e-9 } else { u });
            slope += u * psi * phi;
            power += psi * psi * phi;
        }
        slope * slope / power
    }

    /// Efficiencies at the customary constants, from adaptive quadrature in scipy 1.17.
    #[test]
    fn the_customary_constants_keep_95_percent_efficiency() {
        assert!((efficiency(Loss::Huber(HUBER)) - 0.950_000_259_7).abs() < 1e-8);
        assert!((efficiency(Loss::Tukey(TUKEY)) - 0.949_997_350_1).abs() < 1e-8);
        assert!((efficiency(Loss::Cauchy(CAUCHY)) - 0.950_002_612_2).abs() < 1e-8);
    }

    #[test]
    fn the_weight_is_the_slope_of_the_loss_over_the_residual() {
        for loss in [Loss::Squared, Loss::Huber(HUBER), Loss::Tukey(TUKEY), Loss::Cauchy(CAUCHY)] {
            for u in [-6.0, -2.0, -0.3, 0.7, 1.9, 4.0] {
                let h = 1e-5;
                let slope = (loss.rho(u + h) - loss.rho(u - h)) / (2.0 * h);
                assert!((slope - u * loss.weight(u)).abs() < 1e-8, "{loss:?} {u}");
            }
        }
    }

    #[test]
    fn the_curvature_is_the_slope_of_the_slope() {
        for loss in [Loss::Squared, Loss::Huber(HUBER), Loss::Tukey(TUKEY), Loss::Cauchy(CAUCHY)] {
            for u in [-6.0, -2.0, -0.3, 0.7, 1.9, 4.0] {
                let (slope, error) = slope(|u| u * loss.weight(u), u, 0.1);
                assert!((slope - loss.curvature(u)).abs() < 1e-9 + error, "{loss:?} {u}");
            }
        }
    }
}
