//! Teams, and which of them takes which part.

use crate::{
    divide::{net::apart, transport::share},
    geodesy::{Place, Plane, PlanePoint},
};

/// Somebody who searches a part.
#[derive(Clone, Debug, PartialEq)]
pub struct Team {
    /// Name or number.
    pub name: String,
    /// Where they are, if that is known.
    pub place: Option<Place>,
}

impl Team {
    /// Teams by number, from 1.
    pub fn numbered(count: usize) -> Vec<Self> {
        (1..=count).map(|n| Self { name: format!("Team {n}"), place: None }).collect()
    }
}

/// For each part the team that takes it: least sum of distances from where teams are to the nearest of the part's points. Teams whose
/// place is not known are as near to every part. `parts` must have one list of points for each team.
pub fn assign(teams: &[Team], plane: &Plane, parts: &[Vec<PlanePoint>]) -> Vec<usize> {
    let at: Vec<Option<PlanePoint>> = teams.iter().map(|t| t.place.map(|p| plane.to_plane(p))).collect();
    let far = |part: usize, team: usize| {
        at[team].map_or(0.0, |p| parts[part].iter().map(|q| apart(p, *q)).fold(f64::INFINITY, f64::min))
    };
    let ones = vec![1.0; teams.len()];
    let given = share(&ones, &ones, |part, team| far(part, team).min(1e9));
    given.map_or_else(
        || (0..teams.len()).collect(),
        |g| g.taken.iter().map(|t| t.first().map_or(0, |x| x.0)).collect(),
    )
}
