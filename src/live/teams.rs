//! A search divided between the teams of a request.

use serde_json::json;

use crate::{
    divide::{Reach, Spread, Team, division},
    export,
    geodesy::Place,
    live::Request,
    report::{self, Answer},
    streets::Streets,
    units::Metres,
};

/// Distance between lanes where there are no streets.
const LANE: Metres = Metres::new(50.0);

/// More teams than this are not divided for.
const MOST: usize = 60;

/// The division as GeoJSON and in words; an `error` in a sentence where there is none.
pub fn divided(request: &Request, answer: &Answer) -> (String, String) {
    let failed = |why: String| (json!({ "error": why }).to_string(), why);
    if request.teams.len() > MOST {
        return failed(format!("Not divided: {MOST} teams are the most."));
    }
    let teams: Vec<Team> = request
        .teams
        .iter()
        .map(|t| {
            let place = t.at.and_then(|[lat, lon]| Place::from_lat_lon_degrees(lat, lon));
            Team { name: t.name.clone(), place }
        })
        .collect();
    let spread = Spread::of(&answer.fit);
    let streets = request.town.as_ref().map(|f| Streets::read(&f.name, &f.bytes()).0);
    let reach = Reach::default();
    let found = match streets.filter(|s| !s.edges().is_empty()) {
        Some(town) => division::streets(&spread, &town, &reach, &teams),
        None => division::ground(&spread, LANE, &reach, &teams),
    };
    match found {
        Ok(division) => (export::division(&division), report::division(&division, &[])),
        Err(why) => failed(format!("Not divided: {why}.")),
    }
}
