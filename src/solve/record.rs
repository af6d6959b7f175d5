//! The record of every bearing: as read, computed, missed by how much, and what it is taken for.

use nalgebra::Vector2;

use crate::{
    north::TrueBearing,
    numeric::quantile,
    solve::{
        density::{Density, LANES},
        fit::Fit,
        modes::climb,
        options::Loss,
        scene::{Sight, geodesic_miss},
        tree::{Mesh, batch},
    },
    units::{Angle, Metres, Sigma},
};

/// What a bearing is taken for, by the greatest of the three probabilities.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// It points at the emitter, within its error.
    Direct,
    /// Front and back were confused: its reverse points at the emitter.
    Reversed,
    /// A reflection, another emitter, or a slip.
    Foreign,
}

impl Verdict {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Direct => "direct",
            Self::Reversed => "reversed",
            Self::Foreign => "foreign",
        }
    }
}

/// One bearing against the fit.
#[derive(Clone, Debug)]
pub struct Residual {
    /// The bearing's identifier.
    pub id: String,
    /// Azimuth from its stand to the quoted place, from true north.
    pub computed: Angle,
    /// Measured minus computed, in (−180°, 180°].
    pub miss: Angle,
    /// Distance from its stand to the quoted place.
    pub range: Metres,
    /// Standard deviation that it was given: the reading's, and the stand's position seen from that range.
    pub sigma: Sigma<Angle>,
    /// Posterior probability of being direct.
    pub direct: f64,
    /// Posterior probability of being reversed.
    pub reversed: f64,
    /// Posterior probability of being foreign.
    pub foreign: f64,
    /// The likeliest of the three.
    pub verdict: Verdict,
    /// How far the quoted place moves when this bearing is left out; `None` when too few would remain, the rest has no
    /// peak nearby, there are more than a hundred bearings, or it was not asked for.
    pub shift_without: Option<Metres>,
}

/// How well the direct bearings agree with their stated errors.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Agreement {
    /// Sum of squared standardised misses of the direct bearings at the quoted place.
    pub chi_square: f64,
    /// Direct bearings less two.
    pub freedom: u32,
    /// Probability of a sum at least as large if the stated errors are right.
    pub p: f64,
    /// Judgement.
    pub judgement: Judgement,
}

/// χ² in words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Judgement {
    /// Fewer than two degrees of freedom: nothing can be said.
    TooFew,
    /// Some errors were not stated, so there is nothing to test against.
    Unstated,
    /// p below 2.5 %: the errors are larger than stated.
    OverConfident,
    /// p above 97.5 %: the errors are smaller than stated.
    UnderConfident,
    /// In between.
    Consistent,
}

/// Shared error of north as estimated at the quoted place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SharedError {
    /// What has to be added to the bearings that share it.
    pub estimate: Angle,
    /// Its prior standard deviation.
    pub prior: Sigma<Angle>,
}

/// The record of all bearings.
#[derive(Clone, Debug)]
pub struct Record {
    /// In the order of the bearings.
    pub residuals: Vec<Residual>,
    /// χ² of the direct ones.
    pub agreement: Agreement,
    /// The shared error of north, if any bearing has one.
    pub shared: Option<SharedError>,
}

pub(super) fn record(fit: &Fit, bearings: &[TrueBearing], in_turn: bool) -> Record {
    let density = Density::new(&fit.scene, &fit.options);
    let at = fit.modes().first().map_or(Vector2::zeros(), |m| m.peak.at);
    let probabilities = probabilities(fit, &density);
    let residuals: Vec<Residual> = bearings
        .iter()
        .zip(&fit.scene.sights)
        .zip(&probabilities)
        .enumerate()
        .map(|(i, ((bearing, sight), p))| {
            let shift = if in_turn { without(fit, i, &at) } else { None };
            residual(fit, bearing, sight, *p, shift)
        })
        .collect();
    let shared = shared(&fit.scene.sights, &residuals);
    let agreement = agreement(fit, &residuals, shared);
    Record { residuals, agreement, shared }
}

fn residual(
    fit: &Fit,
    bearing: &TrueBearing,
    sight: &Sight,
    (direct, reversed): (f64, f64),
    shift_without: Option<Metres>,
) -> Residual {
    let place = fit.modes().first().map_or_else(|| fit.mean(), |m| m.place);
    let (miss, range) = geodesic_miss(sight, place);
    // A direction that is free altogether has the standard deviation of the even distribution, 180°/√3.
    let free = std::f64::consts::PI.powi(2) / 3.0;
    let variance = (sight.sigma.powi(2) + sight.position / range.powi(2).max(1e-6)).min(free);
    let foreign = (1.0 - direct - reversed).max(0.0);
    let verdict = if direct >= reversed && direct >= foreign {
        Verdict::Direct
    } else if reversed >= foreign {
        Verdict::Reversed
    } else {
        Verdict::Foreign
    };
    Residual {
        id: bearing.read().id.clone(),
        computed: bearing.azimuth().turned(-Angle::radians(miss)),
        miss: Angle::radians(miss),
        range: Metres::new(range),
        sigma: Sigma::<Angle>::radians(variance.sqrt()).expect("a variance of positive parts"),
        direct,
        reversed,
        foreign,
        verdict,
        shift_without,
    }
}

/// How many points stand for the posterior when probabilities of the bearings are averaged over it.
const SAMPLES: usize = 128;

/// Probabilities of being direct and reversed, averaged over the posterior: one cell for every 1/128 of the mass,
/// in the order of the mesh.
fn probabilities(fit: &Fit, density: &Density) -> Vec<(f64, f64)> {
    let mesh = fit.mesh();
    let mut sums = vec![(0.0, 0.0); fit.scene.sights.len()];
    if fit.options.loss != Loss::Mixture {
        return vec![(1.0, 0.0); sums.len()];
    }
    for some in even(mesh, SAMPLES).chunks(LANES) {
        let found = density.verdicts_at(&batch(some.iter().map(|(p, _)| *p)));
        for (sum, (direct, reversed)) in sums.iter_mut().zip(found) {
            for (l, (_, share)) in some.iter().enumerate() {
                sum.0 += direct[l] * share;
                sum.1 += reversed[l] * share;
            }
        }
    }
    sums
}

/// Points of a mesh that stand for the posterior, with their shares of it: a cell for every 1/`count` of the mass, in the order of
/// the mesh.
pub(super) fn even(mesh: &Mesh, count: usize) -> Vec<([f64; 2], f64)> {
    let (mut passed, mut taken, mut out) = (0.0, 0, Vec::with_capacity(count));
    for leaf in &mesh.leaves {
        passed += leaf.mass;
        let due = ((passed * count as f64 + 0.5) as usize).min(count);
        if due > taken {
            out.push((mesh.points[leaf.centre as usize], (due - taken) as f64));
            taken = due;
        }
    }
    out.iter_mut().for_each(|(_, share)| *share /= taken.max(1) as f64);
    out
}

/// With more bearings than this none is left out in turn: a single one moves the place by next to nothing, and the cost grows
/// with the square of their number.
const MOST_LEFT_OUT: usize = 100;

/// How far the quoted peak moves without bearing `i`.
fn without(fit: &Fit, i: usize, at: &Vector2<f64>) -> Option<Metres> {
    if !(3..=MOST_LEFT_OUT).contains(&fit.scene.sights.len()) || fit.modes().is_empty() {
        return None;
    }
    let rest = fit.scene.without(i);
    let density = Density::new(&rest, &fit.options);
    climb(&density, *at).map(|peak| Metres::new((peak.at - at).norm()))
}

/// Posterior mean of the shared error at the quoted place, from the direct bearings that share it, weighted by
/// their probabilities: −Σ w Δ / (Σ w + 1/σ²) with w = p/σᵢ².
fn shared(sights: &[Sight], residuals: &[Residual]) -> Option<SharedError> {
    let prior = sights.iter().map(|s| s.shared).fold(0.0, f64::max);
    let sigma = Sigma::<Angle>::radians(prior)?;
    let (mut weight, mut sum) = (1.0 / prior.powi(2), 0.0);
    for (_, r) in sights.iter().zip(residuals).filter(|(s, _)| s.shared > 0.0) {
        let w = r.direct / r.sigma.to_radians().powi(2);
        weight += w;
        sum -= w * r.miss.to_radians();
    }
    Some(SharedError { estimate: Angle::radians(sum / weight), prior: sigma })
}

fn agreement(fit: &Fit, residuals: &[Residual], shared: Option<SharedError>) -> Agreement {
    let direct = residuals.iter().zip(&fit.scene.sights).filter(|(r, _)| r.verdict == Verdict::Direct);
    let (mut chi_square, mut count, mut unstated) = (0.0, 0u32, false);
    for (r, sight) in direct {
        let offset = shared.filter(|_| sight.shared > 0.0).map_or(0.0, |s| s.estimate.to_radians());
        chi_square += ((r.miss.to_radians() + offset) / r.sigma.to_radians()).powi(2);
        count += 1;
        unstated |= sight.unstated;
    }
    if let Some(s) = shared {
        chi_square += (s.estimate.to_radians() / s.prior.to_radians()).powi(2);
    }
    let freedom = count.saturating_sub(2);
    let p = if freedom == 0 { 1.0 } else { quantile::chi_square_tail(chi_square, f64::from(freedom)) };
    let judgement = match p {
        _ if unstated => Judgement::Unstated,
        _ if freedom < 2 => Judgement::TooFew,
        p if p < 0.025 => Judgement::OverConfident,
        p if p > 0.975 => Judgement::UnderConfident,
        _ => Judgement::Consistent,
    };
    Agreement { chi_square, freedom, p, judgement }
}
