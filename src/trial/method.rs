//! What is tried on each scene, and what came of it.

use crate::{
    check,
    geodesy::{Place, course},
    north,
    numeric::loss::{HUBER, Loss},
    observe::{Level, LevelReading, Quality, ReadBearing},
    region::Region,
    solve::{
        self, Fit, Options, Problem,
        plain::{
            self, Line, PlainProblem,
            levels::{Law, PlainLevels, Reading},
        },
    },
    trial::{
        CONFIDENCES, CONFIDENT,
        draw::{Drawn, Evidence},
    },
    units::{Confidence, Db, Sigma},
};

/// How a place is found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Method {
    /// What `azimark locate` answers with: the posterior as delivered ([`crate::solve::fit`]).
    Posterior,
    /// Least squares with the stated errors and the customary ellipse ([`crate::solve::plain`]); of a walk all readings above
    /// the floor, with 6 dB each.
    LeastSquares,
    /// The same with Huber's loss.
    Huber,
}

/// What a method made of a scene. Numbers are rounded, so that they survive being written down.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// By which method.
    pub method: Method,
    /// Distance of the quoted place from the emitter, metres; `None` where there is no place.
    pub miss: Option<f64>,
    /// Whether one place alone is claimed: the first place holds more than [`CONFIDENT`]; a plain method always claims one.
    pub confident: bool,
    /// For each of [`CONFIDENCES`] whether the region holds the emitter, and its area in square metres; `None` where none is
    /// given.
    pub regions: [Option<(bool, f64)>; 4],
    /// Milliseconds that it took.
    pub ms: f64,
}

impl Method {
    /// All methods, in the order of tables.
    pub const ALL: [Self; 3] = [Self::Posterior, Self::LeastSquares, Self::Huber];

    /// Its name.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Posterior => "posterior",
            Self::LeastSquares => "least squares",
            Self::Huber => "Huber",
        }
    }

    /// The method of a name.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|method| method.word() == word)
    }

    /// Tries it on a scene; `clock` gives seconds.
    pub fn on(self, drawn: &Drawn, clock: &dyn Fn() -> f64) -> Found {
        let began = clock();
        let answer = match (self, &drawn.evidence) {
            (Self::Posterior, evidence) => posterior(evidence, &drawn.truths),
            (_, Evidence::Bearings(read)) => self.lines(read, drawn),
            (_, Evidence::Levels(readings)) => regression(readings, drawn),
        };
        let (miss, confident, regions) = answer.unwrap_or_default();
        let round = |x: f64, per: f64| (x * per).round() / per;
        Found {
            method: self,
            miss: miss.map(|m| round(m, 1e3)),
            confident,
            regions: regions.map(|r| r.map(|(held, area)| (held, round(area, 10.0)))),
            ms: round(1e3 * (clock() - began), 1e3),
        }
    }

    fn lines(self, read: &[ReadBearing], drawn: &Drawn) -> Option<Answer> {
        let bearings = north::resolve(read, &north::Settings::default()).bearings;
        let lines: Vec<Line> = bearings
            .iter()
            .filter_map(|b| {
                let stand = b.read().stand.at;
                let azimuth = drawn.plane.azimuth_in_plane(stand, b.azimuth());
                let sigma = match b.read().quality {
                    Quality::Sigma(sigma) => sigma,
                    Quality::Class(class) => class.sigma(),
                    Quality::Unstated => return None,
                };
                Some(Line { stand: drawn.plane.to_plane(stand), azimuth, sigma })
            })
            .collect();
        let method = match self {
            Self::Huber => plain::Method::Robust(Loss::Huber(HUBER)),
            Self::LeastSquares | Self::Posterior => plain::Method::Gaussian,
        };
        let fix = PlainProblem::new(&lines).ok()?.solve(method).ok()?;
        Some(ellipse(drawn, [fix.at.east, fix.at.north], fix.covariance))
    }
}

/// Miss, confidence, regions.
type Answer = (Option<f64>, bool, [Option<(bool, f64)>; 4]);

fn posterior(evidence: &Evidence, truths: &[Place]) -> Option<Answer> {
    let options = Options::default();
    let fit = match evidence {
        Evidence::Bearings(read) => {
            let bearings = north::resolve(read, &north::Settings::default()).bearings;
            solve::fit(&Problem { bearings: &bearings, ..Problem::default() }, &options)
        }
        Evidence::Levels(readings) => {
            let labelled = check::levels(readings, &[]);
            let usable = check::usable(readings, &labelled.labels);
            let levels = solve::levels::sights(&usable.levels);
            solve::fit(&Problem { levels: &levels, ..Problem::default() }, &options)
        }
    };
    fit.ok().map(|fit| regions(&fit, truths))
}

fn regions(fit: &Fit, truths: &[Place]) -> Answer {
    let confidences: Vec<Confidence> = CONFIDENCES.iter().filter_map(|c| Confidence::fraction(*c)).collect();
    let mut out = [None; 4];
    for (slot, region) in out.iter_mut().zip(Region::several(fit, &confidences)) {
        let held = |r: &Region| truths.iter().any(|t| r.holds(fit, *t));
        *slot = region.ok().map(|r| (held(&r), r.area().value()));
    }
    let quoted = fit.quoted();
    let misses = truths.iter().map(|t| course(quoted, *t).distance.value());
    let confident = fit.modes().first().is_some_and(|m| m.share > CONFIDENT);
    (misses.reduce(f64::min), confident, out)
}

/// A place with its linear covariance: the ellipses of a normal distribution, P = 1 − exp(−d²/2).
fn ellipse(drawn: &Drawn, at: [f64; 2], [ee, en, nn]: [f64; 3]) -> Answer {
    let determinant = ee * nn - en * en;
    let sound = determinant > 0.0 && determinant.is_finite();
    let apart = |t: &Place| {
        let p = drawn.plane.to_plane(*t);
        (at[0] - p.east, at[1] - p.north)
    };
    let square = |(x, y): (f64, f64)| (nn * x * x - 2.0 * en * x * y + ee * y * y) / determinant;
    let regions = CONFIDENCES.map(|confidence| {
        let limit = -2.0 * (1.0 - confidence).ln();
        let held = drawn.truths.iter().any(|t| square(apart(t)) <= limit);
        sound.then(|| (held, std::f64::consts::PI * limit * determinant.sqrt()))
    });
    let misses = drawn.truths.iter().map(|t| apart(t).0.hypot(apart(t).1));
    (misses.reduce(f64::min), sound, regions)
}

/// What a plain regression takes for the error of a level, in decibels. Common practice, no source.
const LEVEL_DB: f64 = 6.0;

fn regression(readings: &[LevelReading], drawn: &Drawn) -> Option<Answer> {
    let sigma = Sigma::<Db>::db(LEVEL_DB)?;
    let measured: Vec<Reading> = readings
        .iter()
        .filter_map(|r| match (r.at, r.level) {
            (Some(at), Level::Measured(level)) => {
                Some(Reading { at: drawn.plane.to_plane(at), level, sigma })
            }
            _ => None,
        })
        .collect();
    let fix = PlainLevels::new(&measured, &Law::default()).ok()?.solve().ok()?;
    Some(ellipse(drawn, [fix.at.east, fix.at.north], fix.place()))
}
