//! One mast: how it sees a batch of places, and what its sectors say of the level that reaches it.

use std::f64::consts::{LOG10_E, TAU};

use crate::{
    numeric::special::scaled_tail,
    radio::Lobe,
    solve::{
        density::{Batch, LANES},
        lobe::exp_negative,
        sectors::{Heard, SectorPriors, SectorSight},
    },
    units::Angle,
};

/// One value for each place of a batch.
pub type Lanes = [f64; LANES];

/// Sectors within this distance of one another hang on one mast, or see the same obstacles. Common practice, no source.
const ONE_SITE_M: f64 = 100.0;

/// Tails of this many sectors stay within the range of a double: at 10,000 standard deviations each is above 3e-5.
const RESCALE_EVERY: usize = 32;

/// The sectors of a site.
#[derive(Clone, Debug)]
pub struct Site {
    east: f64,
    north: f64,
    height_squared: f64,
    sights: Vec<SectorSight>,
    /// Their indices in the order given.
    pub members: Vec<usize>,
}

impl Site {
    /// Groups sectors by place, in the order of their first.
    pub fn group(sights: &[SectorSight]) -> Vec<Self> {
        let mut sites: Vec<Self> = Vec::new();
        for (index, sight) in sights.iter().enumerate() {
            let near = |s: &Self| (s.east - sight.at.east).hypot(s.north - sight.at.north) < ONE_SITE_M;
            match sites.iter_mut().find(|s| near(s)) {
                Some(site) => {
                    site.sights.push(*sight);
                    site.members.push(index);
                }
                None => sites.push(Self {
                    east: sight.at.east,
                    north: sight.at.north,
                    // Half a metre: at the antenna itself the law has no meaning.
                    height_squared: sight.height.powi(2).max(0.25),
                    sights: vec![*sight],
                    members: vec![index],
                }),
            }
        }
        sites
    }

    /// Whether any of its sectors heard something.
    pub fn hears(&self) -> bool {
        self.sights.iter().any(|s| matches!(s.heard, Heard::Above { .. }))
    }

    /// Slant distance from the nearest point of a disc, metres.
    pub fn nearest(&self, east: f64, north: f64, radius: f64) -> f64 {
        let flat = ((east - self.east).hypot(north - self.north) - radius).max(0.0);
        (flat * flat + self.height_squared).sqrt()
    }

    /// Greatest slope of an antenna's attenuation, dB per radian: at the edge of its lobe.
    pub fn steepest(&self) -> f64 {
        let slope =
            |(_, lobe): (Angle, Lobe)| lobe.slope(Angle::radians(lobe.edge().to_radians() * (1.0 - 1e-9)));
        self.sights.iter().filter_map(|s| s.beam).map(slope).fold(0.0, f64::max)
    }

    /// Number of sectors.
    pub fn count(&self) -> usize {
        self.sights.len()
    }

    /// How the site sees the places of a batch.
    pub fn view(&self, points: &Batch, priors: &SectorPriors) -> View {
        let (mut loss, mut direction) = ([0.0; LANES], [0.0; LANES]);
        for l in 0..LANES {
            let (dx, dy) = (points.0[l] - self.east, points.1[l] - self.north);
            loss[l] = 5.0 * LOG10_E * (dx * dx + dy * dy + self.height_squared).ln();
            direction[l] = dx.atan2(dy);
        }
        self.toward(&direction, loss, priors)
    }

    /// The same for given directions from the site (radians clockwise from north) and values of 10 log₁₀ d.
    pub fn toward(&self, direction: &Lanes, loss: Lanes, priors: &SectorPriors) -> View {
        let mut view = View::of(loss);
        for sight in &self.sights {
            let attenuation = sight.beam.map_or([0.0; LANES], |(axis, lobe)| {
                direction.map(|d| lobe.attenuation(Angle::radians(d - axis.to_radians())).value())
            });
            let own = |a: f64| priors.sector.powi(2) + (priors.pattern * a).powi(2);
            match sight.heard {
                Heard::Above { level, error } => view.add_level(level, error, &attenuation, own),
                Heard::Below { limit } => {
                    let inverse = attenuation.map(|a| 1.0 / own(a).sqrt());
                    view.limits.push((attenuation.map(|a| limit + a), inverse));
                }
            }
        }
        view.finish(priors.site);
        view
    }
}

/// What a site makes of each place, with the level m that reaches it before shadowing still open.
#[derive(Clone, Debug)]
pub struct View {
    /// 10 log₁₀ of the slant distance.
    pub loss: Lanes,
    /// Sum of the weights 1/σ² of levels; zero at a site that heard nothing.
    weight: Lanes,
    /// Weighted mean of the levels with their attenuations added: m + S as measured.
    pub mean: Lanes,
    /// 1/variance of `mean` about m.
    pub precision: Lanes,
    /// Log of the density of the levels among one another.
    pub log: Lanes,
    /// Mean of S is `pull` (mean − m), its standard deviation `spread`.
    pull: Lanes,
    spread: Lanes,
    squares: Lanes,
    /// Limits with the attenuations added, and 1/σ.
    limits: Vec<(Lanes, Lanes)>,
}

impl View {
    fn of(loss: Lanes) -> Self {
        let zero = [0.0; LANES];
        Self {
            loss,
            weight: zero,
            mean: zero,
            precision: zero,
            log: zero,
            pull: zero,
            spread: zero,
            squares: zero,
            limits: Vec::new(),
        }
    }

    fn add_level(&mut self, level: f64, error: f64, attenuation: &Lanes, own: impl Fn(f64) -> f64) {
        for l in 0..LANES {
            let variance = own(attenuation[l]) + error * error;
            let weight = 1.0 / variance;
            let value = level + attenuation[l];
            // Weighted mean and sum of squares, updated one by one.
            let sum = self.weight[l] + weight;
            let off = value - self.mean[l];
            self.mean[l] += off * weight / sum;
            self.squares[l] += off * off * weight * self.weight[l] / sum;
            self.weight[l] = sum;
            self.log[l] -= 0.5 * (TAU * variance).ln();
        }
    }

    fn finish(&mut self, site: f64) {
        let shared = site * site;
        for l in 0..LANES {
            let weight = self.weight[l];
            if weight == 0.0 {
                self.spread[l] = site;
                continue;
            }
            let own = 1.0 / weight;
            let variance = shared + own;
            // Product of the normal densities about m + S, then S ~ N(0, site²) integrated out but for (mean − m)².
            self.log[l] += 0.5 * ((TAU * own).ln() - (TAU * variance).ln() - self.squares[l]);
            self.precision[l] = 1.0 / variance;
            self.pull[l] = shared / variance;
            self.spread[l] = (shared * own / variance).sqrt();
        }
    }

    /// Whether any of the site's sectors heard nothing.
    pub fn limited(&self) -> bool {
        !self.limits.is_empty()
    }

    /// Multiplies the probability that all silent sectors of the site stay below their limits, given `level` m, into
    /// `exponents` and `products` (value = product · e^exponent).
    #[inline(always)]
    pub fn silence(&self, level: &Lanes, nodes: &[(f64, f64)], exponents: &mut Lanes, products: &mut Lanes) {
        let (mut top, mut sum) = ([f64::NEG_INFINITY; LANES], [0.0; LANES]);
        for (node, weight) in nodes {
            let (mut exponent, mut product) = ([0.0; LANES], [*weight; LANES]);
            let mut heard = [0.0; LANES];
            for l in 0..LANES {
                heard[l] = level[l] + self.pull[l] * (self.mean[l] - level[l]) + self.spread[l] * node;
            }
            for (i, (limit, inverse)) in self.limits.iter().enumerate() {
                if i > 0 && i % RESCALE_EVERY == 0 {
                    for l in 0..LANES {
                        exponent[l] += product[l].ln();
                        product[l] = 1.0;
                    }
                }
                for l in 0..LANES {
                    let x = (limit[l] - heard[l]) * inverse[l];
                    let half_square = -0.5 * x * x;
                    let tail = scaled_tail(x.abs());
                    // Below zero the tail keeps its exponent apart, so that no product of them vanishes. A factor and not a
                    // branch: a branch would keep the lanes apart.
                    let above = f64::from(u8::from(x >= 0.0));
                    product[l] *= tail + above * (1.0 - tail - tail * exp_negative(half_square));
                    exponent[l] += (1.0 - above) * half_square;
                }
            }
            for l in 0..LANES {
                let higher = top[l].max(exponent[l]);
                sum[l] =
                    sum[l] * exp_negative(top[l] - higher) + product[l] * exp_negative(exponent[l] - higher);
                top[l] = higher;
            }
        }
        for l in 0..LANES {
            exponents[l] += top[l];
            products[l] *= sum[l];
        }
    }
}
