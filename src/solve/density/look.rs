//! One stand's view of places, and the lobes seen from there.

use crate::solve::{
    density::{Batch, LANES, Lanes},
    lobe::{concentration, exp_negative, peak_squared},
    scene::{Scene, Sight, geodesic_miss},
};

/// Above this concentration (errors below about 13°) a lobe is below e^−18 of its peak at right angles to it, a
/// hundred-thousandth of the least foreign density that matters, and is taken as zero on the other side.
const SHARP: f64 = 18.0;

/// One stand's view of a batch of points.
pub(super) struct Look {
    /// Cosine of the miss.
    cos: Lanes,
    /// Sine of the miss (measured minus computed).
    sin: Lanes,
    /// 1/r², per square metre.
    pub inverse_square: Lanes,
    /// Factor by which the Earth's curvature widens the angle that a disc subtends.
    slack: f64,
}

impl Look {
    #[inline(always)]
    pub fn at(sight: &Sight, scene: &Scene, points: &Batch) -> Self {
        let mut look =
            Self { cos: [0.0; LANES], sin: [0.0; LANES], inverse_square: [0.0; LANES], slack: 1.0 };
        if scene.flat {
            for l in 0..LANES {
                let (dx, dy) = (points.0[l] - sight.east, points.1[l] - sight.north);
                let inverse_square = 1.0 / (dx * dx + dy * dy + 1e-12);
                let inverse = inverse_square.sqrt();
                look.cos[l] = (sight.sin * dx + sight.cos * dy) * inverse;
                look.sin[l] = (sight.sin * dy - sight.cos * dx) * inverse;
                look.inverse_square[l] = inverse_square;
            }
        } else {
            look.slack = 1.7;
            for l in 0..LANES {
                let (miss, distance) = geodesic_miss(sight, scene.place(points.0[l], points.1[l]));
                (look.sin[l], look.cos[l]) = miss.sin_cos();
                look.inverse_square[l] = 1.0 / (distance * distance + 1e-12);
            }
        }
        look
    }

    /// 1/r² at the nearest point of the disc, or a huge figure when the disc holds the stand.
    #[inline(always)]
    fn nearest_inverse_square(&self, l: usize, radius: f64) -> f64 {
        let r = 1.0 / self.inverse_square[l].sqrt();
        let near = (r - radius).max(1e-3);
        1.0 / (near * near)
    }

    /// Cosine and sine of the miss after the shared error; for bounds, of the least miss in the disc.
    #[inline(always)]
    pub fn turned<const BOUND: bool>(&self, l: usize, turn: (f64, f64), radius: f64) -> (f64, f64) {
        let c = self.cos[l] * turn.1 - self.sin[l] * turn.0;
        let s = self.sin[l] * turn.1 + self.cos[l] * turn.0;
        if !BOUND {
            return (c, s);
        }
        let least = least_miss(c, s, radius * self.inverse_square[l].sqrt() * self.slack);
        (least, (1.0 - least * least).max(0.0).sqrt())
    }

    /// Cosines of the miss from the front lobe and from the back lobe.
    #[inline(always)]
    pub fn lobes<const BOUND: bool>(&self, turn: (f64, f64), radius: f64) -> (Lanes, Lanes) {
        let mut toward = [0.0; LANES];
        let mut away = [0.0; LANES];
        for l in 0..LANES {
            let c = self.cos[l] * turn.1 - self.sin[l] * turn.0;
            toward[l] = c;
            away[l] = -c;
            if BOUND {
                let s = self.sin[l] * turn.1 + self.cos[l] * turn.0;
                let sine = radius * self.inverse_square[l].sqrt() * self.slack;
                toward[l] = least_miss(c, s, sine);
                away[l] = least_miss(-c, s, sine);
            }
        }
        (toward, away)
    }
}

/// Cosine of the least miss within a disc that subtends ± asin(`sine`), for a miss of cosine `c` and sine `s`.
#[inline(always)]
fn least_miss(c: f64, s: f64, sine: f64) -> f64 {
    if sine >= 1.0 {
        return 1.0;
    }
    let cosine = (1.0 - sine * sine).sqrt();
    if c >= cosine { 1.0 } else { c * cosine + s.abs() * sine }
}

/// Width and height of a bearing's lobe at a batch of points: the same for every error of its direction.
pub(super) struct Shape {
    concentration: Lanes,
    peak: Lanes,
    sharp: bool,
}

impl Shape {
    /// For a variance of the reading and of the stand's position. For bounds, greater than any in the disc: nearer by `radius`
    /// the lobe is wider, further off it is narrower and at most `highest`.
    #[inline(always)]
    pub fn of<const BOUND: bool>(
        look: &Look,
        (variance, position): (f64, f64),
        highest: f64,
        radius: f64,
    ) -> Self {
        let mut k = [0.0; LANES];
        let mut peak = [highest; LANES];
        if BOUND {
            for l in 0..LANES {
                k[l] = concentration(variance + position * look.nearest_inverse_square(l, radius));
            }
            return Self { concentration: k, peak, sharp: false };
        }
        for l in 0..LANES {
            k[l] = concentration(variance + position * look.inverse_square[l]);
        }
        for l in 0..LANES {
            peak[l] = peak_squared(k[l]).sqrt();
        }
        Self { concentration: k, peak, sharp: k.iter().all(|k| *k > SHARP) }
    }

    /// Densities of the front and the back lobe for the cosines of the miss.
    #[inline(always)]
    pub fn densities(&self, toward: &Lanes, away: &Lanes) -> (Lanes, Lanes) {
        let (k, peak) = (self.concentration, self.peak);
        let (mut front, mut back) = ([0.0; LANES], [0.0; LANES]);
        if self.sharp {
            // Only the lobe on whose side the point lies counts: one exponential instead of two.
            for l in 0..LANES {
                let height = peak[l] * exp_negative(k[l] * (toward[l].abs() - 1.0));
                let ahead = f64::from(u8::from(toward[l] >= 0.0));
                front[l] = height * ahead;
                back[l] = height * (1.0 - ahead);
            }
        } else {
            for l in 0..LANES {
                front[l] = peak[l] * exp_negative(k[l] * (toward[l] - 1.0));
                back[l] = peak[l] * exp_negative(k[l] * (away[l] - 1.0));
            }
        }
        (front, back)
    }
}
