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
/// place is not known are as near to every part, and take what is left in its order. `parts` must have one list of points for each team.
pub fn assign(teams: &[Team], plane: &Plane, parts: &[Vec<PlanePoint>]) -> Vec<usize> {
    let at: Vec<Option<PlanePoint>> = teams.iter().map(|t| t.place.map(|p| plane.to_plane(p))).collect();
    let far = |part: usize, team: usize| {
        at[team].map_or(0.0, |p| parts[part].iter().map(|q| apart(p, *q)).fold(f64::INFINITY, f64::min))
    };
    let ones = vec![1.0; teams.len()];
    let given = share(&ones, &ones, |part, team| far(part, team).min(1e9));
    let mut taker: Vec<usize> = given.map_or_else(
        || (0..teams.len()).collect(),
        |g| g.taken.iter().map(|t| t.first().map_or(0, |x| x.0)).collect(),
    );
    let anywhere: Vec<usize> = (0..teams.len()).filter(|t| at[*t].is_none()).collect();
    let left = taker.iter_mut().filter(|t| at[**t].is_none());
    left.zip(anywhere).for_each(|(taker, team)| *taker = team);
    taker
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Only the third team's place is known: it takes the part beside it, the others what is left in order.
    #[test]
    fn teams_anywhere_take_what_is_left_in_order() {
        let origin = Place::from_lat_lon_degrees(47.0, 8.0).unwrap();
        let plane = Plane::centred_on(&[origin]).unwrap();
        let parts: Vec<Vec<PlanePoint>> =
            [900.0, 0.0, 400.0, 1300.0].map(|east| vec![PlanePoint { east, north: 0.0 }]).to_vec();
        let mut teams = Team::numbered(4);
        assert_eq!(assign(&teams, &plane, &parts), [0, 1, 2, 3]);
        teams[2].place = Some(origin);
        assert_eq!(assign(&teams, &plane, &parts), [0, 2, 1, 3]);
    }
}
