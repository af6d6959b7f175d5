//! Other ways in which north may have been treated before a bearing was written down: what an audit tries.

use crate::{
    finding::Finding,
    geodesy::{GridFrame, zone_of},
    north::{
        bearing::{Settings, TrueBearing},
        declination::declination,
    },
    observe::NorthReference,
    units::Angle,
};

/// A way to treat north that differs from what the notes state.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Treatment {
    /// Labelled true, but read from a compass: the declination is still to be added.
    DeclinationForgotten,
    /// Labelled true, but the declination was taken off instead of added.
    DeclinationWrongWay,
    /// Labelled magnetic, but already true: the declination would be added twice.
    DeclinationTwice,
    /// Labelled true, but read from the north of the map's grid.
    GridForTrue,
}

impl Treatment {
    /// What happened, in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::DeclinationForgotten => "the readings are magnetic and the declination was not added",
            Self::DeclinationWrongWay => "the declination was taken off instead of added",
            Self::DeclinationTwice => {
                "the readings are already true, so that the declination is now added twice"
            }
            Self::GridForTrue => "the readings are from grid north",
        }
    }
}

/// The bearings as they would be if north had been treated otherwise, by everybody or by one team.
#[derive(Clone, Debug)]
pub struct Hypothesis {
    /// What happened.
    pub treatment: Treatment,
    /// Whose bearings; `None` for all of that label.
    pub team: Option<String>,
    /// How many bearings are turned.
    pub turned: usize,
    /// By how much the first of them is turned, clockwise.
    pub by: Angle,
    /// All bearings of the problem, in their order.
    pub bearings: Vec<TrueBearing>,
}

/// Turns smaller than this are not worth trying: no hand-held bearing can tell them.
const LEAST_DEGREES: f64 = 1.0;

/// Every treatment that would turn some bearing by at least a degree, for all bearings and, where several teams took
/// part, for each team. A bearing without a date takes the date of `settings`; one with neither keeps its direction.
pub fn hypotheses(bearings: &[TrueBearing], settings: &Settings) -> Vec<Hypothesis> {
    let mut teams: Vec<&str> = bearings.iter().filter_map(|b| b.read().team.as_deref()).collect();
    teams.sort_unstable();
    teams.dedup();
    let several = teams.len() > 1;
    let each = teams.into_iter().filter(|_| several).map(Some);
    let whose: Vec<Option<&str>> = std::iter::once(None).chain(each).collect();
    let mut out: Vec<Hypothesis> = Vec::new();
    for treatment in [
        Treatment::DeclinationForgotten,
        Treatment::DeclinationWrongWay,
        Treatment::DeclinationTwice,
        Treatment::GridForTrue,
    ] {
        for team in &whose {
            out.extend(hypothesis(bearings, settings, treatment, *team));
        }
    }
    out
}

/// Says so when the bearings labelled true have no date at all, so that nobody can try whether a declination was
/// forgotten.
pub fn untried(bearings: &[TrueBearing], date: Option<jiff::civil::Date>) -> Option<Finding> {
    let dated = date.is_some() || bearings.iter().any(|b| b.read().civil_date().is_some());
    let labelled = bearings.iter().filter(|b| b.read().north == NorthReference::True).count();
    (!dated && labelled > 0).then(|| {
        let message = format!(
            "not tried: whether the declination was forgotten on {labelled} bearing(s) labelled true"
        );
        Finding::assumed("north-not-tried", message).hint("add --date 2026-03-17, the day they were taken")
    })
}

fn hypothesis(
    bearings: &[TrueBearing],
    settings: &Settings,
    treatment: Treatment,
    team: Option<&str>,
) -> Option<Hypothesis> {
    let (mut turned, mut by) = (0, None);
    let all: Vec<TrueBearing> = bearings
        .iter()
        .map(|bearing| {
            let concerned = team.is_none_or(|t| bearing.read().team.as_deref() == Some(t));
            match turn(bearing, settings, treatment).filter(|_| concerned) {
                Some(angle) => {
                    turned += 1;
                    by = by.or(Some(angle));
                    bearing.turned(angle)
                }
                None => bearing.clone(),
            }
        })
        .collect();
    // A team that took all of these bearings says nothing that "everybody" does not say.
    let whole = team.is_some() && hypothesis(bearings, settings, treatment, None)?.turned == turned;
    let by = by.filter(|_| !whole)?;
    Some(Hypothesis { treatment, team: team.map(str::to_owned), turned, by, bearings: all })
}

/// By how much a treatment turns a bearing, clockwise.
fn turn(bearing: &TrueBearing, settings: &Settings, treatment: Treatment) -> Option<Angle> {
    let read = bearing.read();
    let labelled_true = read.north == NorthReference::True;
    let angle = match treatment {
        Treatment::DeclinationForgotten if labelled_true => model(bearing, settings)?,
        Treatment::DeclinationWrongWay if labelled_true => 2.0 * model(bearing, settings)?,
        Treatment::DeclinationTwice if read.north == NorthReference::Magnetic => {
            -bearing.correction().to_degrees()
        }
        Treatment::GridForTrue if labelled_true => {
            let zone = zone_of(read.stand.at)?;
            GridFrame::Utm { zone }.convergence(read.stand.at).ok()?.to_degrees()
        }
        _ => return None,
    };
    (angle.abs() >= LEAST_DEGREES).then(|| Angle::degrees(angle))
}

/// Declination in degrees, stated or from the model.
fn model(bearing: &TrueBearing, settings: &Settings) -> Option<f64> {
    if let Some((angle, _)) = settings.declination {
        return Some(angle.to_degrees());
    }
    let date = bearing.read().civil_date().or(settings.date)?;
    declination(bearing.read().stand.at, date).ok().map(|d| d.angle.to_degrees())
}
