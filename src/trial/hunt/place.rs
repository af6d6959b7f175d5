//! Where a hunt takes place.

use crate::{
    geodesy::{self, Plane, PlanePoint},
    numeric::{portable, random::Random},
    plan::Ground,
    simulate::{Emitter, Kind, Party, Plan, Refusal, Scene, Town, write},
    streets::{Pace, Streets},
    units::Metres,
};

/// Kinds of scenes that are hunted in.
pub const KINDS: [Kind; 4] = [Kind::Open, Kind::Suburb, Kind::Street, Kind::Canyon];

/// Farther from the middle of its street than this nobody who stays on the street meets an emitter.
const REACHED_M: f64 = 13.0;

/// How high emitters hang before a front.
const FRONT_HEIGHT_M: f64 = 4.0;

/// A scene to hunt in.
#[derive(Clone, Debug)]
pub struct Place {
    /// What is simulated.
    pub scene: Scene,
    /// Its streets; `None` on open ground.
    pub streets: Option<Streets>,
    /// Where one looks.
    pub ground: Ground,
    /// The same for somebody who has no map of the buildings.
    pub bare: Ground,
    /// Where hunts begin.
    pub start: PlanePoint,
    /// The plane of the scene.
    pub plane: Plane,
}

impl Place {
    /// Place `number` of a kind in hunts of this seed: the simulator's scene of that kind, with the emitter where somebody who
    /// stays on the streets can meet it, half a metre before a front toward a street; hunts begin at a street corner at the
    /// edge of the town, or at the edge of open ground.
    ///
    /// # Errors
    /// None that these plans give; the type is that of every plan.
    pub fn draw(seed: u64, kind: Kind, number: u32) -> Result<Self, Refusal> {
        let mut random = Random::stream(seed ^ (kind as u64).wrapping_mul(0x9E37_79B9), u64::from(number));
        let own = (random.uniform() * 9_007_199_254_740_992.0) as u64;
        let mut scene = Scene::new(&Plan::of(kind, own))?;
        let extent = kind.extent().value();
        let before = scene.town().and_then(|town| before_front(town, extent, &mut random));
        if let Some(at) = before {
            let moved = |e: &Emitter| Emitter { at, height: Metres::new(FRONT_HEIGHT_M), ..*e };
            scene.walk.emitters = scene.walk.emitters.iter().map(moved).collect();
            scene.bearings.emitters = scene.walk.emitters.clone();
        }
        let plane = Party::new(&scene)?.plane();
        let start = match scene.town() {
            Some(town) => corner_at_edge(town, &mut random),
            None => {
                let (sin, cos) = portable::sin_cos(std::f64::consts::TAU * random.uniform());
                PlanePoint { east: extent * sin, north: extent * cos }
            }
        };
        let streets = scene.town().map(|town| {
            let map = write::town_map(town, &plane);
            Streets::read("town.geojson", map.as_bytes()).0
        });
        let ground = Ground::of(streets.as_ref());
        let bare = ground.without_buildings();
        Ok(Self { scene, streets, ground, bare, start, plane })
    }

    /// Where the emitter really is.
    pub fn emitter(&self) -> PlanePoint {
        self.scene.walk.emitters[0].at
    }

    /// Points of the shortest way on foot, both ends included; it ends at the point of a street that is nearest to `to`.
    pub fn way(&self, from: PlanePoint, to: PlanePoint) -> Vec<PlanePoint> {
        let Some(streets) = &self.streets else { return vec![from, to] };
        let into = |p: PlanePoint| streets.plane().to_plane(self.plane.to_place(p));
        let out = |p: PlanePoint| self.plane.to_plane(streets.plane().to_place(p));
        let reach = streets.reach(self.plane.to_place(from), Pace::WALKING);
        let goal = streets.nearest_point(into(to));
        let way = reach.zip(goal).and_then(|(reach, goal)| reach.way(streets, goal));
        std::iter::once(from).chain(way.into_iter().flatten().map(out)).collect()
    }

    /// A place on the Earth.
    pub fn on_earth(&self, point: PlanePoint) -> geodesy::Place {
        self.plane.to_place(point)
    }
}

/// Half a metre before a front that faces a street, any of those within `extent` of the middle.
fn before_front(town: &Town, extent: f64, random: &mut Random) -> Option<PlanePoint> {
    let share = random.between(0.2, 0.8);
    let streets: Vec<f64> = town.streets().collect();
    let near = |x: f64| streets.iter().any(|s| (s - x).abs() <= REACHED_M);
    let mut spots = Vec::new();
    for b in town.buildings() {
        let along = |low: f64, high: f64| low + share * (high - low);
        let (east, north) = (along(b.low.east, b.high.east), along(b.low.north, b.high.north));
        for x in [b.low.east - 0.5, b.high.east + 0.5] {
            spots.extend(near(x).then_some(PlanePoint { east: x, north }));
        }
        for y in [b.low.north - 0.5, b.high.north + 0.5] {
            spots.extend(near(y).then_some(PlanePoint { east, north: y }));
        }
    }
    spots.retain(|p| p.east.abs().max(p.north.abs()) <= extent);
    spots.get(random.index(spots.len())).copied()
}

/// Any corner of the outermost streets.
fn corner_at_edge(town: &Town, random: &mut Random) -> PlanePoint {
    let streets: Vec<f64> = town.streets().collect();
    let edge = streets[streets.len() - 1];
    let along = streets[random.index(streets.len())];
    match random.index(4) {
        0 => PlanePoint { east: along, north: edge },
        1 => PlanePoint { east: edge, north: along },
        2 => PlanePoint { east: along, north: -edge },
        _ => PlanePoint { east: -edge, north: along },
    }
}
