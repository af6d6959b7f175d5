//! Regular surroundings against irregular ones.
//!
//! In regular surroundings the readings follow the model, and count in full. In irregular ones losses depend on direction, the
//! law of distance bends, and the model holds only nearly: there the likelihood is taken to the power α/(α + n)
//! ([`crate::sources::MILLER2019`]). Which of the two it is, the full likelihoods of both tell, averaged over the places; the
//! coarsened one then gets the weight of its full one, and only its shape is coarsened.

use crate::solve::{
    density::LANES,
    levels::{
        likelihood::{Judged, Levels},
        packed::Lanes,
        priors::LevelPriors,
    },
    tree::Known,
};

/// Scales of irregularity, the last of which stands for regular surroundings.
pub const SCALES: usize = 4;

/// Which scale that is.
const REGULAR: usize = SCALES - 1;

/// Its factor: losses by direction of a tenth of a decibel are none.
const NONE: f64 = 0.02;

/// The factors by which what is irregular may be more or less than usual.
pub fn factors(priors: &LevelPriors) -> [f64; SCALES] {
    let [a, b, c] = priors.irregular;
    [a, b, c, NONE]
}

/// How the two are weighed against each other.
#[derive(Clone, Copy, Debug)]
pub struct Weighing {
    /// Prior probability of regular surroundings.
    regular: f64,
    /// Power of the likelihood in irregular ones.
    power: f64,
    /// Logarithm of the factor that gives the coarsened likelihood the evidence of the full one.
    offset: f64,
}

impl Weighing {
    /// For so many cells; the evidence is yet to be given ([`Weighing::level`]).
    pub fn new(priors: &LevelPriors, cells: usize) -> Self {
        let trust = priors.trust;
        let power = if trust.is_finite() { trust / (trust + cells as f64) } else { 1.0 };
        Self { regular: priors.regular.clamp(0.0, 1.0), power, offset: 0.0 }
    }

    /// The scales that have a prior probability.
    pub fn scales(&self) -> impl Iterator<Item = usize> + use<> {
        let regular = self.regular;
        (0..SCALES).filter(move |i| if Self::is_regular(*i) { regular > 0.0 } else { regular < 1.0 })
    }

    /// Whether a scale stands for regular surroundings.
    pub const fn is_regular(scale: usize) -> bool {
        scale == REGULAR
    }

    /// Logarithm of the prior probability of a scale.
    pub fn log_prior(&self, scale: usize) -> f64 {
        if Self::is_regular(scale) {
            self.regular.ln()
        } else {
            ((1.0 - self.regular) / (SCALES - 1) as f64).ln()
        }
    }

    /// Whether both are thought of, and one is coarsened.
    pub fn is_mixed(&self) -> bool {
        self.regular > 0.0 && self.regular < 1.0 && self.power < 1.0
    }

    /// Power of the likelihood in irregular surroundings.
    pub const fn power(&self) -> f64 {
        self.power
    }

    /// Learns the evidence from log likelihoods in irregular surroundings at places, each with the area and prior density it
    /// stands for.
    pub fn level(&mut self, places: &[(f64, f64)]) {
        let top = places.iter().map(|p| p.0).fold(f64::NEG_INFINITY, f64::max);
        if !top.is_finite() {
            return;
        }
        let sum = |power: f64| places.iter().map(|p| p.1 * (power * (p.0 - top)).exp()).sum::<f64>().ln();
        self.offset = (1.0 - self.power) * top + sum(1.0) - sum(self.power);
    }

    /// Logarithm of the likelihood of a place from those in regular and irregular surroundings.
    pub fn joined(&self, regular: f64, irregular: f64) -> f64 {
        let coarse = self.power * irregular + self.offset;
        let top = regular.max(coarse);
        if top == f64::NEG_INFINITY {
            return top;
        }
        top + ((regular - top).exp() + (coarse - top).exp()).ln()
    }

    /// The part that regular surroundings have in it.
    pub fn share(&self, regular: f64, irregular: f64) -> f64 {
        let whole = self.joined(regular, irregular);
        if whole.is_finite() { (regular - whole).exp() } else { self.regular }
    }
}

/// Rounds of the search for the best place, each over half the distance of the one before.
const ROUNDS: i32 = 6;

impl Levels {
    /// Log likelihoods of eight places in regular and in irregular surroundings, each with its prior probability; `found` is what
    /// all nodes say of them.
    pub(super) fn split(&self, found: &Judged) -> (Lanes, Lanes) {
        let scales = || self.nodes.iter().flat_map(|n| n.scales.iter().map(|s| s.0));
        let sum = |regular: bool| -> Lanes {
            let chosen: Vec<(&Lanes, f64)> = found
                .iter()
                .zip(scales())
                .filter(|(_, scale)| Weighing::is_regular(*scale) == regular)
                .map(|(v, scale)| (&v.0, self.weighing.log_prior(scale)))
                .collect();
            std::array::from_fn(|l| {
                let top = chosen.iter().map(|(v, p)| v[l] + p).fold(f64::NEG_INFINITY, f64::max);
                if top == f64::NEG_INFINITY {
                    return top;
                }
                top + chosen.iter().map(|(v, p)| (v[l] + p - top).exp()).sum::<f64>().ln()
            })
        };
        (sum(true), sum(false))
    }

    /// Gives the coarsened likelihood the evidence of the full one, over rings about the best place in irregular surroundings,
    /// with the prior of the place where levels stand alone; `start` is a place near that.
    pub(super) fn level(&mut self, start: (f64, f64)) {
        if self.measured == 0 || !self.weighing.is_mixed() {
            return;
        }
        let best =
            |places: &[((f64, f64), f64, f64)]| places.iter().copied().max_by(|a, b| a.2.total_cmp(&b.2));
        let Some(mut here) = best(&self.both(&[start])) else { return };
        let mut reach = 0.35 * self.extent;
        for _ in 0..ROUNDS {
            here = best(&self.both(&ring(here.0, reach))).filter(|b| b.2 > here.2).unwrap_or(here);
            reach *= 0.5;
        }
        let n = self.cells().len() as f64;
        let middle = self.cells().iter().fold((0.0, 0.0), |m, c| (m.0 + c.at.east / n, m.1 + c.at.north / n));
        let (mut said, mut areas) = (Vec::new(), Vec::new());
        for (radius, area) in rings(self.extent) {
            areas.extend([area; LANES]);
            said.extend(self.both(&ring(here.0, radius)));
        }
        let prior = |(east, north): (f64, f64)| {
            let off = (east - middle.0).hypot(north - middle.1) / self.extent.max(0.1);
            (1.0 + off * off).powf(-1.5)
        };
        let full: Vec<(f64, f64)> = said.iter().zip(&areas).map(|(s, a)| (s.2, a * prior(s.0))).collect();
        self.weighing.level(&full);
        let mass = |(s, area): (&((f64, f64), f64, f64), &f64)| {
            let log = self.weighing.joined(s.1, s.2);
            Known { at: [s.0.0, s.0.1], log, mass: log + area.ln() }
        };
        self.masses = said.iter().zip(&areas).map(mass).collect();
    }

    /// Places, each with its log likelihoods in regular and in irregular surroundings.
    fn both(&self, places: &[(f64, f64)]) -> Vec<((f64, f64), f64, f64)> {
        let mut out = Vec::with_capacity(places.len());
        for chunk in places.chunks(LANES) {
            let at = |l: usize| chunk.get(l).unwrap_or(&chunk[0]);
            let points = (std::array::from_fn(|l| at(l).0), std::array::from_fn(|l| at(l).1));
            let (regular, irregular) = self.split(&self.evaluate(&points));
            out.extend(chunk.iter().enumerate().map(|(l, place)| (*place, regular[l], irregular[l])));
        }
        out
    }
}

/// Eight places on a circle.
pub(super) fn ring((east, north): (f64, f64), radius: f64) -> Vec<(f64, f64)> {
    (0..LANES)
        .map(|i| std::f64::consts::TAU * i as f64 / LANES as f64)
        .map(|turn| (east + radius * turn.sin(), north + radius * turn.cos()))
        .collect()
}

/// Radii of rings about a place, with the area that each of eight places on a ring stands for: from a hundredth of the survey's
/// extent to ten times it, even in the logarithm.
fn rings(extent: f64) -> impl Iterator<Item = (f64, f64)> {
    const RINGS: i32 = 16;
    let step = 1e3f64.ln() / f64::from(RINGS - 1);
    (0..RINGS).map(move |i| {
        let radius = 0.01 * extent.max(0.1) * (step * f64::from(i)).exp();
        (radius, std::f64::consts::FRAC_PI_4 * step * radius * radius)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A normal log likelihood of deviation 1 about a place among rings wide enough: the full one integrates to 2π, the coarsened
    /// one to 2π/power, so that the offset is ln power (to the error of rings whose radii grow by half); with the prior of the
    /// regular ones left out, the joined one then has the same peak less that much, and the same integral.
    #[test]
    fn the_coarsened_likelihood_keeps_its_evidence() {
        let mut weighing = Weighing::new(&LevelPriors::default(), 250);
        assert!((weighing.power() - 0.5).abs() < 1e-12);
        let places: Vec<(f64, f64)> =
            rings(8.0).flat_map(|(r, area)| [(3.0 - 0.5 * r * r, area); 8]).collect();
        weighing.level(&places);
        let peak = weighing.joined(f64::NEG_INFINITY, 3.0);
        assert!((peak - (3.0 + 0.5f64.ln())).abs() < 0.02, "{peak}");
    }

    #[test]
    fn scales_share_the_prior_and_none_is_without() {
        let weighing = Weighing::new(&LevelPriors::default(), 100);
        let whole: f64 = weighing.scales().map(|s| weighing.log_prior(s).exp()).sum();
        assert!((whole - 1.0).abs() < 1e-12);
        let irregular = Weighing::new(&LevelPriors { regular: 0.0, ..LevelPriors::default() }, 100);
        assert_eq!(irregular.scales().count(), SCALES - 1);
        assert_eq!(irregular.share(f64::NEG_INFINITY, -5.0), 0.0);
        assert!((weighing.share(-5.0, f64::NEG_INFINITY) - 1.0).abs() < 1e-12);
    }
}
