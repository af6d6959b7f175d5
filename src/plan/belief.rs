//! The posterior as weighted points, and what of it is left after a reading: area, and how much must be searched.

use crate::{
    geodesy::PlanePoint,
    plan::gauss::Spread,
    solve::{
        Fit,
        predict::{Hand, Reading},
        tree::{Leaf, Mesh},
    },
    units::Confidence,
};

/// So many points hold the posterior, roughly.
const FINE: f64 = 1_200.0;

/// Leaves with less mass than this are left out.
const NOTHING: f64 = 1e-6;

/// Points with their masses and areas.
#[derive(Clone, Debug)]
pub struct Belief {
    pub at: Vec<PlanePoint>,
    pub mass: Vec<f64>,
    pub area: Vec<f64>,
    /// What the next bearing would read, point by point.
    pub reading: Vec<Reading>,
    /// Who takes it.
    pub hand: Hand,
}

/// What is left after weighting the points anew.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Left {
    /// Area of the smallest set that holds the confidence, square metres.
    pub area: f64,
    /// Area that is searched on the average until the emitter is met, when one begins where it is likeliest, square metres.
    pub effort: f64,
}

impl Belief {
    /// The posterior of a fit, fine (for what is left) and coarse (to try many stands): one point for each leaf.
    pub fn of(fit: &Fit) -> (Self, Self) {
        let mesh = fit.mesh();
        let hand = fit.hand();
        let leaves: Vec<&Leaf> = mesh.leaves.iter().filter(|l| l.mass > NOTHING).collect();
        let centres: Vec<[f64; 2]> = leaves.iter().map(|l| mesh.points[l.centre as usize]).collect();
        let readings = fit.readings(&hand, &centres);
        let empty = Self { at: Vec::new(), mass: Vec::new(), area: Vec::new(), reading: Vec::new(), hand };
        let (mut fine, mut coarse) = (empty.clone(), empty);
        for (leaf, reading) in leaves.into_iter().zip(readings) {
            let side = 2.0 * mesh.half / f64::from(1u32 << leaf.level);
            coarse.push(mesh.points[leaf.centre as usize], leaf.mass, side * side, reading);
            fine.cut(mesh, leaf, side, reading);
        }
        for belief in [&mut fine, &mut coarse] {
            let sum: f64 = belief.mass.iter().sum();
            belief.mass.iter_mut().for_each(|m| *m /= sum);
        }
        (fine, coarse)
    }

    /// The posterior of a mesh, fine; `reading` tells what a bearing would read at the middles of its leaves.
    pub fn cut_from(mesh: &Mesh, hand: Hand, reading: impl Fn(&[[f64; 2]]) -> Vec<Reading>) -> Self {
        let leaves: Vec<&Leaf> = mesh.leaves.iter().filter(|l| l.mass > NOTHING).collect();
        let centres: Vec<[f64; 2]> = leaves.iter().map(|l| mesh.points[l.centre as usize]).collect();
        let mut fine = Self { at: Vec::new(), mass: Vec::new(), area: Vec::new(), reading: Vec::new(), hand };
        for (leaf, reading) in leaves.into_iter().zip(reading(&centres)) {
            fine.cut(mesh, leaf, 2.0 * mesh.half / f64::from(1u32 << leaf.level), reading);
        }
        fine.normalise();
        fine
    }

    /// What a bearing would read, on the average over the points.
    pub fn typical(&self) -> Reading {
        let mean = |f: &dyn Fn(&Reading) -> f64| {
            self.reading.iter().zip(&self.mass).map(|(r, m)| m * f(r)).sum::<f64>()
        };
        Reading {
            turn: mean(&|r| r.turn),
            variance: mean(&|r| r.variance),
            direct: mean(&|r| r.direct),
            foreign: mean(&|r| r.foreign),
        }
    }

    /// Brings the masses to a sum of 1; alike by area where nothing is left.
    pub fn normalise(&mut self) {
        let sum: f64 = self.mass.iter().sum();
        if sum > 0.0 && sum.is_finite() {
            self.mass.iter_mut().for_each(|m| *m /= sum);
        } else {
            let whole: f64 = self.area.iter().sum();
            self.mass.iter_mut().zip(&self.area).for_each(|(m, a)| *m = a / whole);
        }
    }

    /// Takes out what lies within `reach` of a way that was walked, a point every few metres; of a point that stands for a
    /// wider square only the part of its area that was passed.
    pub fn passed(&mut self, way: &[PlanePoint], reach: f64) {
        for i in 0..self.at.len() {
            let (at, half) = (self.at[i], 0.5 * self.area[i].sqrt());
            let wide = half > reach;
            let near = half.max(reach);
            let (mut strip, mut last): (f64, Option<PlanePoint>) = (0.0, None);
            for p in way {
                let (e, n) = ((p.east - at.east).abs(), (p.north - at.north).abs());
                let inside = if wide { e.max(n) <= near } else { e * e + n * n <= near * near };
                if inside {
                    let step = last.map_or(reach, |l| (l.east - p.east).hypot(l.north - p.north));
                    strip += 2.0 * reach * step.min(2.0 * reach);
                }
                last = Some(*p);
            }
            if strip > 0.0 {
                self.mass[i] *= if wide { (1.0 - strip / self.area[i]).max(0.0) } else { 0.0 };
            }
        }
        self.normalise();
    }

    fn push(&mut self, at: [f64; 2], mass: f64, area: f64, reading: Reading) {
        self.at.push(PlanePoint { east: at[0], north: at[1] });
        self.mass.push(mass);
        self.area.push(area);
        self.reading.push(reading);
    }

    /// A leaf in as many parts as its mass asks for; the log density between its corners and centre is interpolated.
    fn cut(&mut self, mesh: &Mesh, leaf: &Leaf, side: f64, reading: Reading) {
        let centre = mesh.points[leaf.centre as usize];
        let parts = ((leaf.mass * FINE).sqrt().ceil() as usize).clamp(1, 8);
        let Some(corners) = leaf.corners.filter(|_| parts > 1) else {
            return self.push(centre, leaf.mass, side * side, reading);
        };
        let c = corners.map(|v| mesh.logs[v as usize]);
        let bulge = mesh.logs[leaf.centre as usize] - 0.25 * c.iter().sum::<f64>();
        let n = parts as f64;
        let mut shares = Vec::with_capacity(parts * parts);
        for i in 0..parts * parts {
            let (u, v) = (((i % parts) as f64 + 0.5) / n, ((i / parts) as f64 + 0.5) / n);
            let flat = (1.0 - v) * ((1.0 - u) * c[0] + u * c[1]) + v * ((1.0 - u) * c[3] + u * c[2]);
            shares.push((u, v, flat + 16.0 * bulge * u * (1.0 - u) * v * (1.0 - v)));
        }
        let top = shares.iter().map(|s| s.2).fold(f64::NEG_INFINITY, f64::max);
        let sum: f64 = shares.iter().map(|s| (s.2 - top).exp()).sum();
        for (u, v, log) in shares {
            let at = [centre[0] + (u - 0.5) * side, centre[1] + (v - 0.5) * side];
            self.push(at, leaf.mass * (log - top).exp() / sum, side * side / (n * n), reading);
        }
    }

    /// What is left with these masses, which need not sum to 1.
    pub fn left(&self, mass: &[f64], confidence: Confidence) -> Left {
        let sum: f64 = mass.iter().sum();
        let mut order: Vec<(f64, f64, f64)> =
            mass.iter().zip(&self.area).map(|(m, a)| (m / a, m / sum, *a)).filter(|o| o.1 > 1e-9).collect();
        order.sort_unstable_by(|a, b| b.0.total_cmp(&a.0));
        let mut out = Left::default();
        let (mut held, mut searched) = (0.0, 0.0);
        for (_, mass, area) in order {
            out.effort += mass * (searched + 0.5 * area);
            searched += area;
            let wanted = confidence.value() - held;
            if wanted > 0.0 {
                out.area += area * (wanted / mass).min(1.0);
            }
            held += mass;
        }
        out
    }

    /// Indices of the points of the smallest set that holds the confidence.
    pub fn inside(&self, confidence: Confidence) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.at.len()).collect();
        let height = |i: &usize| self.mass[*i] / self.area[*i];
        order.sort_by(|a, b| height(b).total_cmp(&height(a)));
        let mut held = 0.0;
        let count = order.iter().take_while(|i| {
            let more = held < confidence.value();
            held += self.mass[**i];
            more
        });
        let count = count.count();
        order.truncate(count);
        order
    }

    /// Mean and covariance of some of the points.
    pub fn spread(&self, of: &[usize]) -> (PlanePoint, Spread) {
        let mass: f64 = of.iter().map(|i| self.mass[*i]).sum();
        let mean = |f: &dyn Fn(usize) -> f64| of.iter().map(|i| self.mass[*i] * f(*i)).sum::<f64>() / mass;
        let (east, north) = (mean(&|i| self.at[i].east), mean(&|i| self.at[i].north));
        let (de, dn) = (|i: usize| self.at[i].east - east, |i: usize| self.at[i].north - north);
        // A leaf is as wide as its area: a single one still has a spread.
        let own = |i: usize| self.area[i] / 12.0;
        let spread = Spread {
            ee: mean(&|i| de(i).powi(2) + own(i)),
            en: mean(&|i| de(i) * dn(i)),
            nn: mean(&|i| dn(i).powi(2) + own(i)),
        };
        (PlanePoint { east, north }, spread)
    }
}
