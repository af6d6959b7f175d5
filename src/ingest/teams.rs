//! Teams and where they are: a table with the columns name, lat, lon.

use crate::{
    finding::{Finding, Origin},
    geodesy::Place,
    ingest::log::Log,
};

const NAMES: [&[&str]; 3] = [
    &["name", "team", "id"],
    &["lat", "latitude", "lat_wgs84", "lat_deg"],
    &["lon", "lng", "long", "longitude", "lon_wgs84", "lon_deg"],
];

/// A team's name, and its place where the row gives one.
pub type NamedPlace = (String, Option<Place>);

/// Reads them. A row without coordinates is a team whose place is not known; one with coordinates that are none is refused.
pub fn teams(name: &str, text: &str, log: &mut Log) -> Vec<NamedPlace> {
    let first = text.lines().find(|l| !l.trim().is_empty() && !l.starts_with('#')).unwrap_or("");
    let delimiter = [b';', b'\t', b','].into_iter().max_by_key(|d| first.bytes().filter(|b| b == d).count());
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(delimiter.unwrap_or(b','))
        .flexible(true)
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let headers: Vec<String> =
        reader.headers().map(|h| h.iter().map(str::to_lowercase).collect()).unwrap_or_default();
    let column =
        |names: &[&str]| headers.iter().position(|h| names.contains(&h.trim_start_matches('\u{feff}')));
    let [of_name, of_lat, of_lon] = NAMES.map(column);
    let Some(of_name) = of_name else {
        let hint = "the first line must be: name,lat,lon";
        let at = Origin::file(name);
        log.tell(Finding::refused("teams-header", "there is no column called name").at(at).hint(hint));
        return Vec::new();
    };
    let mut out: Vec<NamedPlace> = Vec::new();
    for record in reader.records().flatten() {
        let line = record.position().map_or(0, csv::Position::line);
        let cell = |at: Option<usize>| at.and_then(|i| record.get(i)).unwrap_or("");
        let team = cell(Some(of_name)).to_owned();
        let (lat, lon) = (cell(of_lat), cell(of_lon));
        if team.is_empty() {
            let hint = "give the team a name or delete the row";
            log.tell_row(
                Finding::refused("team-unnamed", "the row has no name")
                    .at(Origin::line(name, line))
                    .hint(hint),
            );
            continue;
        }
        if out.iter().any(|(known, _)| *known == team) {
            let message = format!("the team {team} is named twice");
            let hint = "give each team a name of its own";
            log.tell_row(Finding::refused("team-repeated", message).at(Origin::line(name, line)).hint(hint));
            continue;
        }
        if lat.is_empty() && lon.is_empty() {
            out.push((team, None));
            continue;
        }
        let number = |text: &str| text.replace(',', ".").parse::<f64>().ok();
        let place = number(lat).zip(number(lon)).and_then(|(lat, lon)| Place::from_lat_lon_degrees(lat, lon));
        match place {
            Some(place) => out.push((team, Some(place))),
            None => {
                let message = format!("{lat}, {lon} is no latitude and longitude in degrees");
                let hint = "write them as 46.95510, -118.36012, or leave both empty where the team's place is not known";
                log.tell_row(Finding::refused("team-place", message).at(Origin::line(name, line)).hint(hint));
            }
        }
    }
    out
}
