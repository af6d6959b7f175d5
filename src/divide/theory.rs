//! Search theory: detection from effort, where effort pays, and what a search without a find leaves.

use crate::numeric::portable::{erf, exp, ln};

/// Probability of detection of a search at random: 1 − exp(−coverage), where coverage is the area swept over the area searched
/// ([`crate::sources::KOOPMAN1980`]). Coverage below 0 counts as none.
pub fn random_search(coverage: f64) -> f64 {
    1.0 - exp(-coverage.max(0.0))
}

/// Probability of detection of parallel sweeps under the inverse cube law: erf(coverage √π/2)
/// ([`crate::sources::KOOPMAN1980`]). More than a search at random reaches; nobody on foot among houses keeps sweeps parallel.
pub fn inverse_cube(coverage: f64) -> f64 {
    erf(coverage.max(0.0) * std::f64::consts::PI.sqrt() / 2.0)
}

/// The best use of an effort where the place is normally distributed and detection exponential.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Best {
    /// Coverage at the middle.
    pub coverage: f64,
    /// Beyond this many standard deviations no effort pays.
    pub radius: f64,
    /// Probability of success.
    pub success: f64,
    /// The same for the best disc that is searched evenly.
    pub success_even: f64,
}

/// The best use of `swept` square metres under a normal density with standard deviations `sigmas` metres along its axes:
/// coverage a − r²/2 out to r = √(2a) standard deviations, a = √(swept ÷ π σ₁ σ₂), success 1 − (1 + a) e^(−a)
/// ([`crate::sources::STONE1975`], chapter 2). `None` unless all are finite, the deviations above 0 and the effort not negative.
pub fn best_for_normal(swept: f64, sigmas: [f64; 2]) -> Option<Best> {
    let product = sigmas[0] * sigmas[1];
    if !(swept >= 0.0 && swept.is_finite() && sigmas.iter().all(|s| *s > 0.0) && product.is_finite()) {
        return None;
    }
    let a = (swept / (std::f64::consts::PI * product)).sqrt();
    // An evenly searched disc is best where it holds as much as its coverage detects.
    let even = random_search(a / std::f64::consts::SQRT_2);
    Some(Best {
        coverage: a,
        radius: (2.0 * a).sqrt(),
        success: 1.0 - (1.0 + a) * exp(-a),
        success_even: even * even,
    })
}

/// How an effort of `swept` square metres is best put onto areas, for detection 1 − exp(−swept/area): the square metres for each.
/// Effort goes where the density of probability is highest until it is level there (Lagrange; [`crate::sources::STONE1975`]).
///
/// Areas must be above 0 and probabilities not negative; areas without probability get nothing. `None` otherwise, or where the
/// two lists are not of one length.
pub fn allot(probabilities: &[f64], areas: &[f64], swept: f64) -> Option<Vec<f64>> {
    let sound = probabilities.iter().all(|p| *p >= 0.0 && p.is_finite())
        && areas.iter().all(|a| *a > 0.0 && a.is_finite())
        && swept >= 0.0
        && swept.is_finite();
    if probabilities.len() != areas.len() || !sound {
        return None;
    }
    let density = |i: usize| probabilities[i] / areas[i];
    let mut order: Vec<usize> = (0..areas.len()).filter(|i| probabilities[*i] > 0.0).collect();
    order.sort_by(|a, b| density(*b).total_cmp(&density(*a)));
    let (mut area, mut logs, mut level) = (0.0, 0.0, f64::INFINITY);
    let mut used = 0;
    for i in &order {
        if used > 0 && ln(density(*i)) <= level {
            break;
        }
        area += areas[*i];
        logs += areas[*i] * ln(density(*i));
        level = (logs - swept) / area;
        used += 1;
    }
    let mut out = vec![0.0; areas.len()];
    for i in &order[..used] {
        out[*i] = (areas[*i] * (ln(density(*i)) - level)).max(0.0);
    }
    Some(out)
}

/// What a pass over several parts did, by Bayes' rule.
#[derive(Clone, Debug, PartialEq)]
pub struct Passed {
    /// Probability that the pass would find it: the sum of containment times detection over the parts.
    pub success: f64,
    /// Probability of each part after the pass has found nothing; they add up to what they added up to before.
    pub left: Vec<f64>,
}

/// The parts' probabilities after a pass without a find: each falls by its probability of detection, and what is left is brought
/// back to the former sum. `None` unless the lists are of one length, and where nothing would be left.
pub fn pass(containment: &[f64], detection: &[f64]) -> Option<Passed> {
    if containment.len() != detection.len() || !detection.iter().all(|d| (0.0..=1.0).contains(d)) {
        return None;
    }
    let whole: f64 = containment.iter().sum();
    let success: f64 = containment.iter().zip(detection).map(|(p, d)| p * d).sum();
    if whole - success <= 1e-12 * whole {
        return None;
    }
    let scale = whole / (whole - success);
    let left = containment.iter().zip(detection).map(|(p, d)| p * (1.0 - d) * scale).collect();
    Some(Passed { success, left })
}

/// Detection of several passes over one part together: 1 − Π(1 − POD).
pub fn together(detections: &[f64]) -> f64 {
    1.0 - detections.iter().map(|d| 1.0 - d).product::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Koopman's two laws; digits by evaluation to 12 places.
    #[test]
    fn detection_against_coverage() {
        for (coverage, random, cube) in [
            (0.25, 0.221199216929, 0.245968926472),
            (0.5, 0.393469340287, 0.46911594893),
            (1.0, 0.632120558829, 0.789908594556),
            (1.5, 0.776869839852, 0.939887997716),
            (2.0, 0.864664716763, 0.987811117815),
            (3.0, 0.950212931632, 0.999830047525),
        ] {
            assert!((random_search(coverage) - random).abs() < 1e-12);
            assert!((inverse_cube(coverage) - cube).abs() < 1e-11, "{}", inverse_cube(coverage));
        }
    }

    /// Stone's optimum by quadrature of coverage against density, to 11 digits; the elliptical case has σ₁σ₂ for σ².
    #[test]
    fn effort_under_a_normal_density() {
        for (effort, radius, best, even) in [
            (0.5, 0.893243841738, 0.0612685564821, 0.0604165639016),
            (1.0, 1.06225193203, 0.110256207832, 0.108221634752),
            (std::f64::consts::PI, std::f64::consts::SQRT_2, 0.264241117657, 0.256979351644),
            (5.0, 1.58843713191, 0.35950159758, 0.348324437694),
            (10.0, 1.888980739, 0.53242279183, 0.513787763606),
            (50.0, 2.82468504581, 0.907643812264, 0.884447203234),
        ] {
            let found = best_for_normal(effort * 600.0, [20.0, 30.0]).unwrap();
            assert!((found.success - best).abs() < 1e-11 && (found.success_even - even).abs() < 1e-11);
            assert!((found.radius - radius).abs() < 1e-9, "{}", found.radius);
        }
        assert_eq!(best_for_normal(1.0, [0.0, 1.0]), None);
    }

    const CONTAINED: [f64; 5] = [0.35, 0.25, 0.20, 0.12, 0.08];

    /// Arithmetic of containment, detection and success over two passes.
    #[test]
    fn two_passes_add_up() {
        let first = pass(&CONTAINED, &[0.7, 0.5, 0.0, 0.0, 0.0]).unwrap();
        assert!((first.success - 0.37).abs() < 1e-12);
        for (left, digits) in first.left.iter().zip([0.1666667, 0.1984127, 0.3174603, 0.1904762, 0.1269841]) {
            assert!((left - digits).abs() < 5e-8);
        }
        let second = pass(&first.left, &[0.3, 0.6, 0.5, 0.0, 0.0]).unwrap();
        let all = first.success + (1.0 - first.success) * second.success;
        assert!(
            ((1.0 - first.success) * second.success - 0.2065).abs() < 1e-9 && (all - 0.5765).abs() < 1e-9
        );
        assert!((together(&[0.7, 0.3]) - 0.79).abs() < 1e-12 && (together(&[0.5, 0.6]) - 0.80).abs() < 1e-12);
        assert_eq!(pass(&[1.0], &[1.0]), None, "a certain search that found nothing leaves nothing");
    }

    /// Lagrange's allocation, digits by an independent optimiser to 1e-7.
    #[test]
    fn effort_goes_where_the_density_is() {
        let areas = [0.20e6, 0.30e6, 0.25e6, 0.40e6, 0.35e6];
        let success = |effort: &[f64]| -> f64 {
            (0..5).map(|i| CONTAINED[i] * random_search(effort[i] / areas[i])).sum()
        };
        let found = allot(&CONTAINED, &areas, 0.5e6).unwrap();
        for (effort, digits) in found.iter().zip([244872.2769, 144727.2119, 110400.5113, 0.0, 0.0]) {
            assert!((effort - digits).abs() < 1e-3, "{effort} {digits}");
        }
        for (swept, digits) in [(0.5e6, 0.4141967169), (1.0e6, 0.6025146338), (2.0e6, 0.7965520931)] {
            let found = allot(&CONTAINED, &areas, swept).unwrap();
            assert!((found.iter().sum::<f64>() - swept).abs() < 1e-3);
            assert!((success(&found) - digits).abs() < 1e-9, "{}", success(&found));
        }
        let (even, like): (Vec<f64>, Vec<f64>) =
            (0..5).map(|i| (0.5e6 * areas[i] / 1.5e6, 0.5e6 * CONTAINED[i])).unzip();
        assert!((success(&even) - 0.2834686894).abs() < 1e-9 && (success(&like) - 0.3805789243).abs() < 1e-9);
    }
}
