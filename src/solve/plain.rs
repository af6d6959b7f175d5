//! The plain fix: a place on a plane from bearings with known errors, by the customary methods.
//!
//! No prior of the place, no foreign or reversed bearings, no region: the figures that textbooks print, for comparison
//! with the posterior of [`super::fit`] and for checks against published values. Every method works on the misses
//! mᵢ = azᵢ + c − a(x − sᵢ), wrapped to (−π, π], with azᵢ the bearing read at stand sᵢ, a the azimuth of the place x
//! seen from there, and c a correction that all bearings share (zero unless [`PlainProblem::with_offset`] frees it).
//!
//! | method | what is least | source |
//! |---|---|---|
//! | [`Method::Pseudolinear`] | Σ (distance of the place from line i)² | none: plain geometry |
//! | [`Method::Stansfield`] | the same with weights 1/(σᵢ rᵢ)² at the place itself | [`crate::sources::STANSFIELD1947`] |
//! | [`Method::StansfieldOnce`] | the same with weights at the pseudolinear place | [`crate::sources::STANSFIELD1947`] |
//! | [`Method::Gaussian`] | Σ ½ (mᵢ/σᵢ)²: maximum likelihood of normal errors | [`crate::sources::GAVISH1992`] |
//! | [`Method::VonMises`] | Σ (1 − cos mᵢ)/σᵢ²: maximum likelihood on the circle | [`crate::sources::LENTH1981`] |
//! | [`Method::Robust`] | Σ ρ(mᵢ/σᵢ) with a loss of [`crate::numeric::loss`] | [`crate::sources::HUBER1964`] |
//!
//! The last three are solved by damped Newton steps on exact derivatives ([`crate::numeric::least_squares`]), from the cuts
//! of pairs of lines. The linear ones know no front and back and are biased toward the stands, however many bearings
//! there are: 2.2 times the error of maximum likelihood with 50 bearings of 4° from a base of 1 km at 1.5 km (measured
//! in `tests/plain`).

mod blocks;
pub mod levels;
mod linear;
mod local;
mod penalty;
mod search;
mod turn;

use nalgebra::Vector2;

use crate::{
    geodesy::PlanePoint,
    numeric::loss::{HUBER, Loss},
    units::{Angle, Sigma},
};
use blocks::Blocks;
use penalty::{Gaussian, Robust, VonMises};
use search::Start;

/// A bearing as a line on the plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Where it was taken.
    pub stand: PlanePoint,
    /// Direction clockwise from the plane's north; any finite value.
    pub azimuth: Angle,
    /// One standard deviation of the direction.
    pub sigma: Sigma<Angle>,
}

/// How the place is found; the table in the [module](self) says what each makes least.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Method {
    /// Least sum of squared distances from the lines, all alike.
    Pseudolinear,
    /// The same, each line weighted by the inverse square of its error at the place, in metres: a fixed point.
    Stansfield,
    /// The same with the weights taken once, at the pseudolinear place: the customary short cut.
    StansfieldOnce,
    /// Maximum likelihood of normal errors.
    Gaussian,
    /// Maximum likelihood of errors of von Mises' distribution with concentration 1/σ².
    VonMises,
    /// A loss of the standardised miss, with the stated errors taken as exact.
    Robust(Loss),
}

/// Why there is no plain fix.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum PlainError {
    /// Fewer than two lines.
    TooFew {
        /// Lines given.
        have: usize,
    },
    /// A coordinate or an azimuth is not a finite number.
    NotFinite {
        /// Index of the line.
        line: usize,
    },
    /// All lines run the same way to within a millionth of a radian: they cut nowhere.
    Parallel,
    /// The search ran into a stand. From a metre away the azimuth is free, so that a place there explains any bearing
    /// of that stand: such a place is never an answer.
    OnStand,
    /// The misses have no minimum anywhere near: as the place goes away they shrink on and on. So with lines that run
    /// apart.
    NoMinimum,
}

impl std::fmt::Display for PlainError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::TooFew { have } => write!(f, "{have} line(s), and a place needs at least 2"),
            Self::NotFinite { line } => {
                write!(f, "line {line} has a coordinate or azimuth that is no number")
            }
            Self::Parallel => write!(f, "the lines are parallel, and cut nowhere"),
            Self::OnStand => write!(f, "the lines lead to a stand, where an azimuth means nothing"),
            Self::NoMinimum => {
                write!(f, "the lines run apart: no place fits better than one still farther away")
            }
        }
    }
}

impl std::error::Error for PlainError {}

/// A plain fix.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlainFix {
    /// The place.
    pub at: PlanePoint,
    /// Linear covariance of the place, square metres (east-east, east-north, north-north): (JᵀWJ)⁻¹ at the place, with
    /// wᵢ = ω(mᵢ/σᵢ)/σᵢ² and ω the weight of a robust loss, 1 for the other methods; a freed offset is accounted for.
    pub covariance: [f64; 3],
    /// Σ wᵢ mᵢ², with the prior of a freed offset as one more term.
    pub chi_square: f64,
    /// Lines less two; a freed offset costs none, for its prior counts as an observation.
    pub freedom: u32,
    /// What has to be added to all bearings, when that was freed.
    pub offset: Option<Angle>,
    /// What the method makes least, at the place (square metres for the pseudolinear one, else a pure number); for
    /// comparing fits of the same lines by the same method.
    pub cost: f64,
    /// Steps tried.
    pub steps: u32,
}

/// Lines laid out for solving: the trigonometry is done, and the origin moved to the middle of the stands.
#[derive(Clone, Debug)]
pub struct PlainProblem {
    centre: Vector2<f64>,
    blocks: Blocks,
    offset: Option<Sigma<Angle>>,
}

impl PlainProblem {
    /// Lays the lines out.
    ///
    /// # Errors
    /// [`PlainError::TooFew`], [`PlainError::NotFinite`].
    pub fn new(lines: &[Line]) -> Result<Self, PlainError> {
        if lines.len() < 2 {
            return Err(PlainError::TooFew { have: lines.len() });
        }
        let finite = |l: &Line| (l.stand.east + l.stand.north + l.azimuth.to_radians()).is_finite();
        if let Some(line) = lines.iter().position(|l| !finite(l)) {
            return Err(PlainError::NotFinite { line });
        }
        let sum: Vector2<f64> = lines.iter().map(|l| Vector2::new(l.stand.east, l.stand.north)).sum();
        let centre = sum / lines.len() as f64;
        Ok(Self { centre, blocks: Blocks::new(lines, centre), offset: None })
    }

    /// Frees a correction that is added to all bearings alike, such as a common error of north, with a normal prior of
    /// mean zero and this deviation. The linear methods leave it at zero.
    pub fn with_offset(self, prior: Sigma<Angle>) -> Self {
        Self { offset: Some(prior), ..self }
    }

    /// The place of the least cost, from several starts: the pseudolinear place and the cuts of the lines that fit best,
    /// and for a loss that lets go of far lines also the place by Huber's, which does not.
    ///
    /// # Errors
    /// [`PlainError::Parallel`] for every method; [`PlainError::OnStand`] or [`PlainError::NoMinimum`] when no start
    /// leads to a place.
    pub fn solve(&self, method: Method) -> Result<PlainFix, PlainError> {
        let middle = self.middle()?;
        match method {
            Method::Pseudolinear => self.pseudolinear(middle),
            Method::Stansfield => self.stansfield(middle),
            Method::StansfieldOnce => self.stansfield_once(middle),
            Method::Gaussian => self.best(Gaussian, Start::at(middle), None),
            Method::VonMises => self.best(VonMises, Start::at(middle), None),
            Method::Robust(loss) => {
                let lets_go = !matches!(loss, Loss::Squared | Loss::Huber(_));
                let huber = lets_go.then(|| self.best(Robust(Loss::Huber(HUBER)), Start::at(middle), None));
                let held = huber.and_then(Result::ok).map(|fix| Start {
                    at: self.inward(fix.at),
                    shift: fix.offset.map_or(0.0, Angle::to_radians),
                });
                self.best(Robust(loss), Start::at(middle), held)
            }
        }
    }

    /// The minimum that the steps from `start` lead to: fast, and right where the start is near. The linear methods
    /// need no start and ignore it.
    ///
    /// # Errors
    /// [`PlainError::OnStand`], also where `start` is within a metre of a stand; [`PlainError::NoMinimum`];
    /// [`PlainError::Parallel`] for the linear methods.
    pub fn polish(&self, method: Method, start: PlanePoint) -> Result<PlainFix, PlainError> {
        let start = Start::at(self.inward(start));
        match method {
            Method::Pseudolinear | Method::Stansfield | Method::StansfieldOnce => self.solve(method),
            Method::Gaussian => self.descend(Gaussian, start),
            Method::VonMises => self.descend(VonMises, start),
            Method::Robust(loss) => self.descend(Robust(loss), start),
        }
    }

    fn inward(&self, p: PlanePoint) -> Vector2<f64> {
        Vector2::new(p.east, p.north) - self.centre
    }

    fn outward(&self, east: f64, north: f64) -> PlanePoint {
        PlanePoint { east: east + self.centre.x, north: north + self.centre.y }
    }
}
