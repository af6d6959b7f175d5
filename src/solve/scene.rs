//! The problem on its local plane, as arrays of plain numbers that the inner loops read.

use std::sync::Arc;

use nalgebra::Vector2;

use crate::{
    geodesy::{Place, Plane, PlanePoint},
    north::TrueBearing,
    observe::{Quality, ReadBearing},
    solve::{
        compass::Compass,
        evidence::{Evidence, Remembered},
        front::Fronts,
        levels::{LevelSight, Reading},
        options::{Options, Problem, SolveError},
        sectors::{Sectors, sights},
    },
    units::{Angle, Metres},
};

/// Beyond this half-width the plane no longer carries azimuths well enough, and the search computes each from
/// its geodesic: at 100 km from the centre a straight ray on the plane is wrong by 0.01° (see
/// [`crate::geodesy::Plane`]), a hundredth of the best hand bearing's error.
const FLAT_WITHIN_M: f64 = 100_000.0;

/// Exponent of the prior of the place, p₀ ∝ (a² + d²)^−[`TAIL`]: a bivariate Cauchy density, the customary weakly
/// informative choice. One emitter in five lies beyond five scales, one in fifty beyond fifty. Heavier tails (even in log
/// distance, exponent 1) put two thirds of the mass beyond five scales, so that three ordinary bearings determine
/// nothing; people do take their stands about where they heard the signal.
pub const TAIL: f64 = 1.5;

/// The scale of the prior is twice the stands' root mean square distance from their centre, and at least this: stands on
/// one street corner say little about how far off the emitter is. Common practice, no source.
const LEAST_SCALE_M: f64 = 300.0;

/// Levels are walked where the signal is heard: their root mean square distance is the scale itself. The least scale for levels
/// alone, which are taken where the signal is heard, indoors too. Common practice, no source.
const LEAST_WALKED_M: f64 = 5.0;

/// Levels alone need at least this many: place, power and exponent are four unknowns.
pub(super) const LEAST_LEVELS: usize = 5;

/// One bearing on the plane.
#[derive(Clone, Debug)]
pub struct Sight {
    /// Stand, metres east of the centre.
    pub east: f64,
    /// Stand, metres north of the centre.
    pub north: f64,
    /// Where the stand is.
    pub place: Place,
    /// Sine and cosine of the bearing's direction on the plane.
    pub sin: f64,
    /// See `sin`.
    pub cos: f64,
    /// Azimuth from true north at the stand, radians.
    pub azimuth: f64,
    /// One standard deviation of the reading, radians.
    pub sigma: f64,
    /// Standard deviation of the logarithm of the common scale of errors.
    pub spread: f64,
    /// Whether nothing was stated about the error of the reading.
    pub unstated: bool,
    /// Variance of the stand's position, square metres.
    pub position: f64,
    /// Error shared with the other bearings, radians; zero if none.
    pub shared: f64,
    /// By how much front and back levels multiply the odds of being foreign.
    pub foreign_odds: f64,
    /// Probability of being reversed, before any other bearing is looked at.
    pub reversed: f64,
    /// Whose compass it was read from: number of a [`Scene`]'s compasses.
    pub whose: usize,
}

/// All bearings on one plane, with the square to search.
#[derive(Clone, Debug)]
pub struct Scene {
    /// The local plane; its origin is about the centre of what was observed.
    pub plane: Plane,
    /// The bearings, in the order given.
    pub sights: Vec<Sight>,
    /// Half-width of the square to search, metres.
    pub within: f64,
    /// Middle of the prior of the place, metres east and north of the plane's origin: the centre of what was observed.
    pub middle: Vector2<f64>,
    /// Scale a of the prior of the place, metres: half of its mass lies within √3 a of its middle.
    pub knee: f64,
    /// Whether azimuths are read off the plane.
    pub flat: bool,
    /// What else than bearings speaks of the place.
    pub others: Arc<[Arc<dyn Evidence>]>,
    /// How many compasses there are: bearings of one share an error.
    pub crews: usize,
    /// By crew, errors that its compass may have, with their probabilities.
    pub compasses: Vec<Vec<Compass>>,
    /// Places that foreign bearings may share.
    pub fronts: Fronts,
}

impl Scene {
    /// Lays the problem out on its plane.
    pub fn of(problem: &Problem, options: &Options) -> Result<Self, SolveError> {
        enough(problem)?;
        Self::laid_out(problem, options, None)
    }

    /// The same for any number of observations from one on, and on a plane of the caller, whose origin is then the prior's
    /// middle.
    pub(super) fn laid_out(
        problem: &Problem,
        options: &Options,
        plane: Option<Plane>,
    ) -> Result<Self, SolveError> {
        let kinds = [
            problem.bearings.iter().map(|b| b.read().stand.at).collect::<Vec<Place>>(),
            problem.levels.iter().map(|l| l.at).collect(),
            problem.sectors.iter().map(|s| s.sector().at).collect(),
        ];
        let centres: Option<Vec<Place>> = kinds
            .iter()
            .filter(|places| !places.is_empty())
            .map(|places| Plane::centred_on(places).map(|p| p.to_place(PlanePoint { east: 0.0, north: 0.0 })))
            .collect();
        let stated = plane.is_some();
        let plane = plane.or(centres.and_then(|c| Plane::centred_on(&c))).ok_or(SolveError::NoFrame)?;
        let sights = sights_on(problem, &plane, options);
        let squares = kinds.map(|places| squares(&plane, &places));
        let reach = squares.iter().flatten().copied().fold(0.0, f64::max).sqrt();
        let within = problem.within.map_or((5.0 * reach).max(50_000.0), |m| m.value()).min(5_000_000.0);
        if !within.is_finite() || within <= reach {
            let (within, reach) = (Metres::new(within), Metres::new(reach));
            return Err(SolveError::StandsOutside { within, reach });
        }
        let mean_squares = squares.map(|s| s.iter().sum::<f64>() / s.len().max(1) as f64);
        let only_levels = sights.is_empty() && problem.sectors.is_empty();
        let least = if only_levels { LEAST_WALKED_M } else { LEAST_SCALE_M };
        let [stands, walked, sites] = mean_squares.map(f64::sqrt);
        let knee = (2.0 * stands.max(sites)).max(walked).max(least);
        let together = !problem.levels.is_empty() && !only_levels;
        let anchored = if stated { None } else { anchored(&plane, within).filter(|_| together) };
        let (middle, sights, plane) = match anchored {
            None => (Vector2::zeros(), sights, plane),
            Some(anchored) => {
                let middle = anchored.to_plane(plane.to_place(PlanePoint { east: 0.0, north: 0.0 }));
                (Vector2::new(middle.east, middle.north), sights_on(problem, &anchored, options), anchored)
            }
        };
        let others = others(problem, options, &plane);
        let crews = sights.iter().map(|s| s.whose + 1).max().unwrap_or(1);
        Ok(Self {
            plane,
            sights,
            within,
            middle,
            knee,
            flat: within <= FLAT_WITHIN_M,
            others,
            crews,
            compasses: vec![vec![(0.0, 1.0)]; crews],
            fronts: Fronts::default(),
        })
    }

    /// The place of a point of the plane.
    pub fn place(&self, east: f64, north: f64) -> Place {
        self.plane.to_place(PlanePoint { east, north })
    }

    /// The same scene with compasses that are right: bearings of all crews are then as those of one.
    pub fn with_right_compasses(mut self) -> Self {
        self.sights.iter_mut().for_each(|s| s.whose = 0);
        (self.crews, self.compasses) = (1, vec![vec![(0.0, 1.0)]]);
        self
    }

    /// The same scene without one bearing; the square to search stays.
    pub fn without(&self, index: usize) -> Self {
        let mut rest = self.clone();
        rest.sights.remove(index);
        rest
    }
}

/// The bearings on a plane.
fn sights_on(problem: &Problem, plane: &Plane, options: &Options) -> Vec<Sight> {
    let whose = crews(problem.bearings);
    problem.bearings.iter().zip(whose).map(|(b, whose)| sight(b, whose, plane, options)).collect()
}

/// The origin of a plane on which levels and bearings stand together is rounded to a lattice of about this part of the search's
/// half-width: it stays where it is when a bearing is added, and so do the places that levels are asked about.
const LATTICE: f64 = 1.0 / 50.0;

/// A plane whose origin is rounded so.
fn anchored(plane: &Plane, within: f64) -> Option<Plane> {
    let centre = plane.to_place(PlanePoint { east: 0.0, north: 0.0 });
    // A degree of latitude is 111 km; a power of two gives rounded degrees without a remainder.
    let step = (LATTICE * within / 111_000.0).log2().floor().exp2().min(1.0);
    let rounded = |degrees: f64| (degrees / step).round() * step;
    let origin = Place::from_lat_lon_degrees(rounded(centre.lat_degrees()), rounded(centre.lon_degrees()))?;
    Plane::centred_on(&[origin])
}

/// A place needs two bearings, or levels from a few spots.
fn enough(problem: &Problem) -> Result<(), SolveError> {
    let (bearings, levels) = (problem.bearings.len(), problem.levels.len());
    let hear = problem.sectors.iter().filter(|s| s.sector().interference.measured().is_some()).count();
    if bearings >= 2 || hear >= 2 {
        return Ok(());
    }
    if levels == 0 && bearings == 0 && problem.sectors.is_empty() {
        return Err(SolveError::Nothing);
    }
    if levels == 0 && bearings < 2 && !problem.sectors.is_empty() {
        return Err(SolveError::TooFewSectors { have: hear });
    }
    if levels == 0 && bearings < 2 {
        return Err(SolveError::TooFew { have: bearings, need: 2 });
    }
    if levels > 0 && bearings < 2 && levels < LEAST_LEVELS {
        return Err(SolveError::TooFewLevels { have: levels, need: LEAST_LEVELS });
    }
    if levels > 0 && bearings < 2 && problem.levels.iter().all(|l| l.below) {
        return Err(SolveError::NothingHeard { readings: levels });
    }
    Ok(())
}

/// Squared distances from the origin of the plane.
fn squares(plane: &Plane, places: &[Place]) -> Vec<f64> {
    let square = |p: PlanePoint| p.east.powi(2) + p.north.powi(2);
    places.iter().map(|p| square(plane.to_plane(*p))).collect()
}

fn others(problem: &Problem, options: &Options, plane: &Plane) -> Arc<[Arc<dyn Evidence>]> {
    let mut out: Vec<Arc<dyn Evidence>> = Vec::new();
    if !problem.sectors.is_empty() {
        let sights = sights(problem.sectors, plane, &options.sectors);
        out.push(Arc::new(Sectors::new(sights, options.sectors)));
    }
    if problem.levels.is_empty() {
        return out.into();
    }
    let reading = |l: &LevelSight| Reading {
        at: plane.to_plane(l.at),
        level: l.level.value(),
        below: l.below,
        device: l.device,
    };
    let readings: Vec<Reading> = problem.levels.iter().map(reading).collect();
    out.push(match problem.memory {
        Some(memory) => memory.levels(readings, &options.levels, problem.threads),
        None => Arc::new(Remembered::of_levels(&readings, &options.levels, problem.threads)),
    });
    out.into()
}

/// A team is told from the others by its compass if it took at least so many bearings; the rest count as one team.
const LEAST_OF_TEAM: usize = 3;

/// At most so many teams have a compass each, those with the most bearings.
const MOST_TEAMS: usize = 6;

/// Whose compass each bearing was read from, counted from zero.
fn crews(bearings: &[TrueBearing]) -> Vec<usize> {
    let team = |b: &TrueBearing| b.read().team.clone().unwrap_or_default();
    let mut counts: Vec<(usize, String)> = Vec::new();
    for name in bearings.iter().map(team) {
        match counts.iter_mut().find(|c| c.1 == name) {
            Some(count) => count.0 += 1,
            None => counts.push((1, name)),
        }
    }
    // Stable: teams of as many bearings stay in the order of the notes.
    counts.sort_by_key(|c| std::cmp::Reverse(c.0));
    let own: Vec<String> =
        counts.into_iter().filter(|c| c.0 >= LEAST_OF_TEAM).take(MOST_TEAMS).map(|c| c.1).collect();
    let whose: Vec<usize> =
        bearings.iter().map(|b| own.iter().position(|name| *name == team(b)).unwrap_or(own.len())).collect();
    // Without any such team all bearings belong to the rest, which is then the first.
    let first = whose.iter().copied().min().unwrap_or(0);
    whose.into_iter().map(|w| w - first).collect()
}

fn sight(bearing: &TrueBearing, whose: usize, plane: &Plane, options: &Options) -> Sight {
    let read = bearing.read();
    let at = plane.to_plane(read.stand.at);
    let direction = plane.azimuth_in_plane(read.stand.at, bearing.azimuth()).to_radians();
    let (sigma, spread) = quality(read, options);
    let (foreign_odds, reversed) = evidence(read, options);
    let shared = bearing.shared_sigma().map_or(0.0, |s| s.to_radians());
    let habit = match read.quality {
        Quality::Unstated => options.unstated_shared.to_radians(),
        _ => 0.0,
    };
    Sight {
        east: at.east,
        north: at.north,
        place: read.stand.at,
        sin: direction.sin(),
        cos: direction.cos(),
        azimuth: bearing.azimuth().to_radians(),
        sigma,
        spread,
        unstated: matches!(read.quality, Quality::Unstated),
        position: read.stand.sigma.unwrap_or(options.position).to_metres().powi(2),
        shared: shared.hypot(habit),
        foreign_odds,
        reversed,
        whose,
    }
}

/// Sigma in radians and the spread of its logarithm.
fn quality(read: &ReadBearing, options: &Options) -> (f64, f64) {
    match read.quality {
        Quality::Sigma(sigma) => (sigma.to_radians(), options.sigma_spread),
        Quality::Class(class) => (class.sigma().to_radians(), options.class_spread),
        Quality::Unstated => (options.unstated.to_radians(), options.unstated_spread),
    }
}

/// What the front and back levels say: factor on the odds of being foreign, and probability of being reversed.
///
/// Front minus back is taken as 12 ± 4 dB on a direct path, 4 ± 4 dB on a reflection and −12 ± 6 dB (against
/// +12 ± 6 dB) with front and back confused; each likelihood ratio is capped, at 5 and at 20 (50 when the back
/// is the stronger), since antennas differ. Common practice, no source.
fn evidence(read: &ReadBearing, options: &Options) -> (f64, f64) {
    // Without a sense antenna one direction is as likely as its reverse, and there is no front to compare.
    if read.two_way {
        return (1.0, 0.5);
    }
    let prior = options.reversed / (1.0 - options.reversed);
    let (Some(front), Some(back)) = (read.front, read.back) else {
        return (1.0, options.reversed);
    };
    let ratio = (front - back).value();
    let foreign = (4.0 - 0.5 * ratio).exp().clamp(0.2, 5.0);
    let odds = prior * (-2.0 / 3.0 * ratio).exp().clamp(0.05, 50.0);
    (foreign, odds / (1.0 + odds))
}

/// The miss of a bearing from the direction of `place`, by the geodesic azimuth at the stand, with the distance.
pub fn geodesic_miss(sight: &Sight, place: Place) -> (f64, f64) {
    let course = crate::geodesy::course(sight.place, place);
    let miss = Angle::radians(sight.azimuth).miss_from(course.departure);
    (miss.to_radians(), course.distance.value())
}
