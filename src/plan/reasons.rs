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
    /// Direct bearings: identifier, direction from the stand to the goal and stand's azimuth seen from the goal, cross-range error.
    lines: Vec<(String, f64, f64)>,
}

impl Geometry {
    pub fn new(fit: &Fit, bearings: &[TrueBearing], residuals: &[Residual], goal: PlanePoint) -> Self {
        let place = fit.plane().to_place(goal);
        let direct = bearings.iter().zip(residuals).filter(|(_, r)| r.verdict == Verdict::Direct);
        let lines = direct.map(|(b, r)| {
            let way = course(b.read().stand.at, place);
            let error = r.sigma.to_radians() * way.distance.value();
            (r.id.clone(), way.departure.to_radians(), error)
        });
        Self { goal, axis: None, open: None, lines: lines.collect() }
    }

    /// Direction from a stand to the goal, radians on the plane.
    pub fn toward(&self, stand: PlanePoint) -> f64 {
        (self.goal.east - stand.east).atan2(self.goal.north - stand.north)
    }

    /// The cut with the best of the earlier bearings.
    pub fn cut(&self, stand: PlanePoint) -> Option<Cut> {
        let (id, direction, _) = self.lines.iter().min_by(|a, b| a.2.total_cmp(&b.2))?;
        Some(Cut { id: id.clone(), angle: Angle::radians(across(self.toward(stand) - direction)) })
    }

    pub fn why(&self, stand: PlanePoint) -> Why {
        let toward = self.toward(stand);
        if let Some(open) = self.open.filter(|o| across(toward - o.to_radians()) >= 0.5) {
            return Why::ClosesOpen(open);
        }
        let lonely = |line: &(String, f64, f64)| {
            Angle::radians(toward).miss_from(Angle::radians(line.1)).to_radians().abs()
        };
        let alone = self.lines.iter().map(lonely).fold(f64::INFINITY, f64::min);
        match self.axis {
            _ if alone >= 60f64.to_radians() && self.lines.len() > 1 => Why::OpenSide,
            Some((azimuth, ratio)) if ratio > 1.5 && across(toward - azimuth) >= 0.8 => Why::AcrossLongAxis,
            _ => Why::Nearer,
        }
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
