//! How well a heading can be known at best.

use crate::{
    numeric::least_squares::{Model, Triangle},
    radio::{Family, Pattern},
    units::{Angle, Db, Sigma},
};

/// The Cramér–Rao bound of the peak's heading from levels at `headings`, each with an independent normal error `scatter`,
/// with the level, the depth and for a lobe the beamwidth unknown too ([`crate::sources::KAY1993`]).
///
/// Derivation. The level at heading θᵢ is Lᵢ = A − a(θᵢ − θ₀; w, D) + eᵢ with eᵢ normal of standard deviation s. The
/// information of the parameters p = (A, θ₀, ln w, D) is J = Σᵢ gᵢ gᵢᵀ / s² with gᵢ = ∂Lᵢ/∂p: by A it is 1, by θ₀ the slope
/// a′(θᵢ − θ₀), by ln w and D minus those of the attenuation. The bound is the root of the diagonal element of J⁻¹ that
/// belongs to θ₀. With n headings evenly all around, the slope is odd about the peak and the rest even, so that θ₀ stands
/// alone; for a lobe of beamwidth w whose parabola reaches the depth D at w √(D/12), the sum becomes
/// n/2π ∫ (24 x/w²)² dx = n (192/π) (D/12)^(3/2) / w, and the bound is s √(π w / (192 n)) (12/D)^(3/4), all angles in
/// radians.
///
/// `None` where the headings do not determine the parameters.
pub fn bound(headings: &[Angle], peak: Angle, pattern: &Pattern, scatter: Sigma<Db>) -> Option<Sigma<Angle>> {
    let mut information = Triangle::<4>::new();
    for heading in headings {
        let off = Angle::radians(heading.to_radians() - peak.to_radians());
        let by = [1.0, pattern.slope(off), -pattern.by_log_beamwidth(off), -pattern.by_depth(off)];
        information.add(0.0, &by.map(|g| g / scatter.to_db()));
    }
    if pattern.family() != Family::Lobe {
        // There is no beamwidth: any prior keeps it apart from the rest.
        information.add(0.0, &[0.0, 0.0, 1.0, 0.0]);
    }
    Sigma::<Angle>::radians(information.inverse()?[1][1].sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The closed form of the derivation, for so many headings that the sum is the integral.
    #[test]
    fn many_even_headings_have_the_bound_of_the_closed_form() {
        let (width, depth, n, scatter) = (60f64.to_radians(), 18.0, 3600, 2.0);
        let pattern = Pattern::new(Family::Lobe, Angle::radians(width), Db::new(depth)).unwrap();
        let headings: Vec<Angle> = (0..n).map(|i| Angle::degrees(0.1 * f64::from(i) + 0.03)).collect();
        let found =
            bound(&headings, Angle::degrees(77.0), &pattern, Sigma::<Db>::db(scatter).unwrap()).unwrap();
        let closed = scatter
            * (std::f64::consts::PI * width / (192.0 * f64::from(n))).sqrt()
            * (12.0 / depth).powf(0.75);
        // The last step of the sum beyond the parabola's edge is at most 0.1° of 37°.
        assert!((found.to_radians() / closed - 1.0).abs() < 5e-3, "{} {closed}", found.to_radians());
    }
}
