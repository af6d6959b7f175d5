//! The ways on which a wave comes: straight, through or over what stands between, around corners, by mirror images.

use crate::{
    geodesy::PlanePoint,
    numeric::portable,
    simulate::{Building, Law, Refusal, Spot, Town, refusal::within},
    units::{Angle, Db, Hertz, Metres},
};

/// How a wave came.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// In sight.
    Direct,
    /// Straight, through or over buildings.
    Blocked,
    /// Along streets, around so many corners.
    Around(u8),
    /// Mirrored once by a façade.
    Reflected,
}

impl Way {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Direct => "direct",
            Self::Blocked => "blocked",
            Self::Around(_) => "around corners",
            Self::Reflected => "reflected",
        }
    }
}

/// One way from an emitter to a receiver.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Path {
    /// Which.
    pub way: Way,
    /// The point that the wave comes from as the receiver sees it: the emitter, the façade's mirror point, or the last
    /// corner.
    pub from: PlanePoint,
    /// The point that it sets out for as the emitter sees it.
    pub toward: PlanePoint,
    /// Length with the difference of heights.
    pub length: Metres,
    /// Loss between isotropic antennas.
    pub loss: Db,
}

/// What waves meet between two points.
#[derive(Clone, Debug, PartialEq)]
pub struct Propagation {
    /// The frequency, 1 MHz to 100 GHz.
    pub frequency: Hertz,
    /// Median loss in sight.
    pub law: Law,
    /// Further loss of the straight way where a building stands in it.
    pub blocked: Db,
    /// Loss of each corner where waves run along streets and around corners; `None` where they do not.
    pub corner: Option<Db>,
    /// Buildings; `None` in the open.
    pub town: Option<Town>,
}

/// Direction from one point of the plane to another, clockwise from its north.
pub fn direction(from: PlanePoint, to: PlanePoint) -> Angle {
    Angle::radians(portable::atan2(to.east - from.east, to.north - from.north)).compass()
}

fn apart(a: PlanePoint, b: PlanePoint) -> f64 {
    portable::hypot(a.east - b.east, a.north - b.north)
}

impl Propagation {
    /// # Errors
    /// Numbers that are none of a frequency, an exponent or a loss.
    pub(super) fn checked(&self) -> Result<(), Refusal> {
        within("a frequency in Hz", self.frequency.value(), 1e6..=1e11, "write 1 MHz to 100 GHz")?;
        within("a loss behind buildings", self.blocked.value(), 0.0..=100.0, "write 0 to 100 dB")?;
        if let Some(corner) = self.corner {
            within("a loss of corners", corner.value(), 0.0..=100.0, "write 0 to 100 dB")?;
        }
        self.law.checked()
    }

    /// The straight way, and the best way along streets where that one is blocked.
    pub fn straight(&self, emitter: Spot, receiver: Spot) -> Vec<Path> {
        let length = self.slant(apart(emitter.at, receiver.at), emitter, receiver);
        let sees = self.town.as_ref().is_none_or(|town| town.sees(emitter, receiver));
        let way = if sees { Way::Direct } else { Way::Blocked };
        let extra = if sees { 0.0 } else { self.blocked.value() };
        let direct = self.path(way, emitter.at, receiver.at, length, extra);
        let around = if sees { None } else { self.around(emitter, receiver) };
        std::iter::once(direct).chain(around).collect()
    }

    /// All ways, with a mirror image in each façade that shows one.
    pub fn all(&self, emitter: Spot, receiver: Spot) -> Vec<Path> {
        let mut paths = self.straight(emitter, receiver);
        if let Some(town) = &self.town {
            let mirrored = town.buildings().flat_map(|b| b.facades().map(|f| (b, f)));
            paths.extend(mirrored.filter_map(|(b, f)| self.reflected(town, b, f, emitter, receiver)));
        }
        paths
    }

    fn path(&self, way: Way, from: PlanePoint, toward: PlanePoint, length: Metres, extra: f64) -> Path {
        let loss = self.law.loss(self.frequency, length).value() + extra;
        Path { way, from, toward, length, loss: Db::new(loss) }
    }

    fn slant(&self, flat: f64, emitter: Spot, receiver: Spot) -> Metres {
        Metres::new(portable::hypot(flat, emitter.height.value() - receiver.height.value()))
    }

    /// The mirror image in a façade ([`crate::sources::FONTAN2008`]): the way is as long as the straight line from the image
    /// to the receiver, which must cut the façade, below its roof, with nothing in the way on either side. A landmark's façade
    /// is seen over the roofs as well, at the loss of the straight way over them: its upper part throws the wave down over
    /// the last roof.
    fn reflected(
        &self,
        town: &Town,
        building: &Building,
        (a, b): (PlanePoint, PlanePoint),
        emitter: Spot,
        receiver: Spot,
    ) -> Option<Path> {
        let (e, r) = (outside(a, b, emitter.at), outside(a, b, receiver.at));
        if e <= 0.0 || r <= 0.0 {
            return None;
        }
        // On the way from the emitter to the receiver the façade's point lies where both are seen under the same angle.
        let t = e / (e + r);
        let (feet_e, feet_r) = (along(a, b, emitter.at), along(a, b, receiver.at));
        let share = feet_e + t * (feet_r - feet_e);
        let height = emitter.height.value() + t * (receiver.height.value() - emitter.height.value());
        if !(0.0..=1.0).contains(&share) {
            return None;
        }
        let mirror = PlanePoint {
            east: a.east + share * (b.east - a.east),
            north: a.north + share * (b.north - a.north),
        };
        let spot = Spot { at: mirror, height: Metres::new(height) };
        let below_roof = height < building.height.value();
        let open = below_roof && town.sees(emitter, spot) && town.sees(spot, receiver);
        if !open && !building.landmark {
            return None;
        }
        let roofs = if open { 0.0 } else { self.blocked.value() };
        let flat = portable::hypot(e + r, (feet_r - feet_e) * apart(a, b));
        let length = self.slant(flat, emitter, receiver);
        Some(self.path(Way::Reflected, mirror, mirror, length, building.reflection.value() + roofs))
    }

    /// Along the streets from the emitter's to the receiver's with as few corners as can be: one where the streets cross,
    /// two where they run side by side ([`crate::sources::P1411`] has a loss for each corner; its value is the caller's). Somebody
    /// on no street hears the nearest one through a wall.
    fn around(&self, emitter: Spot, receiver: Spot) -> Option<Path> {
        let (town, corner) = (self.town.as_ref()?, self.corner?.value());
        let (e, r) = (Access::of(town, emitter.at), Access::of(town, receiver.at));
        let walls = self.blocked.value() * f64::from(u8::from(e.off) + u8::from(r.off));
        let mut best: Option<Path> = None;
        for (corners, extra) in e.ways(&r, town) {
            let stops: Vec<PlanePoint> =
                [emitter.at].into_iter().chain(corners.iter().copied()).chain([receiver.at]).collect();
            let flat = stops.windows(2).map(|w| apart(w[0], w[1])).sum();
            let length = self.slant(flat, emitter, receiver);
            let (first, last) = (corners.first()?, corners.last()?);
            let way = Way::Around(extra);
            let path = self.path(way, *last, *first, length, walls + corner * f64::from(extra));
            if best.is_none_or(|b| path.loss < b.loss) {
                best = Some(path);
            }
        }
        best
    }
}

/// Distance of a point to the left of the way from `a` to `b`: outside of a façade.
fn outside(a: PlanePoint, b: PlanePoint, p: PlanePoint) -> f64 {
    let (e, n) = (b.east - a.east, b.north - a.north);
    (e * (p.north - a.north) - n * (p.east - a.east)) / portable::hypot(e, n)
}

/// Where a point lies along the way from `a` to `b`, as a share of its length.
fn along(a: PlanePoint, b: PlanePoint, p: PlanePoint) -> f64 {
    let (e, n) = (b.east - a.east, b.north - a.north);
    (e * (p.east - a.east) + n * (p.north - a.north)) / (e * e + n * n)
}

/// The streets that a point opens on.
struct Access {
    /// The street that runs north through it, if it lies on one.
    northward: Option<usize>,
    /// The street that runs east through it.
    eastward: Option<usize>,
    /// It lies on no street, and the nearest one stands for it.
    off: bool,
}

impl Access {
    fn of(town: &Town, at: PlanePoint) -> Self {
        let (i, j) = (town.nearest_street(at.east), town.nearest_street(at.north));
        let northward = town.in_street(at.east).then_some(i);
        let eastward = town.in_street(at.north).then_some(j);
        if northward.is_some() || eastward.is_some() {
            return Self { northward, eastward, off: false };
        }
        let (east, north) = ((at.east - town.street(i)).abs(), (at.north - town.street(j)).abs());
        let (northward, eastward) = if east <= north { (Some(i), None) } else { (None, Some(j)) };
        Self { northward, eastward, off: true }
    }

    /// The corners on the ways to another point's streets, and how many turns each takes.
    fn ways(&self, other: &Self, town: &Town) -> Vec<(Vec<PlanePoint>, u8)> {
        let crossing = |i: usize, j: usize| PlanePoint { east: town.street(i), north: town.street(j) };
        let mut out = Vec::new();
        if let (Some(i), Some(j)) = (self.northward, other.eastward) {
            out.push((vec![crossing(i, j)], 1));
        }
        if let (Some(j), Some(i)) = (self.eastward, other.northward) {
            out.push((vec![crossing(i, j)], 1));
        }
        let streets = 0..=town.plan().blocks;
        if let (Some(i), Some(k)) = (self.northward, other.northward) {
            out.extend(streets.clone().filter(|_| i != k).map(|j| (vec![crossing(i, j), crossing(k, j)], 2)));
        }
        if let (Some(i), Some(k)) = (self.eastward, other.eastward) {
            out.extend(streets.filter(|_| i != k).map(|j| (vec![crossing(j, i), crossing(j, k)], 2)));
        }
        out
    }
}
