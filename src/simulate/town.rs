//! Invented towns: streets at right angles and buildings between them.

use crate::{
    geodesy::PlanePoint,
    numeric::random::Random,
    simulate::{Refusal, refusal},
    units::{Db, Metres},
};

/// A point above ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Where, in the plane of the scene.
    pub at: PlanePoint,
    /// Height above ground.
    pub height: Metres,
}

/// What a town is made from. Streets run along the plane's east and north, blocks are squares.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TownPlan {
    /// Blocks along each side of the town, 1 to 60.
    pub blocks: usize,
    /// Distance between the middles of neighbouring streets, 30 to 500 m.
    pub pitch: Metres,
    /// Width of a street between the lots, above 0 and at most half of the pitch.
    pub street: Metres,
    /// Lots along each side of a block, 1 to 4.
    pub lots: usize,
    /// Share of lots that are built on.
    pub built: f64,
    /// Share of the buildings that are landmarks: towers, elevators, halls that rise above the roofs.
    pub landmarks: f64,
    /// Height of a landmark.
    pub landmark: Metres,
    /// Least and most distance of a building from the edges of its lot; at most a third of the lot.
    pub setback: (Metres, Metres),
    /// Least and greatest height of a building.
    pub height: (Metres, Metres),
    /// Least and greatest loss of a reflection on a façade.
    pub reflection: (Db, Db),
}

/// A building: a rectangle along the streets.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Building {
    /// Its corner toward south and west.
    pub low: PlanePoint,
    /// Its corner toward north and east.
    pub high: PlanePoint,
    /// Height of its roof.
    pub height: Metres,
    /// Loss of a reflection on its façades.
    pub reflection: Db,
    /// It rises above the roofs, so that its façades are seen over them.
    pub landmark: bool,
}

impl Building {
    /// The parts of a straight line inside: from where to where, as shares of its length; `None` where it passes by.
    fn inside(&self, from: PlanePoint, to: PlanePoint) -> Option<(f64, f64)> {
        let (east0, east1) = slab(from.east, to.east, self.low.east, self.high.east)?;
        let (north0, north1) = slab(from.north, to.north, self.low.north, self.high.north)?;
        let (enter, leave) = (east0.max(north0), east1.min(north1));
        // A line along a façade touches it and does not enter.
        (leave > enter + 1e-12).then_some((enter, leave))
    }

    fn blocks(&self, from: Spot, to: Spot) -> bool {
        let Some((enter, leave)) = self.inside(from.at, to.at) else { return false };
        let height = |t: f64| from.height.value() + t * (to.height.value() - from.height.value());
        height(enter).min(height(leave)) < self.height.value()
    }

    /// Its four façades, each with its ends; outside lies to the left of the way from the first to the second.
    pub fn facades(&self) -> [(PlanePoint, PlanePoint); 4] {
        let corner = |east: f64, north: f64| PlanePoint { east, north };
        let (sw, ne) = (self.low, self.high);
        let (se, nw) = (corner(ne.east, sw.north), corner(sw.east, ne.north));
        [(se, sw), (ne, se), (nw, ne), (sw, nw)]
    }
}

/// The part of [0, 1] in which a coordinate that runs from `from` to `to` lies strictly between two bounds.
fn slab(from: f64, to: f64, low: f64, high: f64) -> Option<(f64, f64)> {
    let run = to - from;
    if run == 0.0 {
        return (from > low && from < high).then_some((0.0, 1.0));
    }
    let (a, b) = ((low - from) / run, (high - from) / run);
    let (enter, leave) = (a.min(b).max(0.0), a.max(b).min(1.0));
    (leave > enter).then_some((enter, leave))
}

/// A town around the middle of its plane.
#[derive(Clone, Debug, PartialEq)]
pub struct Town {
    plan: TownPlan,
    /// By block, row after row from the south-west.
    blocks: Vec<Vec<Building>>,
}

impl Town {
    /// The town of a seed.
    ///
    /// # Errors
    /// Numbers outside of the ranges that [`TownPlan`] names.
    pub fn new(plan: &TownPlan, seed: u64) -> Result<Self, Refusal> {
        checked(plan)?;
        let mut random = Random::stream(seed, 0x70E7);
        let blocks = (0..plan.blocks * plan.blocks).map(|b| block(plan, b, &mut random)).collect();
        Ok(Self { plan: *plan, blocks })
    }

    /// What it was made from.
    pub const fn plan(&self) -> &TownPlan {
        &self.plan
    }

    /// All buildings.
    pub fn buildings(&self) -> impl Iterator<Item = &Building> {
        self.blocks.iter().flatten()
    }

    /// The middles of the streets, as distances from the town's middle: the same toward east and toward north.
    pub fn streets(&self) -> impl Iterator<Item = f64> + '_ {
        (0..=self.plan.blocks).map(|i| self.street(i))
    }

    /// The middle of street `index`.
    pub(super) fn street(&self, index: usize) -> f64 {
        (index as f64 - 0.5 * self.plan.blocks as f64) * self.plan.pitch.value()
    }

    /// The street whose middle is nearest to a coordinate.
    pub(super) fn nearest_street(&self, coordinate: f64) -> usize {
        let index = coordinate / self.plan.pitch.value() + 0.5 * self.plan.blocks as f64;
        index.round().clamp(0.0, self.plan.blocks as f64) as usize
    }

    /// Whether a coordinate lies in a street that runs across it.
    pub(super) fn in_street(&self, coordinate: f64) -> bool {
        let middle = self.street(self.nearest_street(coordinate));
        (coordinate - middle).abs() <= 0.5 * self.plan.street.value()
    }

    /// Whether no building stands between two points, roofs included.
    pub fn sees(&self, from: Spot, to: Spot) -> bool {
        !self.crossed(from.at, to.at).any(|b| b.blocks(from, to))
    }

    /// Buildings of the blocks that a straight line crosses.
    fn crossed(&self, from: PlanePoint, to: PlanePoint) -> impl Iterator<Item = &Building> {
        let (low, high) = (from.east.min(to.east), from.east.max(to.east));
        self.span(low, high).flat_map(move |column| {
            let (west, east) = (self.street(column), self.street(column + 1));
            let (a, b) = (at_east(from, to, west.max(low)), at_east(from, to, east.min(high)));
            let (a, b) = if from.east == to.east { (from.north, to.north) } else { (a, b) };
            self.span(a.min(b), a.max(b)).flat_map(move |row| &self.blocks[row * self.plan.blocks + column])
        })
    }

    /// Indices of the blocks between two coordinates; a hair more, for a line that runs exactly along an edge.
    fn span(&self, low: f64, high: f64) -> std::ops::Range<usize> {
        let count = self.plan.blocks as f64;
        let index = |x: f64| (x / self.plan.pitch.value() + 0.5 * count).floor();
        let first = index(low - 1e-6).clamp(0.0, count) as usize;
        first..((index(high + 1e-6) + 1.0).clamp(0.0, count) as usize).max(first)
    }

    /// The share of eight directions in which a building stands within `reach` of a point 1.5 m above ground: 0 in the
    /// open, about 3/4 between two rows of façades.
    pub fn enclosure(&self, at: PlanePoint, reach: Metres) -> f64 {
        let height = Metres::new(1.5);
        let from = Spot { at, height };
        let half = std::f64::consts::FRAC_1_SQRT_2;
        let compass = [(0.0, 1.0), (half, half), (1.0, 0.0), (half, -half)];
        let closed = compass.iter().flat_map(|(e, n)| [(*e, *n), (-e, -n)]).filter(|(e, n)| {
            let end = PlanePoint { east: at.east + reach.value() * e, north: at.north + reach.value() * n };
            !self.sees(from, Spot { at: end, height })
        });
        closed.count() as f64 / 8.0
    }
}

/// Northing of a line at an easting, kept between its ends.
fn at_east(from: PlanePoint, to: PlanePoint, east: f64) -> f64 {
    let t = ((east - from.east) / (to.east - from.east)).clamp(0.0, 1.0);
    from.north + t * (to.north - from.north)
}

fn block(plan: &TownPlan, index: usize, random: &mut Random) -> Vec<Building> {
    let pitch = plan.pitch.value();
    let corner = |i: usize| (i as f64 - 0.5 * plan.blocks as f64) * pitch + 0.5 * plan.street.value();
    let (west, south) = (corner(index % plan.blocks), corner(index / plan.blocks));
    let lot = (pitch - plan.street.value()) / plan.lots as f64;
    let mut out = Vec::new();
    for l in 0..plan.lots * plan.lots {
        let (i, j) = ((l % plan.lots) as f64, (l / plan.lots) as f64);
        let built = random.happens(plan.built);
        let mut back = || random.between(plan.setback.0.value(), plan.setback.1.value());
        let low = PlanePoint { east: west + i * lot + back(), north: south + j * lot + back() };
        let high =
            PlanePoint { east: west + (i + 1.0) * lot - back(), north: south + (j + 1.0) * lot - back() };
        let ordinary = Metres::new(random.between(plan.height.0.value(), plan.height.1.value()));
        let landmark = random.happens(plan.landmarks);
        let height = if landmark { plan.landmark } else { ordinary };
        let reflection = Db::new(random.between(plan.reflection.0.value(), plan.reflection.1.value()));
        if built {
            out.push(Building { low, high, height, reflection, landmark });
        }
    }
    out
}

fn checked(plan: &TownPlan) -> Result<(), Refusal> {
    use refusal::{share, within};
    within("a number of blocks", plan.blocks as f64, 1.0..=60.0, "write 1 to 60 along each side")?;
    let pitch = plan.pitch.value();
    within("a distance of streets", pitch, 30.0..=500.0, "write 30 to 500 m, such as 100")?;
    let hint = "write at least 1 m and at most half the distance of the streets";
    within("a width of streets", plan.street.value(), 1.0..=0.5 * pitch, hint)?;
    within("a number of lots", plan.lots as f64, 1.0..=4.0, "write 1 to 4 along each side of a block")?;
    share("a share of lots that are built on", plan.built)?;
    share("a share of landmarks", plan.landmarks)?;
    within("a height of landmarks", plan.landmark.value(), 0.0..=1000.0, "write 0 to 1000 m")?;
    let third = (pitch - plan.street.value()) / plan.lots as f64 / 3.0;
    let (low, high) = (plan.setback.0.value(), plan.setback.1.value());
    within("a greatest setback", high, 0.0..=third, "write at most a third of a lot")?;
    within("a least setback", low, 0.0..=high, "write 0 to the greatest")?;
    let (low, high) = (plan.height.0.value(), plan.height.1.value());
    within("a greatest height of buildings", high, 0.0..=1000.0, "write 0 to 1000 m")?;
    within("a least height of buildings", low, 0.0..=high, "write 0 to the greatest")?;
    let (low, high) = (plan.reflection.0.value(), plan.reflection.1.value());
    within("a greatest loss of reflections", high, 0.0..=60.0, "write 0 to 60 dB")?;
    within("a least loss of reflections", low, 0.0..=high, "write 0 to the greatest")
}
