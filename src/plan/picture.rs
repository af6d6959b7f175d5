//! Where the emitter may be for somebody underway: bearings, levels read on the way, and the ground that was passed without
//! meeting it.

use std::sync::Arc;

use crate::{
    geodesy::{Place, Plane, PlanePoint},
    north::TrueBearing,
    plan::{ahead::median, belief::Belief, faint::Faint, sight::Buildings},
    solve::{Fit, Options, SolveError, predict::Hand, sketch::Sketch},
    streets::Streets,
    units::{Dbm, Metres},
};

/// An emitter is met by whoever passes within this distance.
pub const MET_WITHIN: Metres = Metres::new(15.0);

/// Points lie this far to either side of the middle of a street: where fronts and parked vehicles are. Common practice, no
/// source.
const ASIDE_M: f64 = 7.0;

/// Points along a street lie at least so far apart, and there are at most about so many.
const PIECE_M: f64 = 15.0;
const MOST_POINTS: f64 = 4_000.0;

/// Fineness of the mesh on open ground.
const CELLS: f64 = 120.0;

/// Where one looks: along streets, or anywhere.
#[derive(Clone, Debug)]
pub enum Ground {
    /// Both sides of streets: what cannot be met from a street is not looked for.
    Along {
        /// Points with the area that each stands for, square metres.
        points: Vec<PlanePoint>,
        /// See `points`.
        area: f64,
        /// Their plane.
        plane: Plane,
        /// What stands in the way of a sight.
        buildings: Arc<Buildings>,
    },
    /// Anywhere.
    Open,
}

impl Ground {
    /// Along the streets of a town; anywhere without any.
    pub fn of(streets: Option<&Streets>) -> Self {
        let Some(streets) = streets.filter(|s| !s.edges().is_empty()) else { return Self::Open };
        let step = PIECE_M.max(2.0 * streets.length().value() / MOST_POINTS);
        let mut points = Vec::new();
        for (i, edge) in streets.edges().iter().enumerate() {
            let count = (edge.length.value() / step).round().max(1.0);
            for k in 0..count as usize {
                let along = |share: f64| streets.point_on(i, Metres::new(edge.length.value() * share));
                let (a, b) = (along(k as f64 / count), along((k as f64 + 1.0) / count));
                let (east, north) = (b.east - a.east, b.north - a.north);
                let aside = ASIDE_M / east.hypot(north).max(1e-9);
                for side in [-aside, aside] {
                    points.push(PlanePoint {
                        east: 0.5 * (a.east + b.east) + side * north,
                        north: 0.5 * (a.north + b.north) - side * east,
                    });
                }
            }
        }
        let plane = streets.plane();
        let buildings = Arc::new(Buildings::of(Some(streets), &plane));
        Self::Along { points, area: step * MET_WITHIN.value(), plane, buildings }
    }

    /// The same, as if no buildings were known.
    pub fn without_buildings(&self) -> Self {
        match self.clone() {
            Self::Along { points, area, plane, .. } => {
                Self::Along { points, area, plane, buildings: Arc::default() }
            }
            Self::Open => Self::Open,
        }
    }
}

/// What somebody underway knows.
#[derive(Clone, Copy, Debug, Default)]
pub struct Known<'a> {
    /// Bearings, at least one.
    pub bearings: &'a [TrueBearing],
    /// Levels that were measured, in the order of the walk.
    pub levels: &'a [(Place, Dbm)],
    /// The way that was walked, a place every few metres, without meeting the emitter.
    pub passed: &'a [Place],
}

/// Where the emitter may be.
#[derive(Clone, Debug)]
pub struct Picture {
    pub(super) belief: Belief,
    pub(super) plane: Plane,
    pub(super) stands: Vec<PlanePoint>,
    pub(super) streets: bool,
    pub(super) buildings: Arc<Buildings>,
}

impl Picture {
    /// From what is known.
    ///
    /// # Errors
    /// Without bearings, or with stands too far apart for a plane.
    pub fn of(ground: &Ground, known: &Known, options: &Options) -> Result<Self, SolveError> {
        let mut buildings = Arc::default();
        let (mut belief, plane) = match ground {
            Ground::Along { points, area, plane, buildings: known_ones } => {
                buildings = Arc::clone(known_ones);
                let sketch = Sketch::of(known.bearings, options, Some(*plane))?;
                (along(&sketch, points, *area, &buildings), *plane)
            }
            Ground::Open => {
                let sketch = Sketch::of(known.bearings, options, None)?;
                let hand = sketch.hand();
                let mesh = sketch.mesh(CELLS);
                (Belief::cut_from(&mesh, hand, |centres| typical(&sketch, &hand, centres)), sketch.plane())
            }
        };
        let on_plane = |place: &Place| plane.to_plane(*place);
        let levels: Vec<(PlanePoint, Dbm)> = known.levels.iter().map(|(p, l)| (on_plane(p), *l)).collect();
        if let Some(faint) = Faint::of(&levels) {
            faint.weigh(&mut belief, &buildings);
        }
        let passed: Vec<PlanePoint> = known.passed.iter().map(on_plane).collect();
        belief.passed(&passed, MET_WITHIN.value());
        let stands = known.bearings.iter().map(|b| on_plane(&b.read().stand.at)).collect();
        Ok(Self { belief, plane, stands, streets: matches!(ground, Ground::Along { .. }), buildings })
    }

    /// From a fit; `bearings` must be those of its problem, and `streets` tells whether people keep to them.
    pub fn of_fit(fit: &Fit, bearings: &[TrueBearing], streets: bool) -> Self {
        let plane = fit.plane();
        let stands = bearings.iter().map(|b| plane.to_plane(b.read().stand.at)).collect();
        Self { belief: Belief::of(fit).0, plane, stands, streets, buildings: Arc::default() }
    }

    /// The best estimate that was not passed yet: along streets the likeliest place, on open ground the one with the least mean
    /// distance to the emitter, for there the density is highest beside the stands whatever the range.
    pub fn best(&self) -> Place {
        let belief = &self.belief;
        let height = |i: usize| belief.mass[i] / belief.area[i];
        let points = 0..belief.at.len();
        let best = if self.streets {
            points.max_by(|a, b| height(*a).total_cmp(&height(*b)))
        } else {
            let middle = median(&belief.at, &belief.mass);
            let off =
                |i: &usize| (belief.at[*i].east - middle.east).hypot(belief.at[*i].north - middle.north);
            let top = points.clone().map(height).fold(0.0, f64::max);
            points.filter(|i| height(*i) > LEFT_OUT * top).min_by(|a, b| off(a).total_cmp(&off(b)))
        };
        self.plane.to_place(best.map_or(PlanePoint { east: 0.0, north: 0.0 }, |i| self.belief.at[i]))
    }

    /// Area of the smallest set of points that holds 95 %, square metres.
    pub fn area(&self) -> f64 {
        self.belief.left(&self.belief.mass, crate::units::Confidence::P95).area
    }
}

/// The belief at both sides of streets.
fn along(sketch: &Sketch, points: &[PlanePoint], area: f64, buildings: &Buildings) -> Belief {
    let logs = if buildings.is_empty() {
        sketch.logs(points)
    } else {
        let seen_from = |stand: PlanePoint| -> Vec<f64> {
            points.iter().map(|p| foreign(buildings.between(stand, *p))).collect()
        };
        let read = sketch.read();
        let shares: Vec<Vec<f64>> = read.iter().map(|(stand, _, _)| seen_from(*stand)).collect();
        let elsewhere: Vec<f64> = read.iter().map(|r| through_gaps(buildings, *r)).collect();
        sketch.logs_with(points, &|i, j| shares[i][j], &elsewhere)
    };
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mass: Vec<f64> = logs.iter().map(|l| (l - top).exp()).collect();
    let sum: f64 = mass.iter().sum();
    let hand = sketch.hand();
    let mut belief = Belief { at: Vec::new(), mass: Vec::new(), area: Vec::new(), reading: Vec::new(), hand };
    let mut kept = Vec::new();
    for (point, mass) in points.iter().zip(mass) {
        if mass > 1e-9 * sum {
            belief.at.push(*point);
            belief.mass.push(mass / sum);
            belief.area.push(area);
            kept.push([point.east, point.north]);
        }
    }
    // What a bearing would read differs little over the likeliest points: a few of them speak for all.
    let mut order: Vec<usize> = (0..kept.len()).collect();
    order.sort_by(|a, b| belief.mass[*b].total_cmp(&belief.mass[*a]));
    let some: Vec<[f64; 2]> = order.iter().take(SPEAK).map(|i| kept[*i]).collect();
    belief.reading = vec![typical(sketch, &hand, &some)[0]; kept.len()];
    belief
}

/// Points lower than this part of the highest are no estimates.
const LEFT_OUT: f64 = 1e-3;

/// Share of foreign bearings where the emitter is in sight, and where a building stands between. Common practice, no source.
const FOREIGN: (f64, f64) = (0.05, 0.35);

/// The share of foreign bearings.
pub(super) fn foreign(behind: bool) -> f64 {
    if behind { FOREIGN.1 } else { FOREIGN.0 }
}

/// Of the foreign bearings so many come through gaps between buildings: mirror images in fronts across the street, and waves around
/// corners. A gap is a direction in which no building stands within so many metres. Common practice, no source.
const THROUGH_GAPS: f64 = 0.7;
const GAP_M: f64 = 60.0;

/// Directions that are looked at for gaps.
const DIRECTIONS: usize = 72;

/// How many times the even density a foreign bearing has in the direction that was read.
fn through_gaps(buildings: &Buildings, (stand, azimuth, sigma): (PlanePoint, f64, f64)) -> f64 {
    let open = |azimuth: f64| {
        let (sin, cos) = azimuth.sin_cos();
        let end = PlanePoint { east: stand.east + GAP_M * sin, north: stand.north + GAP_M * cos };
        f64::from(u8::from(!buildings.between(stand, end)))
    };
    let turn = std::f64::consts::TAU / DIRECTIONS as f64;
    let whole = (0..DIRECTIONS).map(|k| open(turn * k as f64)).sum::<f64>() / DIRECTIONS as f64;
    // Within the error of the reading, five directions of about equal shares.
    let here = [-1.28, -0.52, 0.0, 0.52, 1.28].map(|z| open(azimuth + z * sigma)).iter().sum::<f64>() / 5.0;
    if whole <= 0.0 { 1.0 } else { 1.0 - THROUGH_GAPS + THROUGH_GAPS * here / whole }
}

/// So many points speak for all.
const SPEAK: usize = 12;

/// The mean of what a few of the points would read, for each of them.
fn typical(sketch: &Sketch, hand: &Hand, points: &[[f64; 2]]) -> Vec<crate::solve::predict::Reading> {
    let every = points.len().div_ceil(SPEAK).max(1);
    let some: Vec<[f64; 2]> = points.iter().step_by(every).copied().collect();
    let readings = sketch.readings(hand, &some);
    let count = readings.len().max(1) as f64;
    let mean =
        |f: &dyn Fn(&crate::solve::predict::Reading) -> f64| readings.iter().map(f).sum::<f64>() / count;
    let one = crate::solve::predict::Reading {
        turn: mean(&|r| r.turn),
        variance: mean(&|r| r.variance),
        direct: mean(&|r| r.direct),
        foreign: mean(&|r| r.foreign),
    };
    vec![one; points.len().max(1)]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Between two long fronts foreign bearings come along the street and seldom across; over all directions they are as many as
    /// ever.
    #[test]
    fn what_is_foreign_comes_through_gaps() {
        let point = |east: f64, north: f64| PlanePoint { east, north };
        let mut walls = Buildings::default();
        for (west, east) in [(-30.0, -8.0), (8.0, 30.0)] {
            walls.add(vec![point(west, -300.0), point(east, -300.0), point(east, 300.0), point(west, 300.0)]);
        }
        let at = |degrees: f64| through_gaps(&walls, (point(0.0, 0.0), degrees.to_radians(), 1e-6));
        assert!(at(0.0) > 5.0 && at(180.0) > 5.0 && at(90.0) < 0.5, "{} {}", at(0.0), at(90.0));
        let mean = (0..DIRECTIONS).map(|k| at(360.0 / DIRECTIONS as f64 * k as f64 + 1e-6)).sum::<f64>();
        assert!((mean / DIRECTIONS as f64 - 1.0).abs() < 0.1, "{mean}");
        assert_eq!(through_gaps(&Buildings::default(), (point(0.0, 0.0), 1.0, 0.1)), 1.0);
    }
}
