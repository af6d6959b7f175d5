//! Two lobes instead of one: the direct way and a reflection.

use std::f64::consts::{LN_10, PI, TAU};

use crate::{
    radio::Pattern,
    solve::swing::{
        cells::Cell,
        model::{Shape, Trial, strongest, trial},
        prior::Prior,
    },
    units::Angle,
};

/// The weaker lobe is looked for down to this below the stronger; what is weaker is a side lobe as likely as not. Common
/// practice, no source.
const WEAKEST_DB: f64 = 10.0;

/// Lobes nearer than this share of the beamwidth are one broad one: their sum has a single top.
const NEAREST: f64 = 0.75;

/// Headings tried for each of the lobes, 12° apart.
const TRIED: usize = 30;

/// Six parameters need more than six readings: two for each. Common practice, no source.
const FEWEST: usize = 12;

/// Starts that are polished.
const POLISHED: usize = 4;

/// Two lobes of the same antenna: level of the first, beamwidth, depth, both headings, and by how much the second lies
/// below the first. Their powers add.
struct Both<'a>(&'a Prior);

impl Shape<6> for Both<'_> {
    type Ready = Pattern;

    fn ready(&self, at: &[f64; 6]) -> Option<Pattern> {
        self.0.pattern([at[1], at[2]])
    }

    fn predicted(&self, pattern: &Pattern, at: &[f64; 6], heading: f64) -> (f64, [f64; 6]) {
        let off = [Angle::radians(heading - at[3]), Angle::radians(heading - at[4])];
        let level = [
            at[0] - pattern.attenuation(off[0]).value(),
            at[0] - at[5] - pattern.attenuation(off[1]).value(),
        ];
        let stronger = level[0].max(level[1]);
        let power = level.map(|l| ((l - stronger) * LN_10 / 10.0).exp());
        let sum = power[0] + power[1];
        let share = power.map(|p| p / sum);
        let each = |f: &dyn Fn(Angle) -> f64| share[0] * f(off[0]) + share[1] * f(off[1]);
        let slopes = [
            1.0,
            -self.0.beamwidth.spread * each(&|o| pattern.by_log_beamwidth(o)),
            -self.0.depth.spread * pattern.depth().value() * each(&|o| pattern.by_depth(o)),
            share[0] * pattern.slope(off[0]),
            share[1] * pattern.slope(off[1]),
            -share[1],
        ];
        (stronger + 10.0 / LN_10 * sum.ln(), slopes)
    }

    fn bound(&self, parameter: usize) -> bool {
        parameter == 1 || parameter == 2
    }
}

/// The two lobes that explain the cells best.
#[derive(Clone, Copy, Debug)]
pub struct Lobes {
    /// Logarithm of the evidence, with each heading even over the circle and the ratio even over [`WEAKEST_DB`].
    pub evidence: f64,
    /// Headings, radians; the stronger first.
    pub headings: [f64; 2],
    /// Level at the top of the stronger, dBm.
    pub level: f64,
    /// By how much the second is weaker, dB.
    pub weaker: f64,
    /// Standard deviation of the heading of the stronger, radians, at the scatter that was found.
    pub sigma: f64,
    /// Beamwidth and depth in standard deviations of their priors.
    pub z: [f64; 2],
    /// The same covariance that a fit of one lobe has, of level, beamwidth and depth.
    pub covariance: [[f64; 3]; 3],
    /// Root mean square of the residuals, dB.
    pub residual: f64,
}

/// Looks for two lobes; `None` where there are too few cells for six parameters, or none that are apart.
pub fn two(cells: &[Cell], prior: &Prior) -> Option<Lobes> {
    if cells.iter().filter(|c| !c.below).count() < FEWEST {
        return None;
    }
    let shape = Both(prior);
    let found = starts(cells, prior).into_iter().filter_map(|start| trial(&shape, cells, start));
    let lobes = found.filter_map(|t| lobes(&t, prior));
    lobes.max_by(|a, b| a.evidence.total_cmp(&b.evidence))
}

fn lobes(trial: &Trial<6>, prior: &Prior) -> Option<Lobes> {
    let [level, z0, z1, a, b, below] = trial.at;
    let width = prior.beamwidth.median * (prior.beamwidth.spread * z0).exp();
    let apart = Angle::radians(a - b).wrapped().to_radians().abs();
    if below.abs() > WEAKEST_DB || apart < NEAREST * width {
        return None;
    }
    let swapped = below < 0.0;
    let (first, second) = if swapped { (b, a) } else { (a, b) };
    let own = if swapped { 4 } else { 3 };
    // Three parameters without a prior of their own: the normal approximation leaves (2π)^(3/2).
    let evidence = trial.log + 1.5 * TAU.ln() - 2.0 * TAU.ln() - WEAKEST_DB.ln();
    Some(Lobes {
        evidence,
        headings: [first, second].map(|h| Angle::radians(h).compass().to_radians()),
        level: if swapped { level - below } else { level },
        weaker: below.abs(),
        sigma: trial.covariance[own][own].sqrt(),
        z: [z0, z1],
        covariance: std::array::from_fn(|i| std::array::from_fn(|j| trial.covariance[i][j])),
        residual: trial.residual,
    })
}

/// Starts for the polish: of all pairs of headings and three ratios those with the least squares, at the prior's pattern
/// and at one half as wide.
fn starts(cells: &[Cell], prior: &Prior) -> Vec<[f64; 6]> {
    let mut out: Vec<(f64, [f64; 6])> = Vec::new();
    for z in [[0.0, 0.0], [-2.0, 0.0]] {
        let Some(pattern) = prior.pattern(z) else { continue };
        let gains: Vec<Vec<f64>> = (0..TRIED)
            .map(|i| TAU * i as f64 / TRIED as f64)
            .map(|h| {
                cells
                    .iter()
                    .map(|c| pattern.attenuation(Angle::radians(c.heading - h)).to_ratio().recip())
                    .collect()
            })
            .collect();
        for (i, first) in gains.iter().enumerate() {
            for (j, second) in gains.iter().enumerate() {
                let apart =
                    Angle::radians(TAU * (i as f64 - j as f64) / TRIED as f64).wrapped().to_radians().abs();
                if apart < PI / 7.0 {
                    continue;
                }
                for below in [1.0, 4.0, 8.0] {
                    let weak = 10f64.powf(-below / 10.0);
                    let at = |k: usize| 10.0 * (first[k] + weak * second[k]).log10();
                    let (level, squares) = offset(cells, at);
                    let headings = [i, j].map(|i| TAU * i as f64 / TRIED as f64);
                    out.push((squares, [level, z[0], z[1], headings[0], headings[1], below]));
                }
            }
        }
    }
    out.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut kept: Vec<[f64; 6]> = Vec::new();
    for (_, start) in out {
        // Neighbours on the grid lead to the same lobes.
        let near =
            |k: &[f64; 6]| (3..5).all(|p| Angle::radians(k[p] - start[p]).wrapped().to_radians().abs() < 0.3);
        if kept.len() < POLISHED && !kept.iter().any(near) {
            kept.push(start);
        }
    }
    kept
}

/// The level that fits best, and the sum of squares that it leaves; what lies below the floor counts where it should have
/// been heard.
fn offset(cells: &[Cell], at: impl Fn(usize) -> f64) -> (f64, f64) {
    let heard = || cells.iter().enumerate().filter(|(_, c)| !c.below);
    let n = heard().count().max(1) as f64;
    let level = heard().map(|(k, c)| c.level - at(k)).sum::<f64>() / n;
    let squares = cells.iter().enumerate().map(|(k, c)| {
        let miss = c.level - level - at(k);
        if c.below && miss > 0.0 { 0.0 } else { miss * miss }
    });
    (if level.is_finite() { level } else { strongest(cells) }, squares.sum())
}
