//! The likelihood of a place: level at one metre and exponent integrated out over all sites.

use nalgebra::Vector2;

use crate::{
    geodesy::PlanePoint,
    numeric::quadrature,
    solve::{
        density::{Batch, LANES},
        evidence::Evidence,
        sectors::{
            SectorPriors, SectorSight,
            site::{Lanes, Site, View},
        },
        wide::widest,
    },
};

/// Nodes of Gauss's rules for exponent and level and, behind, for the shadowing of one site: in the first pass, which only
/// finds where to look, and in the second.
const COARSE: (usize, usize) = (5, 5);
const FINE: (usize, usize) = (6, 7);

/// After the first pass no direction keeps less than this share of its standard deviation: few nodes tell no better.
const LEAST_SPREAD: f64 = 0.4;

/// Products of the silence of this many sites stay within the range of a double.
const RESCALE_EVERY: usize = 16;

type Rule = Vec<(f64, f64)>;

/// Sectors ready to judge places by.
#[derive(Clone, Debug)]
pub struct Sectors {
    pub(super) sites: Vec<Site>,
    pub(super) priors: SectorPriors,
    coarse: (Rule, Rule),
    fine: (Rule, Rule),
}

/// No finer than this, metres, does the likelihood of sectors vary: their antennas stand tens of metres above the ground.
const FINEST: f64 = 20.0;

/// How far within a disc the likelihood may rise above its value at the centre, where it may vary within it.
const HIDDEN: f64 = 6.0;

impl Evidence for Sectors {
    fn at(&self, points: &Batch) -> [f64; LANES] {
        self.log_likelihoods(points)
    }

    fn finest(&self, points: &Batch, radius: f64) -> [f64; LANES] {
        // Three lengths of the steepest place are one of the usual ones: the edge of a lobe is a small part of the plane.
        Self::finest(self, points, radius).map(|length| (3.0 * length).max(FINEST))
    }

    fn hidden(&self, points: &Batch, radius: f64) -> [f64; LANES] {
        std::array::from_fn(|l| {
            let near = |s: &Site| s.nearest(points.0[l], points.1[l], 0.0) < 2.0 * radius;
            if radius > 10.0 * FINEST && self.sites.iter().any(near) { f64::INFINITY } else { HIDDEN }
        })
    }

    fn starts(&self) -> Vec<Vector2<f64>> {
        Vec::new()
    }
}

/// One call of [`Sectors::log_likelihoods`] with the widest vectors that the processor has.
struct Evaluation<'s, 'p> {
    sectors: &'s Sectors,
    points: &'p Batch,
}

impl pulp::NullaryFnOnce for Evaluation<'_, '_> {
    type Output = Lanes;

    #[inline(always)]
    fn call(self) -> Lanes {
        self.sectors.evaluate(self.points)
    }
}

impl Sectors {
    /// Groups the sectors by site (those within 100 m of one another) and prepares the nodes.
    pub fn new(sights: Vec<SectorSight>, priors: SectorPriors) -> Self {
        let rules = |(outer, inner)| (quadrature::standard_normal(outer), quadrature::standard_normal(inner));
        Self { sites: Site::group(&sights), priors, coarse: rules(COARSE), fine: rules(FINE) }
    }

    /// Logarithm of the probability (a density in the levels heard) of what the sectors told of an emitter at `place`,
    /// which must be finite. Sectors of which none heard anything tell nothing here: zero everywhere.
    pub fn log_likelihood(&self, place: PlanePoint) -> f64 {
        self.log_likelihoods(&([place.east; LANES], [place.north; LANES]))[0]
    }

    /// The same for eight places side by side: metres east, metres north.
    pub fn log_likelihoods(&self, points: &([f64; LANES], [f64; LANES])) -> [f64; LANES] {
        if !self.sites.iter().any(Site::hears) {
            return [0.0; LANES];
        }
        widest(Evaluation { sectors: self, points })
    }

    /// A length on which the likelihood can vary at each point, metres, for points up to `radius` from it: distance to the
    /// nearest site times the least error of a level over the steepest slope, by distance (an exponent three standard
    /// deviations above its mean) or by direction (the edge of the lobe), over the square root of the number of sectors.
    pub fn finest(&self, points: &([f64; LANES], [f64; LANES]), radius: f64) -> [f64; LANES] {
        let exponent = self.priors.exponent.0 + 3.0 * self.priors.exponent.1;
        let outward = 10.0 * exponent / std::f64::consts::LN_10;
        std::array::from_fn(|l| {
            let by_site = |site: &Site| {
                let slope = outward.max(site.steepest());
                site.nearest(points.0[l], points.1[l], radius) * self.priors.sector / slope
            };
            let count: usize = self.sites.iter().map(Site::count).sum();
            self.sites.iter().map(by_site).fold(f64::INFINITY, f64::min) / (count.max(1) as f64).sqrt()
        })
    }

    /// The same evidence of one site alone.
    pub(super) fn only(&self, site: &Site) -> Self {
        Self { sites: vec![site.clone()], ..self.clone() }
    }

    /// The likelihood of directions from each site (radians clockwise from north) at a distance that the level at one metre
    /// makes up for.
    pub(super) fn by_direction(&self, direction: &Lanes) -> Lanes {
        let loss = [0.0; LANES];
        let views: Vec<View> = self.sites.iter().map(|s| s.toward(direction, loss, &self.priors)).collect();
        self.joint(&views)
    }

    #[inline(always)]
    fn evaluate(&self, points: &Batch) -> Lanes {
        let views: Vec<View> = self.sites.iter().map(|s| s.view(points, &self.priors)).collect();
        self.joint(&views)
    }

    #[inline(always)]
    fn joint(&self, views: &[View]) -> Lanes {
        let line = Line::of(views, &self.priors);
        if !views.iter().any(View::limited) {
            return line.log;
        }
        let first = self.pass(views, &line, &Centre::STANDARD, &self.coarse);
        let second = self.pass(views, &line, &first.moments(), &self.fine);
        let log = second.log();
        std::array::from_fn(|l| line.log[l] + log[l])
    }

    /// Silence at every node of a rule about `centre`.
    #[inline(always)]
    fn pass(&self, views: &[View], line: &Line, centre: &Centre, (rule, inner): &(Rule, Rule)) -> Pass {
        let mut pass = Pass::with_room(rule.len() * rule.len());
        for (x, wx) in rule {
            for (y, wy) in rule {
                let (mut a, mut b, mut exponents) = ([0.0; LANES], [0.0; LANES], [0.0; LANES]);
                let (mut exponent, mut start) = ([0.0; LANES], [0.0; LANES]);
                for l in 0..LANES {
                    a[l] = centre.mean[0][l] + centre.spread[0][l] * x;
                    b[l] = centre.mean[1][l] + centre.spread[1][l] * y;
                    // Density of the standard normal at the node over that of the rule.
                    exponents[l] = 0.5 * (x * x + y * y - a[l] * a[l] - b[l] * b[l]);
                    exponent[l] = line.exponent[l] + line.exponent_spread[l] * a[l];
                    start[l] = line.start[l] + line.slope[l] * a[l] + line.start_spread[l] * b[l];
                }
                let mut products = [wx * wy; LANES];
                for l in 0..LANES {
                    products[l] *= centre.spread[0][l] * centre.spread[1][l];
                }
                for (i, view) in views.iter().filter(|v| v.limited()).enumerate() {
                    let mut level = [0.0; LANES];
                    for l in 0..LANES {
                        level[l] = start[l] - exponent[l] * view.loss[l];
                    }
                    view.silence(&level, inner, &mut exponents, &mut products);
                    if (i + 1) % RESCALE_EVERY == 0 {
                        for l in 0..LANES {
                            exponents[l] += products[l].ln();
                            products[l] = 1.0;
                        }
                    }
                }
                pass.nodes.push(Node { a, b, exponents, products });
            }
        }
        pass
    }
}

/// What the sectors that heard something leave open: exponent and level at one metre as a normal distribution, and the
/// logarithm of the density of their levels.
struct Line {
    exponent: Lanes,
    exponent_spread: Lanes,
    start: Lanes,
    /// Change of the level with one standard deviation of the exponent.
    slope: Lanes,
    /// Standard deviation of the level given the exponent.
    start_spread: Lanes,
    log: Lanes,
}

impl Line {
    /// Conjugate normal regression of the sites' means on distance; closed form.
    #[inline(always)]
    fn of(views: &[View], priors: &SectorPriors) -> Self {
        let (start, exponent) = (priors.start, priors.exponent);
        let (wp, wn) = (start.1.powi(-2), exponent.1.powi(-2));
        let zero = [0.0; LANES];
        let mut line = Self {
            exponent: zero,
            exponent_spread: zero,
            start: zero,
            slope: zero,
            start_spread: zero,
            log: zero,
        };
        for l in 0..LANES {
            // Normal equations in the departures from the prior's means.
            let (mut pp, mut pn, mut nn) = (wp, 0.0, wn);
            let (mut rp, mut rn, mut rr, mut log) = (0.0, 0.0, 0.0, 0.0);
            for view in views {
                let (w, x) = (view.precision[l], -view.loss[l]);
                let rest = view.mean[l] - start.0 - exponent.0 * x;
                pp += w;
                pn += w * x;
                nn += w * x * x;
                rp += w * rest;
                rn += w * x * rest;
                rr += w * rest * rest;
                log += view.log[l];
            }
            let given = nn - pn * pn / pp;
            let turn = (rn - rp * pn / pp) / given;
            line.exponent[l] = exponent.0 + turn;
            line.exponent_spread[l] = given.powf(-0.5);
            line.start[l] = start.0 + (rp - pn * turn) / pp;
            line.slope[l] = -pn / pp * line.exponent_spread[l];
            line.start_spread[l] = pp.powf(-0.5);
            let explained = rp * rp / pp + turn * turn * given;
            line.log[l] = log - 0.5 * (rr - explained + (pp / wp).ln() + (given / wn).ln());
        }
        line
    }
}

/// Where a rule lies in units of what the line leaves open.
struct Centre {
    mean: [Lanes; 2],
    spread: [Lanes; 2],
}

impl Centre {
    const STANDARD: Self = Self { mean: [[0.0; LANES]; 2], spread: [[1.0; LANES]; 2] };
}

struct Node {
    a: Lanes,
    b: Lanes,
    exponents: Lanes,
    products: Lanes,
}

struct Pass {
    nodes: Vec<Node>,
}

impl Pass {
    fn with_room(nodes: usize) -> Self {
        Self { nodes: Vec::with_capacity(nodes) }
    }

    #[inline(always)]
    fn top(&self) -> Lanes {
        let mut top = [f64::NEG_INFINITY; LANES];
        for node in &self.nodes {
            for l in 0..LANES {
                top[l] = top[l].max(node.exponents[l]);
            }
        }
        top
    }

    /// Mean and standard deviation in both directions: where the second pass looks closer (adaptive quadrature,
    /// [`crate::sources::NAYLOR1982`]). Silence is log-concave, so that it never widens.
    #[inline(always)]
    fn moments(&self) -> Centre {
        let top = self.top();
        let (mut sum, mut means, mut squares) = ([0.0; LANES], [[0.0; LANES]; 2], [[0.0; LANES]; 2]);
        for node in &self.nodes {
            for l in 0..LANES {
                let weight = node.products[l] * (node.exponents[l] - top[l]).exp();
                sum[l] += weight;
                for (i, at) in [node.a[l], node.b[l]].into_iter().enumerate() {
                    means[i][l] += weight * at;
                    squares[i][l] += weight * at * at;
                }
            }
        }
        let mut centre = Centre::STANDARD;
        for i in 0..2 {
            for l in 0..LANES {
                let mean = means[i][l] / sum[l];
                let variance = squares[i][l] / sum[l] - mean * mean;
                centre.mean[i][l] = mean;
                centre.spread[i][l] = variance.max(0.0).sqrt().clamp(LEAST_SPREAD, 1.0);
            }
        }
        centre
    }

    #[inline(always)]
    fn log(&self) -> Lanes {
        let top = self.top();
        let mut sum = [0.0; LANES];
        for node in &self.nodes {
            for l in 0..LANES {
                sum[l] += node.products[l] * (node.exponents[l] - top[l]).exp();
            }
        }
        std::array::from_fn(|l| top[l] + sum[l].ln())
    }
}
