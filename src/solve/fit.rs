//! The answer of the solver.

use crate::{
    geodesy::{Place, Plane},
    north::TrueBearing,
    solve::{
        compass::compasses,
        density::Density,
        edge::{self, Edge, edge},
        front::fronts,
        levels::LevelFit,
        modes::{Peak, climb, information, prior_information},
        options::{Options, Problem, SolveError},
        record::{self, Record},
        scene::Scene,
        search::{Posterior, search},
        tree::Mesh,
    },
    units::{Angle, Metres},
};

/// The posterior over the emitter's place, with its modes.
#[derive(Clone, Debug)]
pub struct Fit {
    pub(super) scene: Scene,
    pub(super) options: Options,
    posterior: Posterior,
    edge: Edge,
    modes: Vec<Mode>,
    mean: Place,
    median: Place,
}

/// A place where the posterior peaks.
#[derive(Clone, Debug)]
pub struct Mode {
    /// Where.
    pub place: Place,
    /// Share of the posterior's mass in the basin of this peak.
    pub share: f64,
    /// Linear covariance of the place, square metres (east-east, east-north, north-north), from the Fisher
    /// information of the bearings, each counted by its probability of being direct; `None` where the bearings
    /// do not determine both directions.
    pub covariance: Option<[f64; 3]>,
    /// Distance to the nearest stand.
    pub nearest_stand: Metres,
    pub(super) peak: Peak,
}

/// Solves the problem: the same bearings and options give the same answer to the last bit.
///
/// # Errors
/// [`SolveError`] when there are fewer than two bearings or no frame to put them in. A problem whose bearings do
/// not determine a place still has a fit; it is the region that is then refused.
pub fn fit(problem: &Problem, options: &Options) -> Result<Fit, SolveError> {
    Ok(solved(Scene::of(problem, options)?, options))
}

/// Solves a scene.
pub(super) fn solved(scene: Scene, options: &Options) -> Fit {
    let mut scene = compasses(scene, options);
    scene.fronts = fronts(&scene, options);
    laid_out(scene, options)
}

/// Solves a scene whose compasses and shared places are given.
pub(super) fn laid_out(scene: Scene, options: &Options) -> Fit {
    let density = Density::new(&scene, options);
    let posterior = search(&density, options.cells);
    let exact = Scene { flat: false, ..scene.clone() };
    let exact_density = Density::new(&exact, options);
    let modes = posterior
        .peaks
        .iter()
        .map(|(peak, share)| mode(&scene, &density, &exact_density, peak, *share))
        .collect();
    let mean = posterior.mean();
    let mean = scene.place(mean.x, mean.y);
    let median = posterior.median();
    let median = scene.place(median.x, median.y);
    let edge = edge(&density, &posterior.peaks);
    Fit { mean, median, edge, modes, posterior, options: *options, scene }
}

fn mode(scene: &Scene, density: &Density, exact: &Density, peak: &Peak, share: f64) -> Mode {
    // The last polish uses geodesic azimuths; on a plane of a few kilometres it moves the peak by millimetres.
    let peak = if scene.flat && peak.at.norm() < 2_000.0 {
        peak.clone()
    } else {
        climb(exact, peak.at).filter(|p| peak.distance_squared(&p.at) < 1.0).unwrap_or_else(|| peak.clone())
    };
    let bare = if scene.others.is_empty() {
        let weights: Vec<f64> = density.verdicts(peak.at.x, peak.at.y).iter().map(|v| v.0 + v.1).collect();
        information(density, &peak.at, &weights) - prior_information(scene, &peak.at)
    } else {
        peak.covariance.try_inverse().unwrap_or_default() - prior_information(scene, &peak.at)
    };
    let eigen = bare.symmetric_eigenvalues();
    let sound = eigen.min() > 1e-9 * eigen.max();
    let nearest = scene.sights.iter().map(|s| (s.east - peak.at.x).hypot(s.north - peak.at.y));
    Mode {
        place: scene.place(peak.at.x, peak.at.y),
        share,
        covariance: bare.try_inverse().filter(|_| sound).map(|c| [c[(0, 0)], c[(0, 1)], c[(1, 1)]]),
        nearest_stand: Metres::new(nearest.fold(f64::INFINITY, f64::min)),
        peak,
    }
}

impl Fit {
    /// The peaks of the posterior, greatest share first; those below 2 % of the mass are left out.
    pub fn modes(&self) -> &[Mode] {
        &self.modes
    }

    /// Posterior mean: meaningful only where the posterior has one piece.
    pub const fn mean(&self) -> Place {
        self.mean
    }

    /// Spatial median of the posterior: the place from which the mean distance to the emitter is least.
    pub const fn median(&self) -> Place {
        self.median
    }

    /// The options that were used.
    pub const fn options(&self) -> &Options {
        &self.options
    }

    /// Half-width of the square that was searched.
    pub fn within(&self) -> Metres {
        Metres::new(self.scene.within)
    }

    /// Distance from the stands' centre within which half of the prior of the place lies: √3 scales of a bivariate Cauchy
    /// density, P(d > r) = a/√(a² + r²).
    pub fn prior_half(&self) -> Metres {
        Metres::new(self.scene.knee * 3f64.sqrt())
    }

    /// Centre of what was observed, about which the prior of the place lies.
    pub fn centre(&self) -> Place {
        self.scene.place(self.scene.middle.x, self.scene.middle.y)
    }

    /// Natural logarithm of the greatest likelihood of any peak, the prior of the place left out, up to a constant that fits of
    /// parts of the same observations share.
    pub(super) fn greatest_likelihood(&self) -> f64 {
        let bare = |m: &Mode| m.peak.log - edge::prior(&self.scene, &m.peak.at);
        self.modes.iter().map(bare).fold(f64::NEG_INFINITY, f64::max)
    }

    /// The law of distance that the levels follow for an emitter at the quoted place; `None` without levels.
    pub fn law(&self) -> Option<LevelFit> {
        let at = self.scene.plane.to_plane(self.quoted());
        self.scene.others.iter().find_map(|e| e.law(at))
    }

    /// The lowest level that was measured, or the highest floor that hid one; `None` without levels.
    pub(crate) fn quietest(&self) -> Option<crate::units::Dbm> {
        self.scene.others.iter().find_map(|e| e.quietest())
    }

    /// The place to quote: the first peak for bearings alone, the spatial median where levels or sectors speak too, for it
    /// misses by less there; but the first peak where it holds less than most of the mass.
    pub fn quoted(&self) -> Place {
        match self.modes.first() {
            Some(mode) if self.scene.others.is_empty() || mode.share < 0.9 => mode.place,
            _ => self.median,
        }
    }

    /// Natural logarithm of the evidence: the likelihood averaged over the prior of the place. Only differences
    /// between fits of the same bearings mean something.
    pub fn log_evidence(&self) -> f64 {
        self.posterior.mesh.evidence
    }

    /// The record of every bearing, in the order given. `bearings` must be those of the problem.
    pub fn record(&self, bearings: &[TrueBearing]) -> Record {
        record::record(self, bearings, true)
    }

    /// The same without leaving out each bearing in turn, which takes most of the time.
    pub fn first_record(&self, bearings: &[TrueBearing]) -> Record {
        record::record(self, bearings, false)
    }

    /// How likely, without the prior of the place, the best place far out (half-way to the edge of the search) is: its
    /// likelihood over the greatest of any peak, and its direction from true north. Above 1 − P, the bearings themselves do
    /// not exclude it from a region of confidence P (likelihood ratio, two degrees of freedom).
    pub fn far_out(&self) -> (f64, Angle) {
        (self.edge.log_ratio.exp(), Angle::radians(self.edge.direction).compass())
    }

    /// The mesh of the posterior, for regions.
    pub(crate) fn mesh(&self) -> &Mesh {
        &self.posterior.mesh
    }

    /// Point of the mesh for a place: metres east and north of the centre.
    pub(crate) fn point_of(&self, place: Place) -> [f64; 2] {
        let p = self.scene.plane.to_plane(place);
        [p.east, p.north]
    }

    /// The plane of the mesh.
    pub(crate) fn plane(&self) -> Plane {
        self.scene.plane
    }
}
