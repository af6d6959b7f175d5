//! One stand's view of places, and the lobes seen from there.

use pulp::Simd;

use crate::solve::{
    density::{Batch, LANES},
    lobe::{concentrations, exps_negative, peaks_squared},
    scene::{Scene, Sight, geodesic_miss},
    wide::Wide,
};

/// Above this concentration (errors below about 13°) a lobe is below e^−18 of its peak at right angles to it, a
/// hundred-thousandth of the least foreign density that matters, and is taken as zero on the other side.
const SHARP: f64 = 18.0;

/// One stand's view of some of a batch of points.
pub(super) struct Look<S: Simd> {
    /// Cosine of the miss.
    cos: Wide<S>,
    /// Sine of the miss (measured minus computed).
    sin: Wide<S>,
    /// 1/r², per square metre.
    pub inverse_square: Wide<S>,
    /// Factor by which the Earth's curvature widens the angle that a disc subtends.
    slack: f64,
}

impl<S: Simd> Look<S> {
    /// For the vector of that number in the batch.
    #[inline(always)]
    pub fn at(simd: S, sight: &Sight, scene: &Scene, points: &Batch, index: usize) -> Self {
        if !scene.flat {
            return Self::far(simd, sight, scene, points, index);
        }
        let dx = Wide::of(simd, &points.0, index) - sight.east;
        let dy = Wide::of(simd, &points.1, index) - sight.north;
        let inverse_square = (dx * dx + dy * dy + 1e-12).inverse();
        let inverse = inverse_square.sqrt();
        Self {
            cos: (dx * sight.sin + dy * sight.cos) * inverse,
            sin: (dy * sight.sin - dx * sight.cos) * inverse,
            inverse_square,
            slack: 1.0,
        }
    }

    /// The same by geodesics.
    fn far(simd: S, sight: &Sight, scene: &Scene, points: &Batch, index: usize) -> Self {
        let (mut cos, mut sin, mut square) = ([0.0; LANES], [0.0; LANES], [0.0; LANES]);
        for l in index * S::F64_LANES..(index + 1) * S::F64_LANES {
            let (miss, distance) = geodesic_miss(sight, scene.place(points.0[l], points.1[l]));
            (sin[l], cos[l]) = miss.sin_cos();
            square[l] = 1.0 / (distance * distance + 1e-12);
        }
        Self {
            cos: Wide::of(simd, &cos, index),
            sin: Wide::of(simd, &sin, index),
            inverse_square: Wide::of(simd, &square, index),
            slack: 1.7,
        }
    }

    /// 1/r² at the nearest point of the disc, or a huge figure when the disc holds the stand.
    #[inline(always)]
    fn nearest_inverse_square(&self, radius: f64) -> Wide<S> {
        let r = self.inverse_square.sqrt().inverse();
        let near = (r - radius).max(r.same(1e-3));
        (near * near).inverse()
    }

    /// Sine of the angle that half the disc subtends.
    #[inline(always)]
    fn subtended(&self, radius: f64) -> Wide<S> {
        self.inverse_square.sqrt() * radius * self.slack
    }

    /// Cosine and sine of the miss after the shared error; for bounds, of the least miss in the disc.
    #[inline(always)]
    pub fn turned<const BOUND: bool>(&self, turn: (f64, f64), radius: f64) -> (Wide<S>, Wide<S>) {
        let (c, s) = self.both(turn);
        if !BOUND {
            return (c, s);
        }
        let least = least_miss(c, s, self.subtended(radius));
        (least, (c.same(1.0) - least * least).max(c.same(0.0)).sqrt())
    }

    /// Cosines of the miss from the front lobe and from the back lobe.
    #[inline(always)]
    pub fn lobes<const BOUND: bool>(&self, turn: (f64, f64), radius: f64) -> (Wide<S>, Wide<S>) {
        let (c, s) = self.both(turn);
        let back = c * -1.0;
        if !BOUND {
            return (c, back);
        }
        let sine = self.subtended(radius);
        (least_miss(c, s, sine), least_miss(back, s, sine))
    }

    #[inline(always)]
    fn both(&self, turn: (f64, f64)) -> (Wide<S>, Wide<S>) {
        (self.cos * turn.1 - self.sin * turn.0, self.sin * turn.1 + self.cos * turn.0)
    }
}

/// Cosine of the least miss within a disc that subtends ± asin(`sine`), for a miss of cosine `c` and sine `s`.
#[inline(always)]
fn least_miss<S: Simd>(c: Wide<S>, s: Wide<S>, sine: Wide<S>) -> Wide<S> {
    let one = c.same(1.0);
    let cosine = (one - sine * sine).max(c.same(0.0)).sqrt();
    let beside = c.at_least(cosine, one, c * cosine + s.abs() * sine);
    sine.at_least(one, one, beside)
}

/// Width and height of a bearing's lobe at some points: the same for every error of its direction.
pub(super) struct Shape<S: Simd> {
    concentration: Wide<S>,
    peak: Wide<S>,
    /// Whether the lobe is sharp at all of the points.
    sharp: bool,
}

impl<S: Simd> Shape<S> {
    /// For a variance of the reading and of the stand's position. For bounds, greater than any in the disc: nearer by `radius`
    /// the lobe is wider, further off it is narrower and at most `highest`.
    #[inline(always)]
    pub fn of<const BOUND: bool>(
        look: &Look<S>,
        (variance, position): (f64, f64),
        highest: f64,
        radius: f64,
    ) -> Self {
        let square = if BOUND { look.nearest_inverse_square(radius) } else { look.inverse_square };
        let concentration = concentrations(square * position + variance);
        if BOUND {
            return Self { concentration, peak: square.same(highest), sharp: false };
        }
        let peak = peaks_squared(concentration).sqrt();
        Self { concentration, peak, sharp: concentration.all_at_least(SHARP) }
    }

    /// Densities of the front and the back lobe for the cosines of the miss.
    #[inline(always)]
    pub fn densities<const BOUND: bool>(&self, toward: Wide<S>, away: Wide<S>) -> (Wide<S>, Wide<S>) {
        let (k, peak) = (self.concentration, self.peak);
        if BOUND {
            return (peak * exps_negative(k * (toward - 1.0)), peak * exps_negative(k * (away - 1.0)));
        }
        // A sharp lobe counts only on the side where the point lies: one exponential instead of two.
        let none = k.same(0.0);
        let same_side = peak * exps_negative(k * (toward.abs() - 1.0));
        let mut other_side = none;
        if !self.sharp {
            let wide = peak * exps_negative(k * (toward.abs() * -1.0 - 1.0));
            other_side = k.at_least(k.same(SHARP), none, wide);
        }
        (toward.at_least(none, same_side, other_side), toward.at_least(none, other_side, same_side))
    }
}
