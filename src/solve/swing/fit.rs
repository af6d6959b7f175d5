//! The direction of a swing with everything that belongs to it.

use std::f64::consts::PI;

use crate::{
    finding::Finding,
    numeric::quantile::student_half_width,
    observe::Swing,
    radio::{Family, Pattern},
    solve::swing::{
        cells::{Cell, cells},
        doubts,
        model::strongest,
        posterior::{Posterior, best, log_sum, posterior},
        prior::{Prior, SCATTER_FREEDOM},
        two::{Lobes, two},
    },
    units::{Angle, Db, Dbm, Sigma, Watts},
};

/// Degrees below which no bearing of a hand-held antenna is trusted, whatever its levels say: pointing it and reading the
/// compass have errors that no level shows. Half of the class A of [`crate::sources::RR1947`].
pub const LEAST_SIGMA: f64 = 1.0;

/// Degrees of sigma beyond which a direction is none: the even distribution over the circle has 104°, over half of it 52°.
const WORST_SIGMA: f64 = 45.0;

/// An odds ratio of 10 is customary as "substantial" evidence, 20 as "strong".
const SUBSTANTIAL: f64 = 10.0;
const STRONG: f64 = 20.0;

/// Where a swing points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Direction {
    /// From the north that the headings were read from, in [0°, 360°).
    pub bearing: Angle,
    /// One standard deviation, never below [`LEAST_SIGMA`].
    pub sigma: Sigma<Angle>,
    /// The same by the levels alone.
    pub by_levels: Sigma<Angle>,
    /// Whether the reverse fits as well: the antenna cannot tell front from back.
    pub two_way: bool,
    /// Share of the posterior in the stretch around it; a two-way direction and its reverse count as one.
    pub share: f64,
}

/// Ratio of the level with the front toward the bearing and that with the back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FrontToBack {
    /// The ratio.
    pub ratio: Db,
    /// One standard deviation.
    pub sigma: Sigma<Db>,
}

/// A heading at which the level is highest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Peak {
    /// Heading, from the swing's north.
    pub heading: Angle,
    /// Level there by the fit.
    pub level: Dbm,
}

/// A heading at which the level is lowest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Null {
    /// Heading, from the swing's north.
    pub heading: Angle,
    /// Level there by the fit.
    pub level: Dbm,
}

/// A swing with its fitted pattern. The raw levels stay in the [`Swing`].
#[derive(Clone, Debug, PartialEq)]
pub struct SwingFit {
    /// Where it points; `None` where the levels give no direction, for a reason among the findings.
    pub direction: Option<Direction>,
    /// The likeliest pattern; `None` where there is no fit at all.
    pub pattern: Option<Pattern>,
    /// Full half-power width of the peak with one standard deviation, where the levels determine it: a lobe's.
    pub beamwidth: Option<(Angle, Sigma<Angle>)>,
    /// `None` for a two-way antenna, and where nobody looked toward the back.
    pub front_to_back: Option<FrontToBack>,
    /// The stronger first: one, two where a reflection is likely, or the two of a figure of eight.
    pub peaks: Vec<Peak>,
    /// Of a cardioid, a figure of eight, or a body's shadow.
    pub nulls: Vec<Null>,
    /// Posterior share of each family of patterns that may be meant.
    pub families: Vec<(Family, f64)>,
    /// Natural logarithm of the evidence for a direction over that for the same level all around.
    pub over_flat: f64,
    /// Natural logarithm of the evidence for two lobes over that for one; `None` where two were not looked for.
    pub two_over_one: Option<f64>,
    /// Root mean square of what the fit leaves, in decibels.
    pub residual: Db,
    /// Doubts and assumptions, with the swing's place in its file.
    pub findings: Vec<Finding>,
}

impl SwingFit {
    /// The fitted level along a heading, from the swing's north; `None` without a direction. The powers of two lobes add.
    pub fn level(&self, heading: Angle) -> Option<Dbm> {
        let (pattern, direction) = (self.pattern?, self.direction?);
        let one = |peak: &Peak| {
            let off = Angle::radians(heading.to_radians() - peak.heading.to_radians());
            peak.level + Db::new(-pattern.attenuation(off).value())
        };
        let first = one(self.peaks.first()?);
        match self.peaks.get(1).filter(|_| !direction.two_way) {
            None => Some(first),
            Some(second) => {
                let sum = first.to_watts().value() + one(second).to_watts().value();
                Some(Dbm::of_power(Watts::new(sum)))
            }
        }
    }
}

/// Fits the antenna's pattern to a swing. Never fails: what gives no direction says why among its findings.
pub fn fit(swing: &Swing) -> SwingFit {
    let (cells, merged) = cells(swing);
    let priors = Prior::of(&swing.antenna);
    let mut out = SwingFit {
        direction: None,
        pattern: None,
        beamwidth: None,
        front_to_back: None,
        peaks: Vec::new(),
        nulls: Vec::new(),
        families: Vec::new(),
        over_flat: 0.0,
        two_over_one: None,
        residual: Db::new(0.0),
        findings: Vec::new(),
    };
    out.findings.extend(doubts::taken_for_granted(swing, &cells, merged));
    let heard = cells.iter().filter(|c| !c.below).count();
    let found = if heard == 0 || cells.len() < 3 { None } else { posterior(&cells, &priors) };
    match found {
        Some(found) => fitted(&mut out, swing, &cells, &priors, &found),
        None => out.findings.push(doubts::unheard(heard)),
    }
    for finding in &mut out.findings {
        finding.origin = Some(swing.origin());
    }
    out
}

fn fitted(out: &mut SwingFit, swing: &Swing, cells: &[Cell], priors: &[Prior], found: &Posterior) {
    let all = log_sum(found.evidence.iter().copied());
    out.families = priors.iter().zip(&found.evidence).map(|(p, e)| (p.family, (e - all).exp())).collect();
    out.over_flat = all - found.flat;
    let one_way = |i: &usize| priors[*i].family.two_way() == found.two_way;
    let likeliest =
        (0..priors.len()).filter(one_way).max_by(|a, b| found.evidence[*a].total_cmp(&found.evidence[*b]));
    let Some(prior) = likeliest.map(|i| &priors[i]) else { return };
    let Some(trial) = best(cells, prior, found.mean, strongest(cells)) else { return };
    let lobe = priors.iter().find(|p| p.family == Family::Lobe);
    let lobes = lobe.and_then(|prior| Some((two(cells, prior)?, prior)));
    out.two_over_one = lobes.map(|(l, p)| l.evidence + p.share.ln() - all);
    let second = lobes.filter(|_| out.two_over_one.is_some_and(|b| b > STRONG.ln()));
    let shape = match second {
        Some((lobes, prior)) => Shape::of_two(&lobes, prior, cells.len()),
        None => Shape {
            prior,
            peak: found.mean,
            sigma: found.sigma,
            share: found.share,
            level: trial.at[0],
            z: [trial.at[1], trial.at[2]],
            covariance: trial.covariance,
            residual: trial.residual,
        },
    };
    out.residual = Db::new(shape.residual);
    out.pattern = shape.prior.pattern(shape.z);
    if out.over_flat.max(out.over_flat + out.two_over_one.unwrap_or(0.0)) < SUBSTANTIAL.ln() {
        out.findings.push(doubts::flat(cells));
        return;
    }
    let by_levels = Sigma::<Angle>::radians(shape.sigma.max(1e-6));
    if shape.sigma.to_degrees() > WORST_SIGMA {
        out.findings.push(doubts::open(shape.sigma));
        return;
    }
    let sigma = Sigma::<Angle>::radians(shape.sigma.max(LEAST_SIGMA.to_radians()));
    out.direction = sigma.zip(by_levels).map(|(sigma, by_levels)| Direction {
        bearing: Angle::radians(shape.peak).compass(),
        sigma,
        by_levels,
        two_way: shape.prior.family.two_way(),
        share: shape.share,
    });
    describe(out, &shape, cells, second.map(|s| s.0));
    out.findings.extend(doubts::of(swing, cells, out));
}

/// The fit that is told, of one lobe or of two.
struct Shape<'a> {
    prior: &'a Prior,
    peak: f64,
    sigma: f64,
    share: f64,
    level: f64,
    z: [f64; 2],
    covariance: [[f64; 3]; 3],
    residual: f64,
}

impl<'a> Shape<'a> {
    /// Six parameters and an estimated scatter: the normal sigma is widened as Student's t is.
    fn of_two(lobes: &Lobes, prior: &'a Prior, cells: usize) -> Self {
        let freedom = cells.saturating_sub(6) as f64 + SCATTER_FREEDOM;
        let wider = student_half_width(0.954_499_736_103_642, freedom).unwrap_or(2.0) / 2.0;
        Self {
            prior,
            peak: lobes.headings[0],
            sigma: wider * lobes.sigma,
            share: 1.0,
            level: lobes.level,
            z: lobes.z,
            covariance: lobes.covariance,
            residual: lobes.residual,
        }
    }
}

fn describe(out: &mut SwingFit, shape: &Shape, cells: &[Cell], second: Option<Lobes>) {
    let Some(pattern) = out.pattern else { return };
    let at = |heading: f64, below: f64| (Angle::radians(heading).compass(), Dbm::new(shape.level - below));
    let peak = |(heading, level)| Peak { heading, level };
    out.peaks.push(peak(at(shape.peak, 0.0)));
    let family = shape.prior.family;
    if let Some(lobes) = second {
        out.peaks.push(peak(at(lobes.headings[1], lobes.weaker)));
    } else if family.two_way() {
        out.peaks.push(peak(at(shape.peak + PI, 0.0)));
    }
    for null in pattern.nulls() {
        let (heading, level) = at(shape.peak + null, pattern.attenuation(Angle::radians(*null)).value());
        out.nulls.push(Null { heading, level });
    }
    let deviation = |i: usize| shape.covariance[i][i].sqrt();
    let width = pattern.half_power_width();
    if family == Family::Lobe {
        let sigma = width.to_radians() * shape.prior.beamwidth.spread * deviation(1);
        out.beamwidth = Sigma::<Angle>::radians(sigma).map(|s| (width, s));
    }
    // The back was looked at where a reading lies within half a beam of it, or 30°.
    let near = (0.5 * width.to_radians()).clamp(30f64.to_radians(), 60f64.to_radians());
    let off = |c: &Cell| Angle::radians(c.heading - shape.peak - PI).wrapped().to_radians().abs();
    let back = cells.iter().any(|c| !c.below && off(c) <= near);
    if back && !family.two_way() {
        let depth = pattern.depth().value();
        let sigma = Sigma::<Db>::db(depth * shape.prior.depth.spread * deviation(2));
        out.front_to_back = sigma.map(|sigma| FrontToBack { ratio: Db::new(depth), sigma });
    }
}
