//! Where the emitter may be for somebody underway: bearings, levels read on the way, and the ground that was passed without
//! meeting it.

use std::sync::Arc;

use crate::{
    geodesy::{Place, Plane, PlanePoint},
    north::TrueBearing,
    plan::{
        ahead::median,
        belief::Belief,
        faint::Faint,
        guided::{Came, Ways},
        sight::Buildings,
    },
    solve::{
        Fit, Options, SolveError,
        predict::Hand,
        sketch::{self, Sketch},
    },
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
        /// The streets, and where on them each point lies: edge and metres along it.
        town: Arc<(Streets, Vec<(usize, f64)>)>,
    },
    /// Anywhere.
    Open,
}

impl Ground {
    /// Along the streets of a town; anywhere without any.
    pub fn of(streets: Option<&Streets>) -> Self {
        let Some(streets) = streets.filter(|s| !s.edges().is_empty()) else { return Self::Open };
        let step = PIECE_M.max(2.0 * streets.length().value() / MOST_POINTS);
        let (mut points, mut on) = (Vec::new(), Vec::new());
        for (i, edge) in streets.edges().iter().enumerate() {
            let count = (edge.length.value() / step).round().max(1.0);
            for k in 0..count as usize {
                let along = |share: f64| streets.point_on(i, Metres::new(edge.length.value() * share));
                let (a, b) = (along(k as f64 / count), along((k as f64 + 1.0) / count));
                let (east, north) = (b.east - a.east, b.north - a.north);
                let aside = ASIDE_M / east.hypot(north).max(1e-9);
                for side in [-aside, aside] {
                    on.push((i, edge.length.value() * (k as f64 + 0.5) / count));
                    points.push(PlanePoint {
                        east: 0.5 * (a.east + b.east) + side * north,
                        north: 0.5 * (a.north + b.north) - side * east,
                    });
                }
            }
        }
        let plane = streets.plane();
        let buildings = Arc::new(Buildings::of(Some(streets), &plane));
        let town = Arc::new((streets.clone(), on));
        Self::Along { points, area: step * MET_WITHIN.value(), plane, buildings, town }
    }

    /// The same, as if no buildings were known.
    pub fn without_buildings(&self) -> Self {
        match self.clone() {
            Self::Along { points, area, plane, town, .. } => {
                Self::Along { points, area, plane, buildings: Arc::default(), town }
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
    /// Share of foreign bearings where a building stands between.
    pub(super) behind: f64,
}

impl Picture {
    /// From what is known.
    ///
    /// # Errors
    /// Without bearings, or with stands too far apart for a plane.
    pub fn of(ground: &Ground, known: &Known, options: &Options) -> Result<Self, SolveError> {
        let mut behind = foreign(true);
        let mut buildings = Arc::default();
        let (mut belief, plane) = match ground {
            Ground::Along { points, area, plane, buildings: known_ones, town } => {
                buildings = Arc::clone(known_ones);
                let sketch = Sketch::of(known.bearings, options, Some(*plane))?;
                let faint = Faint::of(&on(plane, known.levels));
                let town = Town { points, area: *area, buildings: &buildings, streets: &town.0, on: &town.1 };
                let (belief, guided) = town.belief(&sketch, faint.as_ref());
                behind = (1.0 - guided) * foreign(true) + guided * GUIDED_PLAY;
                (belief, *plane)
            }
            Ground::Open => {
                let sketch = Sketch::of(known.bearings, options, None)?;
                let hand = sketch.hand();
                let mesh = sketch.mesh(CELLS);
                let mut belief = Belief::cut_from(&mesh, hand, |centres| typical(&sketch, &hand, centres));
                if let Some(faint) = Faint::of(&on(&sketch.plane(), known.levels)) {
                    faint.weigh(&mut belief, &buildings);
                }
                (belief, sketch.plane())
            }
        };
        let on_plane = |place: &Place| plane.to_plane(*place);
        let passed: Vec<PlanePoint> = known.passed.iter().map(on_plane).collect();
        belief.passed(&passed, MET_WITHIN.value());
        let stands = known.bearings.iter().map(|b| on_plane(&b.read().stand.at)).collect();
        Ok(Self { belief, plane, stands, streets: matches!(ground, Ground::Along { .. }), buildings, behind })
    }

    /// From a fit, with a town's buildings and streets to keep to; `bearings` must be those of its problem.
    pub fn of_fit(fit: &Fit, bearings: &[TrueBearing], streets: Option<&Streets>) -> Self {
        Self::with_coarse(fit, bearings, streets).0
    }

    /// The same, with the belief of few points beside it.
    pub(super) fn with_coarse(
        fit: &Fit,
        bearings: &[TrueBearing],
        streets: Option<&Streets>,
    ) -> (Self, Belief) {
        let plane = fit.plane();
        let stands = bearings.iter().map(|b| plane.to_plane(b.read().stand.at)).collect();
        let buildings = Arc::new(Buildings::of(streets, &plane));
        let (belief, coarse) = Belief::of(fit);
        (Self { belief, plane, stands, streets: streets.is_some(), buildings, behind: foreign(true) }, coarse)
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

fn on(plane: &Plane, levels: &[(Place, Dbm)]) -> Vec<(PlanePoint, Dbm)> {
    levels.iter().map(|(p, l)| (plane.to_plane(*p), *l)).collect()
}

/// Both sides of streets.
struct Town<'a> {
    points: &'a [PlanePoint],
    area: f64,
    buildings: &'a Buildings,
    streets: &'a Streets,
    on: &'a [(usize, f64)],
}

impl Town<'_> {
    /// The belief, and the chance that houses close the streets so that waves run along them.
    fn belief(&self, sketch: &Sketch, faint: Option<&Faint>) -> (Belief, f64) {
        let (points, buildings) = (self.points, self.buildings);
        let mut stories: Vec<Vec<f64>> = Vec::new();
        if buildings.is_empty() {
            stories.push(sketch.logs(points));
        } else {
            let read = sketch.read();
            let shut: Vec<Vec<bool>> =
                read.iter().map(|r| points.iter().map(|p| buildings.between(r.0, *p)).collect()).collect();
            let elsewhere: Vec<f64> = read.iter().map(|r| through_gaps(buildings, *r)).collect();
            let plain = |i: usize, j: usize| sketch::Ways { foreign: foreign(shut[i][j]), by: None };
            stories.push(sketch.logs_with(points, &plain, &elsewhere));
            let ways: Vec<Option<Ways>> = read.iter().map(|r| Ways::to(self.streets, r.0)).collect();
            let guided = |i: usize, j: usize| {
                let came = if shut[i][j] { self.came(&ways[i], j) } else { None };
                let Some(from) = came.and_then(|c| c.from) else { return plain(i, j) };
                sketch::Ways { foreign: GUIDED.0, by: Some((from, GUIDED.1)) }
            };
            stories.push(sketch.logs_with(points, &guided, &elsewhere));
        }
        // What the bearings leave out is not looked at for levels.
        let top = stories.iter().flatten().copied().fold(f64::NEG_INFINITY, f64::max);
        let kept: Vec<usize> =
            (0..points.len()).filter(|j| stories.iter().any(|s| s[*j] > top + LEAST_LOG)).collect();
        let mut logs: Vec<Vec<f64>> =
            stories.iter().map(|s| kept.iter().map(|j| s[*j]).collect::<Vec<f64>>()).collect();
        if let Some(faint) = faint {
            let at: Vec<PlanePoint> = kept.iter().map(|j| points[*j]).collect();
            let guides = if logs.len() > 1 { faint.ways(self.streets) } else { Vec::new() };
            for (story, logs) in logs.iter_mut().enumerate() {
                let along = |k: usize, j: usize| {
                    let came = if story == 0 { None } else { self.came(&guides[k], kept[j]) };
                    came.map(|c| (c.metres, f64::from(c.corners)))
                };
                for (log, more) in logs.iter_mut().zip(faint.logs(&at, buildings, &along)) {
                    *log += more;
                }
            }
        }
        let top = logs.iter().flatten().copied().fold(f64::NEG_INFINITY, f64::max);
        let sums: Vec<f64> = logs.iter().map(|s| s.iter().map(|l| (l - top).exp()).sum()).collect();
        let whole: f64 = sums.iter().sum();
        let hand = sketch.hand();
        let mass: Vec<f64> =
            (0..kept.len()).map(|j| logs.iter().map(|s| (s[j] - top).exp()).sum::<f64>() / whole).collect();
        let at: Vec<PlanePoint> = kept.iter().map(|j| points[*j]).collect();
        let mut belief = Belief { area: vec![self.area; at.len()], at, mass, reading: Vec::new(), hand };
        // What a bearing would read differs little over the likeliest points: a few of them speak for all.
        let mut order: Vec<usize> = (0..belief.at.len()).collect();
        order.sort_by(|a, b| belief.mass[*b].total_cmp(&belief.mass[*a]));
        let some: Vec<[f64; 2]> =
            order.iter().take(SPEAK).map(|i| [belief.at[*i].east, belief.at[*i].north]).collect();
        belief.reading = vec![typical(sketch, &hand, &some)[0]; belief.at.len()];
        (belief, sums.get(1).map_or(0.0, |s| s / whole))
    }

    fn came(&self, ways: &Option<Ways>, point: usize) -> Option<Came> {
        let (edge, along) = self.on[point];
        ways.as_ref()?.from(edge, along)
    }
}

/// Points whose logarithm is lower than the highest by more than this are left out.
const LEAST_LOG: f64 = -21.0;

/// Where houses close the streets: shares of foreign bearings of what is not in sight, of the others those that come from the last
/// corner, and what those who play ahead take for foreign. Common practice, no source.
const GUIDED: (f64, f64) = (0.2, 0.8);
const GUIDED_PLAY: f64 = 0.5;

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
