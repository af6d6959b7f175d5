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
