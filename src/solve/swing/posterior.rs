//! The posterior of the heading over the whole circle.

use std::f64::consts::{PI, TAU};

use crate::{
    radio::Family,
    solve::swing::{
        cells::Cell,
        model::{Flat, One, Trial, strongest, trial},
        prior::Prior,
    },
    units::Angle,
};

/// Nodes of the first grid, 5° apart: a sixth of the narrowest usual beam.
const FIRST: usize = 72;

/// What lies so far below the top in the logarithm, 6e-6, is not looked at more closely.
const DEEP: f64 = 12.0;

/// A stretch of headings with what each family makes of its middle.
struct Node {
    middle: f64,
    width: f64,
    /// By family: logarithm of the density times the family's share.
    logs: Vec<f64>,
    /// By family: the parameters of the fit, where a fit nearby starts.
    fits: Vec<Option<[f64; 3]>>,
}

/// How often nodes that matter are split in three, and up to how many of them: to 1.7°, 0.6° and 0.2°, as far as the
/// posterior is narrow.
const SPLITS: [usize; 3] = [60, 40, 40];

/// What all families together say about the heading.
pub struct Posterior {
    /// Logarithm of each family's evidence times its share, in the order of the priors.
    pub evidence: Vec<f64>,
    /// Logarithm of the evidence of no pattern at all.
    pub flat: f64,
    /// Whether a figure of eight holds more than half of the evidence.
    pub two_way: bool,
    /// The direction, radians.
    pub mean: f64,
    /// Half of the distance from it that holds 95.45 % of the mass, radians.
    pub sigma: f64,
    /// Share of the mass in the stretch around it.
    pub share: f64,
}

/// Share of a normal distribution within two standard deviations.
const TWO_SIGMA: f64 = 0.954_499_736_103_642;

/// `None` where no family has a fit anywhere.
pub fn posterior(cells: &[Cell], priors: &[Prior]) -> Option<Posterior> {
    let top = strongest(cells);
    let first = TAU / FIRST as f64;
    let fresh = vec![Some([top, 0.0, 0.0]); priors.len()];
    let mut nodes: Vec<Node> =
        (0..FIRST).map(|i| node(cells, priors, (i as f64 + 0.5) * first, first, &fresh)).collect();
    for most in SPLITS {
        nodes = refined(nodes, most, |middle, width, starts| node(cells, priors, middle, width, starts));
    }
    let evidence: Vec<f64> =
        (0..priors.len()).map(|f| log_sum(nodes.iter().map(|n| n.logs[f] + n.width.ln()))).collect();
    let all = log_sum(evidence.iter().copied());
    if !all.is_finite() {
        return None;
    }
    let eight = priors.iter().position(|p| p.family == Family::FigureOfEight);
    let two_way = eight.is_some_and(|f| evidence[f] - all > 0.5f64.ln());
    let counts = |f: usize| (Some(f) == eight) == two_way;
    let density = |n: &Node| log_sum((0..priors.len()).filter(|f| counts(*f)).map(|f| n.logs[f]));
    let masses: Vec<(f64, f64, f64)> = nodes.iter().map(|n| (n.middle, n.width, density(n))).collect();
    let (mean, sigma, share) = direction(&masses, if two_way { 2.0 } else { 1.0 });
    let flat = trial(&Flat, cells, [top])?.log;
    // Of a direction and its reverse the one below 180° is named first.
    let mean = if two_way { mean.rem_euclid(PI) } else { mean };
    Some(Posterior { evidence, flat, two_way, mean, sigma, share })
}

/// What each family makes of a heading, even over the circle beforehand. A family without a start is left out.
fn node(cells: &[Cell], priors: &[Prior], middle: f64, width: f64, starts: &[Option<[f64; 3]>]) -> Node {
    let found: Vec<Option<Trial<3>>> = priors
        .iter()
        .zip(starts)
        .map(|(prior, start)| trial(&One { prior, peak: middle }, cells, (*start)?))
        .collect();
    let log = |(t, p): (&Option<Trial<3>>, &Prior)| {
        t.as_ref().map_or(f64::NEG_INFINITY, |t| t.log + p.share.ln() - TAU.ln())
    };
    let logs = found.iter().zip(priors).map(log).collect();
    Node { middle, width, logs, fits: found.iter().map(|t| t.as_ref().map(|t| t.at)).collect() }
}

/// The best fit of one family at a heading.
pub fn best(cells: &[Cell], prior: &Prior, heading: f64, top: f64) -> Option<Trial<3>> {
    trial(&One { prior, peak: heading }, cells, [top, 0.0, 0.0])
}

/// Splits each node that matters, and its neighbours, in three, unless too many matter for that. A family that matters
/// nowhere in a node is not fitted in its parts: they keep the node's own logarithm.
fn refined(nodes: Vec<Node>, most: usize, at: impl Fn(f64, f64, &[Option<[f64; 3]>]) -> Node) -> Vec<Node> {
    let tops: Vec<f64> = nodes.iter().map(greatest).collect();
    let top = tops.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let n = nodes.len();
    let matters = |i: usize| tops[i % n] > top - DEEP;
    let split: Vec<bool> = (0..n).map(|i| matters(i) || matters(i + 1) || matters(i + n - 1)).collect();
    if split.iter().filter(|s| **s).count() > most {
        return nodes;
    }
    let mut out = Vec::new();
    for (node, split) in nodes.into_iter().zip(split) {
        if !split {
            out.push(node);
            continue;
        }
        let small = |f: usize| node.logs[f] < greatest(&node) - DEEP;
        let starts: Vec<Option<[f64; 3]>> =
            (0..node.logs.len()).map(|f| node.fits[f].filter(|_| !small(f))).collect();
        let width = node.width / 3.0;
        for k in [-1.0, 0.0, 1.0] {
            let mut part = at(node.middle + k * width, width, &starts);
            for f in (0..starts.len()).filter(|f| starts[*f].is_none()) {
                part.logs[f] = node.logs[f];
            }
            out.push(part);
        }
    }
    out
}

fn greatest(node: &Node) -> f64 {
    node.logs.iter().copied().fold(f64::NEG_INFINITY, f64::max)
}

/// Mean, sigma and share of the likeliest stretch of (middle, width, logarithm of the density). With `fold` 2 a direction
/// and its reverse are the same.
fn direction(masses: &[(f64, f64, f64)], fold: f64) -> (f64, f64, f64) {
    let peak = masses.iter().copied().max_by(|a, b| a.2.total_cmp(&b.2)).unwrap_or((0.0, 1.0, 0.0));
    let total: f64 = masses.iter().map(|m| m.1 * (m.2 - peak.2).exp()).sum();
    let away = |x: f64, from: f64| Angle::radians(fold * (x - from)).wrapped().to_radians() / fold;
    // The stretch ends where the density has fallen to 3e-4 of its top.
    let low = |m: &&(f64, f64, f64)| m.2 < peak.2 - 8.0;
    let ends = |sign: f64| {
        let off = masses.iter().filter(low).map(|m| sign * away(m.0, peak.0)).filter(|d| *d > 0.0);
        off.fold(PI / fold, f64::min)
    };
    let (left, right) = (ends(-1.0), ends(1.0));
    let (mut inside, mut moment) = (0.0, 0.0);
    for m in masses {
        let d = away(m.0, peak.0);
        if -left < d && d < right {
            let mass = m.1 * (m.2 - peak.2).exp() / total;
            inside += mass;
            moment += mass * d;
        }
    }
    let mean = peak.0 + moment / inside;
    let mut by_distance: Vec<(f64, f64)> =
        masses.iter().map(|m| (away(m.0, mean).abs(), m.1 * (m.2 - peak.2).exp() / total)).collect();
    by_distance.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut sum, mut radius) = (0.0, PI / fold);
    for (distance, mass) in by_distance {
        sum += mass;
        if sum >= TWO_SIGMA {
            radius = distance;
            break;
        }
    }
    (Angle::radians(mean).compass().to_radians(), 0.5 * radius, inside)
}

/// Logarithm of a sum of exponentials.
pub fn log_sum(logs: impl Iterator<Item = f64> + Clone) -> f64 {
    let top = logs.clone().fold(f64::NEG_INFINITY, f64::max);
    if top == f64::NEG_INFINITY { top } else { top + logs.map(|l| (l - top).exp()).sum::<f64>().ln() }
}
