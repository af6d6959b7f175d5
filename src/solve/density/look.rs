//! One stand's view of places, and the lobes seen from there.

use crate::solve::{
    lobe::{concentration, exp_negative, peak_squared},
    scene::{Scene, Sight, geodesic_miss},
    wide::Real,
};

/// Above this concentration (errors below about 13°) a lobe is below e^−18 of its peak at right angles to it, a
/// hundred-thousandth of the least foreign density that matters, and is taken as zero on the other side.
const SHARP: f64 = 18.0;

/// One stand's view of a place, or of several.
pub(super) struct Look<R> {
    /// Cosine of the miss.
    cos: R,
    /// Sine of the miss (measured minus computed).
    sin: R,
    /// 1/r², per square metre.
    pub inverse_square: R,
    /// Factor by which the Earth's curvature widens the angle that a disc subtends.
    slack: f64,
}

impl<R: Real> Look<R> {
    /// At places that many metres east and north.
    #[inline(always)]
    pub fn at(sight: &Sight, scene: &Scene, (east, north): (R, R)) -> Self {
        if !scene.flat {
            return Self::far(sight, scene, (east, north));
        }
        let (dx, dy) = (east - sight.east, north - sight.north);
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
    fn far(sight: &Sight, scene: &Scene, (east, north): (R, R)) -> Self {
        let [cos, sin, inverse_square] = east.paired(north, |east, north| {
            let (miss, distance) = geodesic_miss(sight, scene.place(east, north));
            [miss.cos(), miss.sin(), 1.0 / (distance * distance + 1e-12)]
        });
        Self { cos, sin, inverse_square, slack: 1.7 }
    }

    /// 1/r² at the nearest point of the disc, or a huge figure when the disc holds the stand.
    #[inline(always)]
    fn nearest_inverse_square(&self, radius: f64) -> R {
        let r = self.inverse_square.sqrt().inverse();
        let near = (r - radius).greater(r.same(1e-3));
        (near * near).inverse()
    }

    /// Sine of the angle that half the disc subtends.
    #[inline(always)]
    fn subtended(&self, radius: f64) -> R {
        self.inverse_square.sqrt() * radius * self.slack
    }

    /// Cosine and sine of the miss after the shared error; for bounds, of the least miss in the disc.
    #[inline(always)]
    pub fn turned<const BOUND: bool>(&self, turn: (f64, f64), radius: f64) -> (R, R) {
        let (c, s) = self.both(turn);
        if !BOUND {
            return (c, s);
        }
        let least = least_miss(c, s, self.subtended(radius));
        (least, (c.same(1.0) - least * least).greater(c.same(0.0)).sqrt())
    }

    /// Cosines of the miss from the front lobe and from the back lobe.
    #[inline(always)]
    pub fn lobes<const BOUND: bool>(&self, turn: (f64, f64), radius: f64) -> (R, R) {
        let (c, s) = self.both(turn);
        let back = c * -1.0;
        if !BOUND {
            return (c, back);
        }
        let sine = self.subtended(radius);
        (least_miss(c, s, sine), least_miss(back, s, sine))
    }

    #[inline(always)]
    fn both(&self, turn: (f64, f64)) -> (R, R) {
        (self.cos * turn.1 - self.sin * turn.0, self.sin * turn.1 + self.cos * turn.0)
    }
}

/// Cosine of the least miss within a disc that subtends ± asin(`sine`), for a miss of cosine `c` and sine `s`.
#[inline(always)]
fn least_miss<R: Real>(c: R, s: R, sine: R) -> R {
    let one = c.same(1.0);
    let cosine = (one - sine * sine).greater(c.same(0.0)).sqrt();
    let beside = c.at_least(cosine, one, c * cosine + s.magnitude() * sine);
    sine.at_least(one, one, beside)
}

/// Width and height of a bearing's lobe at some points: the same for every error of its direction.
pub(super) struct Shape<R> {
    concentration: R,
    peak: R,
    /// Whether the lobe is sharp at all of the points.
    sharp: bool,
}

impl<R: Real> Shape<R> {
    /// For a variance of the reading and of the stand's position. For bounds, greater than any in the disc: nearer by `radius`
    /// the lobe is wider, further off it is narrower and at most `highest`.
    #[inline(always)]
    pub fn of<const BOUND: bool>(
        look: &Look<R>,
        (variance, position): (f64, f64),
        highest: f64,
        radius: f64,
    ) -> Self {
        let square = if BOUND { look.nearest_inverse_square(radius) } else { look.inverse_square };
        let concentration = concentration(square * position + variance);
        if BOUND {
            return Self { concentration, peak: square.same(highest), sharp: false };
        }
        let peak = peak_squared(concentration).sqrt();
        Self { concentration, peak, sharp: concentration.all_at_least(SHARP) }
    }

    /// Densities of the front and the back lobe for the cosines of the miss.
    #[inline(always)]
    pub fn densities<const BOUND: bool>(&self, toward: R, away: R) -> (R, R) {
        let (k, peak) = (self.concentration, self.peak);
        if BOUND {
            return (peak * exp_negative(k * (toward - 1.0)), peak * exp_negative(k * (away - 1.0)));
        }
        // A sharp lobe counts only on the side where the point lies: one exponential instead of two.
        let none = k.same(0.0);
        let same_side = peak * exp_negative(k * (toward.magnitude() - 1.0));
        let mut other_side = none;
        if !self.sharp {
            let wide = peak * exp_negative(k * (toward.magnitude() * -1.0 - 1.0));
            other_side = k.at_least(k.same(SHARP), none, wide);
        }
        (toward.at_least(none, same_side, other_side), toward.at_least(none, other_side, same_side))
    }
}
