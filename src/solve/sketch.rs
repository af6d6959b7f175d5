//! Where the emitter may be, at a glance: the density of bearings at points that the caller chooses, or its mesh without peaks,
//! record and audit. One bearing is enough. For those who decide many times while underway.

use crate::{
    geodesy::{Plane, PlanePoint},
    north::TrueBearing,
    solve::{
        compass::compasses,
        density::{Batch, Density, LANES},
        front::fronts,
        nodes::Nodes,
        options::{Options, Problem, SolveError},
        predict::{self, EVEN, Hand, Lobe, Reading},
        scene::{Scene, Sight},
        tree::{self, Mesh},
    },
};

/// The density of bearings.
pub(crate) struct Sketch {
    scene: Scene,
    options: Options,
}

impl Sketch {
    /// Of at least one bearing, on a plane of the caller or around the stands.
    ///
    /// # Errors
    /// Without bearings, or with stands too far apart for a plane.
    pub fn of(bearings: &[TrueBearing], options: &Options, plane: Option<Plane>) -> Result<Self, SolveError> {
        if bearings.is_empty() {
            return Err(SolveError::TooFew { have: 0, need: 1 });
        }
        let problem = Problem { bearings, ..Problem::default() };
        let mut scene = compasses(Scene::laid_out(&problem, options, plane)?, options);
        scene.fronts = fronts(&scene, options);
        Ok(Self { scene, options: *options })
    }

    /// The plane of all points.
    pub fn plane(&self) -> Plane {
        self.scene.plane
    }

    /// Natural logarithms of the density at points, up to a constant.
    pub fn logs(&self, points: &[PlanePoint]) -> Vec<f64> {
        let density = Density::new(&self.scene, &self.options);
        let mut out = Vec::with_capacity(points.len());
        for chunk in points.chunks(LANES) {
            let last = chunk[chunk.len() - 1];
            let point = |l: usize| chunk.get(l).unwrap_or(&last);
            let batch: Batch =
                (std::array::from_fn(|l| point(l).east), std::array::from_fn(|l| point(l).north));
            out.extend_from_slice(&density.at(&batch)[..chunk.len()]);
        }
        out
    }

    /// The same with the ways of each bearing's wave from each point, instead of a foreign share that is integrated out; a common
    /// scale of the errors is integrated out as ever. `ways` takes the number of the bearing and of the point; `elsewhere` is for
    /// each bearing how many times the even density a foreign one has in its direction.
    pub fn logs_with(
        &self,
        points: &[PlanePoint],
        ways: &dyn Fn(usize, usize) -> Ways,
        elsewhere: &[f64],
    ) -> Vec<f64> {
        let scales = Nodes::of(&self.scene, &self.options).scale;
        let mut out = Vec::with_capacity(points.len());
        for (j, point) in points.iter().enumerate() {
            let place = |sum: f64, (step, weight): &(f64, f64)| {
                let bearings = self.scene.sights.iter().enumerate();
                let log: f64 =
                    bearings.map(|(i, s)| seen(s, *point, *step, (ways(i, j), elsewhere[i])).ln()).sum();
                log_add(sum, log + weight.ln())
            };
            out.push(scales.iter().fold(f64::NEG_INFINITY, place));
        }
        out
    }

    /// Where the stands are, what was read there as a direction on the plane, and one standard deviation of it, radians.
    pub fn read(&self) -> Vec<(PlanePoint, f64, f64)> {
        let of = |s: &Sight| (PlanePoint { east: s.east, north: s.north }, s.sin.atan2(s.cos), s.sigma);
        self.scene.sights.iter().map(of).collect()
    }

    /// The mesh of the posterior; no cell holds more than 1/`cells` of the mass.
    pub fn mesh(&self, cells: f64) -> Mesh {
        tree::mesh(&Density::new(&self.scene, &self.options), None, &[], cells)
    }

    /// The hand that took the bearings so far.
    pub fn hand(&self) -> Hand {
        predict::hand(&self.scene, &self.options)
    }

    /// What its next bearing would read for emitters at points.
    pub fn readings(&self, hand: &Hand, points: &[[f64; 2]]) -> Vec<Reading> {
        predict::readings(&self.scene, &self.options, hand, points)
    }
}

/// On what ways a bearing's wave comes from a point: shares of all bearings.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ways {
    /// From elsewhere, before front and back levels are looked at.
    pub foreign: f64,
    /// Of the others, those that come by way of another point, and that point.
    pub by: Option<(PlanePoint, f64)>,
}

/// Density of a reading for an emitter at a point.
fn seen(sight: &Sight, at: PlanePoint, step: f64, (ways, elsewhere): (Ways, f64)) -> f64 {
    let scale = (2.0 * step * sight.spread).exp();
    let toward = |p: PlanePoint| {
        let (e, n) = (p.east - sight.east, p.north - sight.north);
        let square = (e * e + n * n).max(1.0);
        let lobe = Lobe::of(scale * (sight.sigma.powi(2) + sight.position / square));
        let cosine = (sight.sin * e + sight.cos * n) / square.sqrt();
        (1.0 - sight.reversed) * lobe.at(cosine) + sight.reversed * lobe.at(-cosine)
    };
    let odds = ways.foreign * sight.foreign_odds;
    let foreign = odds / (1.0 - ways.foreign + odds);
    let own = match ways.by {
        Some((by, share)) => (1.0 - share) * toward(at) + share * toward(by),
        None => toward(at),
    };
    (1.0 - foreign) * own + foreign * elsewhere * EVEN
}

/// ln(e^a + e^b).
fn log_add(a: f64, b: f64) -> f64 {
    let (low, high) = if a < b { (a, b) } else { (b, a) };
    if low == f64::NEG_INFINITY { high } else { high + (low - high).exp().ln_1p() }
}
