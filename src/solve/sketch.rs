//! Where the emitter may be, at a glance: the density of bearings at points that the caller chooses, or its mesh without peaks,
//! record and audit. One bearing is enough. For those who decide many times while underway.

use crate::{
    geodesy::{Plane, PlanePoint},
    north::TrueBearing,
    solve::{
        compass::compasses,
        density::{Batch, Density, LANES},
        front::fronts,
        options::{Options, Problem, SolveError},
        predict::{self, Hand, Reading},
        scene::Scene,
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
        let mut scene = Scene::laid_out(&problem, options, plane)?;
        scene.compasses = compasses(&scene, options);
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

    /// The mesh of the posterior; no cell holds more than 1/`cells` of the mass.
    pub fn mesh(&self, cells: f64) -> Mesh {
        tree::mesh(&Density::new(&self.scene, &self.options), None, cells)
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
