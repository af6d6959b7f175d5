//! A whole scene: one town, its emitters, and everything that is observed in it.

use jiff::Timestamp;

use crate::{
    geodesy::{Place, PlanePoint},
    numeric::random::Random,
    observe::OperatorClass,
    simulate::{
        Attenuator, BearingPlan, Bearings, Below, Compass, Duty, Emitter, Kind, Pattern, Positioning,
        Receiver, Refusal, SectorLevel, SectorPlan, Stands, Stated, Town, Walk, WalkPlan, bearings, plain,
        propagation::Propagation,
        refusal::{share, within},
        sectors, walk, within_disc,
    },
    units::{Angle, Db, Dbm, Hertz, Metres},
};

/// What a scene is made from.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// From it follows everything that is drawn.
    pub seed: u64,
    /// Kind of place.
    pub kind: Kind,
    /// Middle of the scene.
    pub centre: Place,
    /// Time of the first observation.
    pub start: Timestamp,
    /// The frequency, 1 MHz to 100 GHz.
    pub frequency: Hertz,
    /// Declination that truly holds there, east positive; bearings are then read from magnetic north. `None`: from true
    /// north.
    pub declination: Option<Angle>,
    /// Bearings; 1 to 10,000.
    pub bearings: usize,
    /// Readings of the walk; 1 to 20,000.
    pub readings: usize,
    /// Emitters on the one channel; 1 to 10.
    pub emitters: usize,
    /// Share of bearings that come from elsewhere, whatever the town reflects.
    pub foreign: f64,
    /// Share of bearings read over the antenna's back.
    pub reversed: f64,
}

impl Plan {
    /// A scene of a kind with one emitter at 900 MHz, 12 bearings from true north, and a walk of 600 readings, which needs
    /// no further choice.
    pub fn of(kind: Kind, seed: u64) -> Self {
        Self {
            seed,
            kind,
            centre: plain::centre(),
            start: plain::start(),
            frequency: Hertz::mhz(900.0),
            declination: None,
            bearings: 12,
            readings: 600,
            emitters: 1,
            foreign: 0.0,
            reversed: 0.0,
        }
    }
}

/// A scene. Its plans are open to be read and to be changed before anything is observed.
#[derive(Clone, Debug, PartialEq)]
pub struct Scene {
    /// What it was made from.
    pub plan: Plan,
    /// Its bearings.
    pub bearings: BearingPlan,
    /// Its walk.
    pub walk: WalkPlan,
    /// Its sectors.
    pub sectors: SectorPlan,
}

/// The walk begins so long after the first bearing.
const WALK_AFTER_S: i64 = 4 * 3600;

impl Scene {
    /// The scene of a plan.
    ///
    /// # Errors
    /// Numbers of the plan that make no sense.
    pub fn new(plan: &Plan) -> Result<Self, Refusal> {
        within("a number of emitters", plan.emitters as f64, 1.0..=10.0, "write 1 to 10")?;
        share("a share of foreign bearings", plan.foreign)?;
        share("a share of reversed bearings", plan.reversed)?;
        let propagation = plan.kind.propagation(plan.frequency, plan.seed)?;
        let mut random = Random::stream(plan.seed, 30);
        let emitters: Vec<Emitter> =
            (0..plan.emitters).map(|_| emitter(plan.kind, propagation.town.as_ref(), &mut random)).collect();
        let walk = walk_plan(plan, &propagation, &emitters);
        let bearings = bearing_plan(plan, &propagation, &emitters, &mut random);
        let sectors = SectorPlan {
            seed: plan.seed,
            centre: plan.centre,
            frequency: plan.frequency,
            emitters,
            ..SectorPlan::default()
        };
        Ok(Self { plan: plan.clone(), bearings, walk, sectors })
    }

    /// Its town, where it has one.
    pub fn town(&self) -> Option<&Town> {
        self.walk.propagation.town.as_ref()
    }

    /// Takes the bearings.
    ///
    /// # Errors
    /// Numbers of the plan that make no sense.
    pub fn take_bearings(&self) -> Result<Bearings, Refusal> {
        bearings(&self.bearings)
    }

    /// Walks.
    ///
    /// # Errors
    /// Numbers of the plan that make no sense.
    pub fn take_walk(&self) -> Result<Walk, Refusal> {
        walk(&self.walk)
    }

    /// Asks the base stations.
    ///
    /// # Errors
    /// Numbers of the plan that make no sense.
    pub fn take_sectors(&self) -> Result<Vec<SectorLevel>, Refusal> {
        sectors(&self.sectors)
    }
}

/// An emitter in the inner half of the scene: in a town on a roof or before a façade, three in ten with an antenna of their
/// own direction, one in three on and off in turn. Common practice, no source.
fn emitter(kind: Kind, town: Option<&Town>, random: &mut Random) -> Emitter {
    let reach = 0.4 * kind.extent().value();
    let (at, height) = match town.and_then(|t| mounted(t, reach, random)) {
        Some(mounting) => mounting,
        None => {
            let height = if kind == Kind::Indoor { 1.0 } else { 6.0 };
            (within_disc(random, Metres::new(reach)), Metres::new(height))
        }
    };
    let axis = Angle::degrees(random.between(0.0, 360.0));
    let aimed = random.happens(0.3);
    let pattern =
        if aimed { Pattern::Cardioid { axis, front_to_back: Db::new(15.0) } } else { Pattern::Isotropic };
    let (on, off) = (random.between(300.0, 900.0), random.between(60.0, 240.0));
    let passed = random.uniform() * (on + off);
    let duty = if random.happens(1.0 / 3.0) { Duty::Cycle { on, off, passed } } else { Duty::Always };
    let eirp = Dbm::new(if kind == Kind::Indoor { 0.0 } else { random.between(20.0, 30.0) });
    Emitter { height, eirp, pattern, duty, ..Emitter::at(at) }
}

/// On the middle of a roof two metres above it, or half a metre before a façade four metres above ground.
fn mounted(town: &Town, reach: f64, random: &mut Random) -> Option<(PlanePoint, Metres)> {
    let near = |b: &&crate::simulate::Building| {
        b.low.east.abs().max(b.low.north.abs()).max(b.high.east.abs()).max(b.high.north.abs()) <= reach
    };
    let count = town.buildings().filter(near).count();
    let building = town.buildings().filter(near).nth(random.index(count))?;
    let on_roof = random.happens(0.5);
    let (share, side) = (random.between(0.2, 0.8), random.index(4));
    let (low, high) = (building.low, building.high);
    let between = |a: f64, b: f64, t: f64| a + t * (b - a);
    if on_roof {
        let at = PlanePoint {
            east: between(low.east, high.east, 0.5),
            north: between(low.north, high.north, 0.5),
        };
        return Some((at, Metres::new(building.height.value() + 2.0)));
    }
    let along = PlanePoint {
        east: between(low.east, high.east, share),
        north: between(low.north, high.north, share),
    };
    let at = match side {
        0 => PlanePoint { north: low.north - 0.5, ..along },
        1 => PlanePoint { east: high.east + 0.5, ..along },
        2 => PlanePoint { north: high.north + 0.5, ..along },
        _ => PlanePoint { east: low.east - 0.5, ..along },
    };
    Some((at, Metres::new(4.0)))
}

fn walk_plan(plan: &Plan, propagation: &Propagation, emitters: &[Emitter]) -> WalkPlan {
    let (shadowing, decorrelation) = plan.kind.shadowing();
    let start = plan.start.checked_add(jiff::SignedDuration::from_secs(WALK_AFTER_S)).unwrap_or(plan.start);
    let indoor = plan.kind == Kind::Indoor;
    WalkPlan {
        seed: plan.seed,
        centre: plan.centre,
        start,
        count: plan.readings,
        step: Metres::new(match plan.kind {
            Kind::Open => 10.0,
            Kind::Indoor => 1.0,
            _ => 5.0,
        }),
        pace: match plan.kind {
            Kind::Open => 2.6,
            Kind::Indoor => 0.5,
            _ => 1.3,
        },
        pitch: plan.kind.pitch(),
        extent: plan.kind.extent(),
        propagation: propagation.clone(),
        emitters: emitters.to_vec(),
        scatter: Metres::new(0.0),
        shadowing,
        decorrelation,
        fading: plan.kind.fading(),
        receiver: Receiver {
            noise: Dbm::new(-116.0),
            below: Below::Floor(Db::new(3.0)),
            step: Db::new(0.1),
            attenuator: Some(Attenuator { above: Dbm::new(-35.0), pad: Db::new(20.0) }),
            calibration: Db::new(2.0),
            ..Receiver::default()
        },
        positioning: Positioning {
            jumps: if indoor { 0.0 } else { 0.01 },
            lost: if indoor { 0.0 } else { 0.01 },
            ..plan.kind.positioning()
        },
        ..WalkPlan::default()
    }
}

fn bearing_plan(
    plan: &Plan,
    propagation: &Propagation,
    emitters: &[Emitter],
    random: &mut Random,
) -> BearingPlan {
    use OperatorClass::{A, B, C, D};
    let extent = plan.kind.extent().value();
    let (nearest, classes) = match plan.kind {
        Kind::Open => (150.0, vec![A, B, B]),
        Kind::Suburb | Kind::Street => (60.0, vec![B, B, C]),
        Kind::Canyon => (40.0, vec![B, C, C]),
        Kind::Indoor => (5.0, vec![C, D]),
    };
    BearingPlan {
        seed: plan.seed,
        centre: plan.centre,
        start: plan.start,
        count: plan.bearings,
        stands: Stands::Around {
            range: (Metres::new(nearest), Metres::new(extent)),
            from: Angle::degrees(random.between(0.0, 360.0)),
            width: Angle::degrees(360.0),
        },
        stated: Stated::Classes(classes),
        compass: Compass {
            common: Angle::ZERO,
            team: Angle::degrees(1.5),
            pulled: 0.05,
            pull: Angle::degrees(12.0),
        },
        declination: plan.declination,
        teams: 3,
        swings: 3,
        rounding: Angle::degrees(1.0),
        foreign: plan.foreign,
        reversed: plan.reversed,
        levels: true,
        propagation: propagation.clone(),
        shadowing: plan.kind.shadowing().0,
        emitters: emitters.to_vec(),
        positioning: plan.kind.positioning(),
        ..BearingPlan::default()
    }
}
