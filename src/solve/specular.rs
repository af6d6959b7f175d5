//! Bearings that point at the emitter's mirror image: with the façades of a map, a bearing that disagrees with the others may turn
//! out to say where the emitter is after all.
//!
//! A plane front shows an emitter at its mirror image, to those stands for which the line to the image cuts the façade from outside
//! ([`crate::sources::FONTAN2008`]). With P the place, a foreign bearing has the density m Σ_f w_f(P) f(Δ_f(P)) + (1 − m)/2π: w_f the
//! share of façade f among those that show an image at its stand, greater for short ways and for ways in view, and f the lobe of
//! the bearing's own error. It is averaged over the posterior of P.
//!
//! A bearing of the image from a stand is a bearing of the emitter from the stand's own mirror image. So a place that counts it is
//! found like any other.

use nalgebra::Vector2;

use crate::{
    geodesy::{Place, Plane, PlanePoint},
    solve::{
        density::Density,
        fit::{Fit, solved},
        front::lobe,
        options::Loss,
        record::{Record, Verdict, even},
        scene::{Scene, Sight},
        turns::{missed, turns},
    },
    streets::Facade,
    units::Angle,
};

/// What a map's façades say of bearings that disagree.
#[derive(Clone, Debug)]
pub struct Specular {
    /// Those that a reflection explains.
    pub bounces: Vec<Bounce>,
    /// Those that none does: numbers of bearings.
    pub unexplained: Vec<usize>,
    /// The fit with the explained ones counted as reflections; `None` where there are none.
    pub fit: Option<Fit>,
}

/// A bearing that points at the emitter's mirror image.
#[derive(Clone, Debug)]
pub struct Bounce {
    /// Number of the bearing, in the order given.
    pub bearing: usize,
    /// The façade that explains it best.
    pub facade: Facade,
    /// Where on it the wave is thrown.
    pub point: Place,
    /// Measured minus the direction of that mirror image, the error of the crew's compass taken off.
    pub miss: Angle,
    /// Probability that it is a reflection of the emitter on any façade of the map, rather than from anywhere.
    pub probability: f64,
    /// Probability that it is one on this façade.
    pub of_this: f64,
}

/// Prior probability that a foreign bearing comes by one reflection on a façade that the map shows. Common practice, no source.
const ON_THE_MAP: f64 = 0.5;

/// A bearing is told as a reflection from this probability on.
const TOLD: f64 = 0.75;

/// Weight of a façade that other buildings hide from the emitter or the stand, against one in view: waves pass over roofs. Common
/// practice, no source.
const HIDDEN: f64 = 0.1;

/// Places that stand for the posterior.
const SAMPLES: usize = 64;

/// Façades that are looked at, at most: the nearest ones.
const MOST_FACADES: usize = 20_000;

/// Bearings that are looked at, at most.
const MOST_BEARINGS: usize = 40;

/// Error of a façade's place on a map, one standard deviation, metres. Common practice, no source.
const MAPPED_M: f64 = 2.0;

/// Mean share of foreign bearings at which the odds of a mirrored bearing are stated.
const USUAL: f64 = 0.1;

/// A façade on the plane of a scene; outside lies to the left of the way from `a` to `b`.
#[derive(Clone, Copy)]
struct Wall {
    index: usize,
    a: Vector2<f64>,
    b: Vector2<f64>,
}

/// A mirror image.
struct Image {
    /// Where on the façade the wave is thrown.
    point: Vector2<f64>,
    /// The image.
    at: Vector2<f64>,
}

/// Tries the façades of a map on the bearings that `record` calls foreign; `bearings` and `record` are those of the fit. `None` with a
/// classic loss, without foreign bearings or façades, or beyond 100 km, where the plane ends.
pub fn specular(fit: &Fit, record: &Record, facades: &[Facade]) -> Option<Specular> {
    let scene = &fit.scene;
    let foreign: Vec<usize> = (0..scene.sights.len())
        .filter(|i| record.residuals.get(*i).is_some_and(|r| r.verdict == Verdict::Foreign))
        .take(MOST_BEARINGS)
        .collect();
    let possible = scene.flat && fit.options.loss == Loss::Mixture;
    let walls = walls(fit, facades);
    if !possible || foreign.is_empty() || walls.is_empty() {
        return None;
    }
    let density = Density::new(scene, &fit.options);
    let turns = turns(fit, &density);
    let samples: Vec<(Vector2<f64>, f64)> =
        even(fit.mesh(), SAMPLES).into_iter().map(|(p, share)| (Vector2::new(p[0], p[1]), share)).collect();
    let (mut bounces, mut unexplained, mut mirrored) = (Vec::new(), Vec::new(), scene.clone());
    for i in foreign {
        let sight = &scene.sights[i];
        let judged = Judged::of(sight, turns[sight.whose], &walls, &samples);
        match judged.filter(|j| j.any >= TOLD) {
            Some(judged) => {
                mirrored.sights[i] = judged.seen(sight, turns[sight.whose], &scene.plane);
                bounces.push(judged.told(i, sight, turns[sight.whose], scene, facades));
            }
            None => unexplained.push(i),
        }
    }
    let found = !bounces.is_empty();
    Some(Specular { bounces, unexplained, fit: found.then(|| solved(mirrored, &fit.options)) })
}

/// The façades about the place on the plane of a fit, the nearest first: beyond twice the farthest stand's distance none matters.
fn walls(fit: &Fit, facades: &[Facade]) -> Vec<Wall> {
    let scene = &fit.scene;
    let [east, north] = fit.point_of(fit.quoted());
    let place = Vector2::new(east, north);
    let range = |s: &Sight| (Vector2::new(s.east, s.north) - place).norm();
    let reach = 300.0 + 2.0 * scene.sights.iter().map(range).fold(0.0, f64::max);
    let on_plane = |p: Place| {
        let p = scene.plane.to_plane(p);
        Vector2::new(p.east, p.north)
    };
    let mut near: Vec<(f64, Wall)> = facades
        .iter()
        .enumerate()
        .map(|(index, f)| Wall { index, a: on_plane(f.ends[0]), b: on_plane(f.ends[1]) })
        .map(|w| ((0.5 * (w.a + w.b) - place).norm(), w))
        .filter(|(distance, _)| *distance < reach)
        .collect();
    near.sort_by(|a, b| a.0.total_cmp(&b.0));
    near.truncate(MOST_FACADES);
    near.into_iter().map(|(_, wall)| wall).collect()
}

impl Wall {
    /// Distance of a point outside of the façade's line; negative inside.
    fn outside(&self, p: &Vector2<f64>) -> f64 {
        let way = self.b - self.a;
        way.perp(&(p - self.a)) / way.norm()
    }

    /// A point mirrored in the façade's line.
    fn mirror(&self, p: &Vector2<f64>) -> Vector2<f64> {
        let way = self.b - self.a;
        p - Vector2::new(-way.y, way.x) * (2.0 * self.outside(p) / way.norm())
    }

    /// The image of an emitter that the façade shows to a stand; `None` unless both lie outside and the wave meets the façade
    /// between its ends.
    fn image(&self, emitter: &Vector2<f64>, stand: &Vector2<f64>) -> Option<Image> {
        let (e, s) = (self.outside(emitter), self.outside(stand));
        if e <= 0.0 || s <= 0.0 {
            return None;
        }
        let way = self.b - self.a;
        let along = |p: &Vector2<f64>| way.dot(&(p - self.a)) / way.norm_squared();
        let share = along(emitter) + e / (e + s) * (along(stand) - along(emitter));
        let image = || Image { point: self.a + share * way, at: self.mirror(emitter) };
        (0.0..=1.0).contains(&share).then(image)
    }

    /// Whether it stands in the way from one point to another.
    fn blocks(&self, from: &Vector2<f64>, to: &Vector2<f64>) -> bool {
        let side = |a: &Vector2<f64>, b: &Vector2<f64>, p: &Vector2<f64>| (b - a).perp(&(p - a));
        side(from, to, &self.a) * side(from, to, &self.b) < 0.0
            && side(&self.a, &self.b, from) * side(&self.a, &self.b, to) < 0.0
    }
}

/// How much a way over a façade counts against others: its strength falls with the square of its length, and what stands in it takes
/// most of it away.
fn strength(
    walls: &[Wall],
    which: usize,
    image: &Image,
    emitter: &Vector2<f64>,
    stand: &Vector2<f64>,
) -> f64 {
    // A hand's breadth before the façade, so that it does not hide itself.
    let before =
        |p: &Vector2<f64>| image.point + (p - image.point) * (0.1 / (p - image.point).norm()).min(1.0);
    let blocked = |p: &Vector2<f64>| {
        let end = before(p);
        walls.iter().enumerate().any(|(k, w)| k != which && w.blocks(p, &end))
    };
    let hidden = if blocked(emitter) || blocked(stand) { HIDDEN } else { 1.0 };
    hidden * (emitter - stand).norm_squared() / (image.at - stand).norm_squared().max(1.0)
}

/// A foreign bearing against all façades.
struct Judged {
    wall: Wall,
    /// Probability of a reflection on any façade, and on this one.
    any: f64,
    this: f64,
    /// Prior share of this façade among those that show an image.
    prior: f64,
    /// A place of the emitter from which this façade explains the bearing.
    from: Vector2<f64>,
}

impl Judged {
    /// `None` where no façade shows an image to the stand.
    fn of(sight: &Sight, turn: f64, walls: &[Wall], samples: &[(Vector2<f64>, f64)]) -> Option<Self> {
        let stand = Vector2::new(sight.east, sight.north);
        let loose = Sight { position: sight.position + MAPPED_M.powi(2), ..sight.clone() };
        let mut totals = vec![0.0; samples.len()];
        // Wall, sample, weight, density.
        let mut shown: Vec<(usize, usize, f64, f64)> = Vec::new();
        for (k, wall) in walls.iter().enumerate() {
            let mut weight = None;
            for (s, (place, _)) in samples.iter().enumerate() {
                let Some(image) = wall.image(place, &stand) else { continue };
                let w = *weight.get_or_insert_with(|| strength(walls, k, &image, place, &stand));
                totals[s] += w;
                shown.push((k, s, w, lobe(&loose, &image.at, turn.sin_cos())));
            }
        }
        let mut densities = vec![(0.0, 0.0); walls.len()];
        for (k, s, w, density) in &shown {
            let share = samples[*s].1 * w / totals[*s];
            densities[*k].0 += share * density;
            densities[*k].1 += share;
        }
        let best = (0..walls.len()).max_by(|a, b| densities[*a].0.total_cmp(&densities[*b].0))?;
        let any: f64 = densities.iter().map(|d| d.0).sum();
        let whole = ON_THE_MAP * any + (1.0 - ON_THE_MAP) / std::f64::consts::TAU;
        let of_best = shown.iter().filter(|(k, ..)| *k == best);
        let from = of_best.max_by(|a, b| (samples[a.1].1 * a.3).total_cmp(&(samples[b.1].1 * b.3)))?.1;
        Some(Self {
            wall: walls[best],
            any: ON_THE_MAP * any / whole,
            this: ON_THE_MAP * densities[best].0 / whole,
            prior: ON_THE_MAP * densities[best].1,
            from: samples[from].0,
        })
    }

    /// The bearing as its stand's mirror image sees it. Mirrored, an error of the compass turns the other way; what the crew's is
    /// known to be is set right beforehand.
    fn seen(&self, sight: &Sight, turn: f64, plane: &Plane) -> Sight {
        let stand = self.wall.mirror(&Vector2::new(sight.east, sight.north));
        let way = (self.wall.b - self.wall.a).normalize();
        let azimuth = sight.sin.atan2(sight.cos) + turn;
        let toward = Vector2::new(azimuth.sin(), azimuth.cos());
        let mirrored = 2.0 * way.dot(&toward) * way - toward;
        let azimuth = mirrored.x.atan2(mirrored.y) - turn;
        let prior = self.prior.clamp(1e-6, 1.0 - 1e-6);
        Sight {
            east: stand.x,
            north: stand.y,
            place: plane.to_place(PlanePoint { east: stand.x, north: stand.y }),
            sin: azimuth.sin(),
            cos: azimuth.cos(),
            azimuth,
            position: sight.position + MAPPED_M.powi(2),
            foreign_odds: (1.0 - prior) / prior * (1.0 - USUAL) / USUAL,
            ..sight.clone()
        }
    }

    fn told(&self, bearing: usize, sight: &Sight, turn: f64, scene: &Scene, facades: &[Facade]) -> Bounce {
        let stand = Vector2::new(sight.east, sight.north);
        let image = self.wall.mirror(&self.from);
        let point = self.wall.image(&self.from, &stand).map_or(self.wall.a, |i| i.point);
        Bounce {
            bearing,
            facade: facades[self.wall.index].clone(),
            point: scene.place(point.x, point.y),
            miss: Angle::radians(missed(sight, &image).0 + turn).wrapped(),
            probability: self.any,
            of_this: self.this,
        }
    }
}
