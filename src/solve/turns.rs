//! By how much each crew's readings are off, as the bearings that agree tell: for what looks at single bearings once the place is
//! known.

use nalgebra::Vector2;

use crate::solve::{density::Density, fit::Fit, scene::Sight};

/// What is to be added to each crew's readings, radians: the posterior mean of its compass's error at the first peak, with the prior
/// of [`crate::solve::CompassPrior`] (none, or a normal one) and the error of north that bearings share; zero for a crew without a
/// bearing that counts.
pub(super) fn turns(fit: &Fit, density: &Density) -> Vec<f64> {
    let Some(peak) = fit.modes().first() else { return vec![0.0; fit.scene.crews] };
    let at = peak.peak.at;
    let direct: Vec<f64> = density.verdicts(at.x, at.y).iter().map(|v| v.0).collect();
    let of = |crew: usize| {
        let own = fit.scene.sights.iter().zip(&direct).filter(|(s, _)| s.whose == crew);
        let (mut weight, mut sum, mut shared) = (0.0, 0.0, 0.0f64);
        for (sight, p) in own {
            let (miss, variance) = missed(sight, &at);
            weight += p / variance;
            sum += p * miss / variance;
            shared = shared.max(sight.shared);
        }
        if weight > 0.0 { -expected(fit, sum / weight, 1.0 / weight, shared.powi(2)) } else { 0.0 }
    };
    (0..fit.scene.crews).map(of).collect()
}

/// Miss of a bearing (measured minus computed) from a place, radians, with its variance there.
pub(super) fn missed(sight: &Sight, at: &Vector2<f64>) -> (f64, f64) {
    let d = at - Vector2::new(sight.east, sight.north);
    let square = d.norm_squared() + 1e-12;
    let (sin, cos) = (sight.sin * d.y - sight.cos * d.x, sight.sin * d.x + sight.cos * d.y);
    (sin.atan2(cos), sight.sigma.powi(2) + sight.position / square)
}

/// Mean of a crew's error, given its mean miss with that mean's variance.
fn expected(fit: &Fit, mean: f64, variance: f64, shared: f64) -> f64 {
    let prior = fit.options.compass;
    let alone = fit.scene.compasses.len() == 1;
    let probability = if alone { 0.0 } else { prior.probability };
    let wide = shared + prior.sigma.to_radians().powi(2);
    let likelihood = |v: f64| (-0.5 * mean * mean / v).exp() / v.sqrt();
    let off = probability * likelihood(wide + variance);
    let right = (1.0 - probability) * likelihood(shared + variance);
    let share = if off + right > 0.0 { off / (off + right) } else { probability };
    mean * (share * wide / (wide + variance) + (1.0 - share) * shared / (shared + variance))
}
