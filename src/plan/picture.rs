//! Where the emitter may be for somebody underway: bearings, levels read on the way, and the ground that was passed without
//! meeting it.

use crate::{
    geodesy::{Place, Plane, PlanePoint},
    north::TrueBearing,
    plan::{belief::Belief, faint::Faint},
    solve::{Options, SolveError, predict::Hand, sketch::Sketch},
    streets::Streets,
    units::{Dbm, Metres},
};

/// An emitter is met by whoever passes within this distance.
pub const MET_WITHIN: Metres = Metres::new(15.0);

/// Points lie this far to either side of the middle of a street: where fronts and parked vehicles are. Common practice, no
/// source.
const ASIDE_M: f64 = 10.0;

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
        Self::Along { points, area: step * MET_WITHIN.value(), plane: streets.plane() }
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
}

impl Picture {
    /// From what is known.
    ///
    /// # Errors
    /// Without bearings, or with stands too far apart for a plane.
    pub fn of(ground: &Ground, known: &Known, options: &Options) -> Result<Self, SolveError> {
        let (mut belief, plane) = match ground {
            Ground::Along { points, area, plane } => {
                let sketch = Sketch::of(known.bearings, options, Some(*plane))?;
                (along(&sketch, points, *area), *plane)
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
            faint.weigh(&mut belief);
        }
        let passed: Vec<PlanePoint> = known.passed.iter().map(on_plane).collect();
        belief.passed(&passed, MET_WITHIN.value());
        let stands = known.bearings.iter().map(|b| on_plane(&b.read().stand.at)).collect();
        Ok(Self { belief, plane, stands, streets: matches!(ground, Ground::Along { .. }) })
    }

    /// The likeliest place that was not passed yet.
    pub fn best(&self) -> Place {
        let height = |i: usize| self.belief.mass[i] / self.belief.area[i];
        let best = (0..self.belief.at.len()).max_by(|a, b| height(*a).total_cmp(&height(*b)));
        self.plane.to_place(best.map_or(PlanePoint { east: 0.0, north: 0.0 }, |i| self.belief.at[i]))
    }

    /// Area of the smallest set of points that holds 95 %, square metres.
    pub fn area(&self) -> f64 {
        self.belief.left(&self.belief.mass, crate::units::Confidence::P95).area
    }
}

/// The belief at both sides of streets.
fn along(sketch: &Sketch, points: &[PlanePoint], area: f64) -> Belief {
    let logs = sketch.logs(points);
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
