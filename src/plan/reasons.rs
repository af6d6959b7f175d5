//! Why a stand is proposed.

use crate::{
    geodesy::{PlanePoint, course},
    north::TrueBearing,
    solve::{Fit, Residual, Verdict},
    units::{Angle, Metres},
};

/// What a bearing from a stand does for the fix.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Why {
    /// It crosses the direction in which the region is open, from true north.
    ClosesOpen(Angle),
    /// It looks in from a side from which nobody has looked yet.
    OpenSide,
    /// It crosses the longer axis of the region.
    AcrossLongAxis,
    /// It widens the angle under which the lines meet.
    Wider,
    /// It is nearer: the same error of the compass is fewer metres there.
    Nearer,
}

/// The angle at which a bearing from a stand cuts an earlier one.
#[derive(Clone, Debug, PartialEq)]
pub struct Cut {
    /// The earlier bearing.
    pub id: String,
    /// The angle, 0° to 90°.
    pub angle: Angle,
}

/// What is known of the geometry, for reasons.
pub struct Geometry {
    /// Middle of the posterior.
    pub goal: PlanePoint,
    /// Azimuth of the longer axis on the plane, and its length over the shorter one.
    pub axis: Option<(f64, f64)>,
    /// Where the region is open.
    pub open: Option<Angle>,
    lines: Vec<Line>,
}

/// A direct bearing.
struct Line {
    id: String,
    /// Direction from its stand to the goal, radians.
    toward: f64,
    /// Cross-range error there, metres.
    error: f64,
}

/// A bearing opens the angle of the lines only by more than this, 8°.
const LEAST_OPENING: f64 = 0.14;

impl Geometry {
    pub fn new(fit: &Fit, bearings: &[TrueBearing], residuals: &[Residual], goal: PlanePoint) -> Self {
        let place = fit.plane().to_place(goal);
        let direct = bearings.iter().zip(residuals).filter(|(_, r)| r.verdict == Verdict::Direct);
        let lines = direct.map(|(b, r)| {
            let way = course(b.read().stand.at, place);
            let error = r.sigma.to_radians() * way.distance.value();
            Line { id: r.id.clone(), toward: way.departure.to_radians(), error }
        });
        Self { goal, axis: None, open: None, lines: lines.collect() }
    }

    /// Direction from a stand to the goal, radians on the plane.
    pub fn toward(&self, stand: PlanePoint) -> f64 {
        (self.goal.east - stand.east).atan2(self.goal.north - stand.north)
    }

    /// The cut with the best of the earlier bearings.
    pub fn cut(&self, stand: PlanePoint) -> Option<Cut> {
        let best = self.lines.iter().min_by(|a, b| a.error.total_cmp(&b.error))?;
        Some(Cut { id: best.id.clone(), angle: Angle::radians(across(self.toward(stand) - best.toward)) })
    }

    pub fn why(&self, stand: PlanePoint) -> Why {
        let toward = self.toward(stand);
        let wider = |line: f64| across(toward - line) > self.opening().max(LEAST_OPENING);
        if let Some(open) = self.open.filter(|o| wider(o.to_radians())) {
            return Why::ClosesOpen(open);
        }
        let lonely = |line: &Line| across_way(toward, line.toward);
        let alone = self.lines.iter().map(lonely).fold(f64::INFINITY, f64::min);
        match self.axis {
            _ if alone >= 60f64.to_radians() && self.lines.len() > 1 => Why::OpenSide,
            Some((azimuth, ratio)) if ratio > 1.5 && across(toward - azimuth) >= 0.8 => Why::AcrossLongAxis,
            Some((azimuth, _)) if wider(azimuth) => Why::Wider,
            _ => Why::Nearer,
        }
    }

    /// The widest angle under which two lines meet so far.
    fn opening(&self) -> f64 {
        let pairs = self.lines.iter().enumerate();
        let angles =
            pairs.flat_map(|(i, a)| self.lines[..i].iter().map(move |b| across(a.toward - b.toward)));
        angles.fold(0.0, f64::max)
    }

    /// Distance of a stand from the goal.
    pub fn range(&self, stand: PlanePoint) -> Metres {
        Metres::new((self.goal.east - stand.east).hypot(self.goal.north - stand.north))
    }
}

/// The angle between two lines, 0 to π/2, from the difference of their directions.
fn across(turn: f64) -> f64 {
    turn.sin().abs().atan2(turn.cos().abs())
}

/// The angle between two directions, 0 to π.
fn across_way(a: f64, b: f64) -> f64 {
    Angle::radians(a).miss_from(Angle::radians(b)).to_radians().abs()
}
