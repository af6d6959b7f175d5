//! Highest-posterior regions.

use crate::{
    geodesy::{Place, Plane, PlanePoint},
    region::contour::{inside, rings, signed_area},
    solve::{
        Fit,
        tree::{Leaf, Mesh},
    },
    units::{Angle, Confidence, SquareMetres},
};

/// A closed ring of places; the last is not a repetition of the first.
pub type Ring = Vec<Place>;

/// The smallest area that holds the stated share of the posterior. It may have several parts, and parts may have
/// holes.
#[derive(Clone, Debug)]
pub struct Region {
    confidence: Confidence,
    parts: Vec<Part>,
    area: SquareMetres,
}

/// One connected part.
#[derive(Clone, Debug)]
pub struct Part {
    plane: Plane,
    /// Outer ring, then holes, in metres east and north on the plane.
    rings: Vec<Vec<[f64; 2]>>,
    area: SquareMetres,
}

impl Part {
    /// Outer ring, counter-clockwise seen from above. The places are computed anew at each call.
    pub fn outer(&self) -> Ring {
        self.rings.first().map_or_else(Ring::new, |r| self.places(r))
    }

    /// Holes, clockwise.
    pub fn holes(&self) -> Vec<Ring> {
        self.rings.iter().skip(1).map(|r| self.places(r)).collect()
    }

    /// Area without the holes.
    pub const fn area(&self) -> SquareMetres {
        self.area
    }

    fn places(&self, ring: &[[f64; 2]]) -> Ring {
        ring.iter().map(|p| self.plane.to_place(PlanePoint { east: p[0], north: p[1] })).collect()
    }

    /// Even-odd rule over all rings.
    fn holds(&self, point: [f64; 2]) -> bool {
        self.rings.iter().filter(|ring| inside(ring, point)).count() % 2 == 1
    }
}

/// The data do not determine a region of this confidence.
#[derive(Clone, Debug, PartialEq)]
pub struct NotDetermined {
    /// The confidence asked for.
    pub confidence: Confidence,
    /// Azimuth from the stands' centre toward which the region is open, from true north.
    pub along: Angle,
    /// Likelihood of the best place far out over that of the best place of all, without any prior.
    pub far_out: f64,
}

impl std::fmt::Display for NotDetermined {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "these data do not determine a {:.0} % region: it is open toward {:03}°T",
            100.0 * self.confidence.value(),
            self.along.compass().to_degrees().round() as u32 % 360
        )
    }
}

impl std::error::Error for NotDetermined {}

/// A region is called open when places far out are within one standard error of the best place: their likelihood is above
/// e^(−1/2) of the greatest. A stricter limit would refuse more and make the rest worse: the regions that pass it would be
/// those whose errors happen to make the lines cross too near (measured: with 1 − P as the limit, three bearings of 10°
/// from one side kept only a third of their regions true, with this one nine in ten).
const OPEN: f64 = 0.606_530_659_712_633_4;

/// A region is also called open when more than half of the probability that it may miss lies in the outer part of the
/// square, beyond half of its half-width: there only the edge of the square bounds it.
const OUTER: f64 = 0.5;

impl Region {
    /// The smallest region that holds `confidence` of the posterior.
    ///
    /// # Errors
    /// [`NotDetermined`] when places far out fit the bearings nearly as well as the best place, or when the edge of the
    /// search bounds the region. Then only the prior of the place would hold it together.
    pub fn of(fit: &Fit, confidence: Confidence) -> Result<Self, NotDetermined> {
        Self::at_height(fit, confidence, &heights(fit.mesh()))
    }

    /// The same for several confidences at once, which shares most of the work; each is refused for itself.
    pub fn several(fit: &Fit, confidences: &[Confidence]) -> Vec<Result<Self, NotDetermined>> {
        let heights = heights(fit.mesh());
        confidences.iter().map(|c| Self::at_height(fit, *c, &heights)).collect()
    }

    fn at_height(fit: &Fit, confidence: Confidence, heights: &[(f64, f64)]) -> Result<Self, NotDetermined> {
        let mesh = fit.mesh();
        let (far_out, along) = fit.far_out();
        if far_out > OPEN {
            return Err(NotDetermined { confidence, along, far_out });
        }
        let (beyond, along) = outer_mass(mesh);
        if beyond > 0.5 * (1.0 - confidence.value()) {
            return Err(NotDetermined { confidence, along, far_out });
        }
        let parts = parts(fit, rings(mesh, level(heights, confidence)));
        let area = SquareMetres::new(parts.iter().map(|p| p.area.value()).sum());
        Ok(Self { confidence, parts, area })
    }

    /// The confidence it was made for.
    pub const fn confidence(&self) -> Confidence {
        self.confidence
    }

    /// Its connected parts, the largest first.
    pub fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// Area of all parts.
    pub const fn area(&self) -> SquareMetres {
        self.area
    }

    /// Whether the region holds `place`; `fit` must be the one that it was made from.
    pub fn holds(&self, fit: &Fit, place: Place) -> bool {
        let p = fit.point_of(place);
        self.parts.iter().any(|part| part.holds(p))
    }
}

/// Share of the mass in the outer part of the square, and its mean direction.
fn outer_mass(mesh: &Mesh) -> (f64, Angle) {
    let limit = OUTER * mesh.half;
    let (mut mass, mut east, mut north) = (0.0, 0.0, 0.0);
    for leaf in &mesh.leaves {
        let p = mesh.points[leaf.centre as usize];
        let distance = p[0].hypot(p[1]);
        if p[0].abs().max(p[1].abs()) > limit {
            mass += leaf.mass;
            east += leaf.mass * p[0] / distance;
            north += leaf.mass * p[1] / distance;
        }
    }
    (mass, Angle::radians(east.atan2(north)).compass())
}

/// Log density and mass of every piece of the mesh, the highest first. Pieces of negligible mass are left out.
fn heights(mesh: &Mesh) -> Vec<(f64, f64)> {
    let mut order: Vec<(f64, f64)> = Vec::with_capacity(4 * mesh.leaves.len());
    for leaf in mesh.leaves.iter().filter(|l| l.mass > NOTHING) {
        match leaf.corners {
            Some(corners) if leaf.mass > NEGLIGIBLE => order.extend(quarters(mesh, leaf, corners)),
            _ => order.push((leaf.height, leaf.mass)),
        }
    }
    order.sort_unstable_by(|a, b| b.0.total_cmp(&a.0));
    order
}

/// Log density above which the stated share of the mass lies.
fn level(heights: &[(f64, f64)], confidence: Confidence) -> f64 {
    let mut sum = 0.0;
    let mut before = heights.first().map_or(f64::NEG_INFINITY, |o| o.0);
    for &(height, mass) in heights {
        if sum + mass >= confidence.value() && mass > 0.0 {
            // Within the piece where the share is reached the height is interpolated.
            let part = ((confidence.value() - sum) / mass).clamp(0.0, 1.0);
            return before + part * (height - before);
        }
        sum += mass;
        before = height;
    }
    f64::NEG_INFINITY
}

/// Cells with less mass than this do not move the level: the mesh has at most a few thousand of them.
const NOTHING: f64 = 1e-8;

/// Cells with less mass than this are not worth dividing for the level.
const NEGLIGIBLE: f64 = 1e-5;

/// Height and mass of the four quarters of a cell: the log density at the middle of each, interpolated from centre, corner
/// and the middles of the edges beside it; the cell's mass is shared out in proportion. A whole cell near the level spans
/// so much height that taking it as one piece would put the level a few per cent of area off.
fn quarters(mesh: &Mesh, leaf: &Leaf, corners: [u32; 4]) -> [(f64, f64); 4] {
    let centre = mesh.logs[leaf.centre as usize];
    let c = corners.map(|v| mesh.logs[v as usize]);
    let heights: [f64; 4] =
        std::array::from_fn(|i| 0.25 * centre + 0.5 * c[i] + 0.125 * (c[(i + 1) % 4] + c[(i + 3) % 4]));
    let top = heights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let shares = heights.map(|h| (h - top).exp());
    let sum: f64 = shares.iter().sum();
    std::array::from_fn(|i| (heights[i], leaf.mass * shares[i] / sum))
}

fn parts(fit: &Fit, rings: Vec<Vec<[f64; 2]>>) -> Vec<Part> {
    let (outer, holes): (Vec<_>, Vec<_>) = rings.into_iter().partition(|r| signed_area(r) > 0.0);
    let mut parts: Vec<(Vec<Vec<[f64; 2]>>, f64)> =
        outer.into_iter().map(|r| (signed_area(&r), r)).map(|(a, r)| (vec![r], a)).collect();
    parts.sort_by(|a, b| a.1.total_cmp(&b.1));
    for hole in holes {
        // The smallest outer ring around it: rings never cross, so any of its points decides.
        if let Some(part) = parts.iter_mut().find(|p| inside(&p.0[0], hole[0])) {
            part.1 += signed_area(&hole);
            part.0.push(hole);
        }
    }
    parts.sort_by(|a, b| b.1.total_cmp(&a.1));
    let plane = fit.plane();
    parts.into_iter().map(|(rings, area)| Part { plane, rings, area: SquareMetres::new(area) }).collect()
}
