//! The division: who gets what, in figures and names.

use std::collections::BTreeMap;

use crate::{
    divide::{
        balance::{EVEN_ENOUGH, balance, even_with_fewer, unevenness},
        bound::most_even,
        net::{Net, middle},
        open::{self, Ground},
        outline::{PlaneRing, Raster, signed_area},
        pieces::Pieces,
        route::{Begin, Walk, walk},
        spots::runs,
        spread::Spread,
        teams::{Team, assign},
        town::{self, Reach, Search},
    },
    finding::Finding,
    geodesy::{Place, Plane, PlanePoint},
    streets::Streets,
    units::Metres,
};

/// A street of a part.
#[derive(Clone, Debug, PartialEq)]
pub struct Named {
    /// Its name.
    pub name: String,
    /// From where to where, each stretch that hangs together.
    pub runs: Vec<String>,
    /// Metres of it in this part.
    pub length: Metres,
    /// Minutes to walk them once.
    pub minutes: f64,
    /// Probability on them.
    pub probability: f64,
}

/// Where a part meets a neighbour.
#[derive(Clone, Debug, PartialEq)]
pub struct Meets {
    /// Number of the neighbour's part.
    pub part: usize,
    /// Corners that both reach.
    pub corners: Vec<Place>,
    /// Streets at these corners, the most frequent first.
    pub streets: Vec<String>,
}

/// What one team searches.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Who.
    pub team: Team,
    /// Streets by name, those with the highest probability first; empty on open ground.
    pub streets: Vec<Named>,
    /// Length to walk: of the streets, or of the lanes on open ground.
    pub length: Metres,
    /// Minutes for that length.
    pub minutes: f64,
    /// Probability that it holds the emitter.
    pub probability: f64,
    /// Length of the route, with what is walked twice.
    pub route_length: Metres,
    /// Minutes for the route.
    pub route_minutes: f64,
    /// No route is shorter.
    pub route_bound: Metres,
    /// The route.
    pub route: Vec<Place>,
    /// The streets in the order of the route, one name for each run.
    pub order: Vec<String>,
    /// Neighbours.
    pub meets: Vec<Meets>,
    /// Hazards and what turns a compass, within reach of the part.
    pub hazards: Vec<String>,
    /// Outer ring and holes of each piece of its outline.
    pub outline: Vec<Vec<Vec<Place>>>,
    /// Its streets as lines.
    pub lines: Vec<Vec<Place>>,
    /// Its number of stretches or cells.
    pub pieces: usize,
}

/// The parts, with what there is to tell.
#[derive(Clone, Debug, PartialEq)]
pub struct Division {
    /// In the order of the teams.
    pub parts: Vec<Part>,
    /// Largest departure of a part's probability per minute from that of all, as a ratio minus 1.
    pub unevenness: f64,
    /// Where the parts are uneven: how many teams, fewer than these, could have even ones, if that is known.
    pub even_teams: Option<usize>,
    /// Where the parts are uneven: the most teams that could have even ones, if it is proven that these are too many.
    pub most_even: Option<usize>,
    /// Whether streets were divided, or open ground.
    pub on_streets: bool,
    /// Assumptions and doubts.
    pub findings: Vec<Finding>,
    /// For each part its pieces' points, by which cells of the posterior are told apart.
    points: Vec<(PlanePoint, u32)>,
    plane: Plane,
}

/// Why there is no division.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Undivided {
    /// More teams than streets or cells: how many there are.
    MoreTeams(usize),
    /// No probability within reach of any street.
    NothingOnStreets,
    /// No team.
    NoTeam,
}

impl std::fmt::Display for Undivided {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::MoreTeams(1) => f.write_str("there is only one stretch of street to search: one team is enough"),
            Self::MoreTeams(most) => {
                write!(f, "there are only {most} stretches to search: state at most so many teams")
            }
            Self::NothingOnStreets => f.write_str(
                "no street of this file is within reach of where the emitter may be: is it the right town? Without --streets the ground itself is divided",
            ),
            Self::NoTeam => f.write_str("there is no team"),
        }
    }
}

impl std::error::Error for Undivided {}

/// Divides the streets.
///
/// # Errors
/// [`Undivided`] without teams, with more teams than stretches, and where no probability is near any street.
pub fn streets(
    spread: &Spread,
    town: &Streets,
    reach: &Reach,
    teams: &[Team],
) -> Result<Division, Undivided> {
    let search = town::search(spread, town, reach, teams.len()).ok_or(Undivided::NothingOnStreets)?;
    let pieces = search.net.pieces();
    let part = parted(&pieces, teams)?;
    let plane = town.plane();
    let (part, begins) = given(&pieces, part, teams, &plane);
    let points = points_of(&search.net, &part, 25.0);
    let raster = Raster::around(&points, 50.0);
    let mut out: Vec<Part> = Vec::new();
    for (k, team) in teams.iter().enumerate() {
        let own: Vec<usize> = (0..part.len()).filter(|i| part[*i] as usize == k).collect();
        let Some(walk) = walk(&search.net, &own, begins[k]) else { continue };
        out.push(Part {
            team: team.clone(),
            streets: named(&search, town, &own),
            meets: meets(&search, town, &part, k as u32, &plane),
            hazards: hazards(town, &points, k as u32),
            outline: outline(&raster, k as u32, &plane),
            lines: own.iter().map(|i| places(&search.net.stretches[*i].line, &plane)).collect(),
            ..part_of(&search.net, &own, &walk, &plane)
        });
    }
    let findings = told(&search, reach);
    let (unevenness, even_teams, most_even) = evenness(&pieces, &part, teams.len());
    Ok(Division { parts: out, unevenness, even_teams, most_even, on_streets: true, findings, points, plane })
}

/// How far parts are from even, with how many teams they could be where these are not, and with how many at most where these are
/// proven to be too many.
fn evenness(pieces: &Pieces, part: &[u32], teams: usize) -> (f64, Option<usize>, Option<usize>) {
    let off = unevenness(pieces, part, teams);
    if off <= EVEN_ENOUGH {
        return (off, None, None);
    }
    let most = most_even(pieces, teams);
    (off, even_with_fewer(pieces, teams), (most < teams).then_some(most))
}

fn parted(pieces: &Pieces, teams: &[Team]) -> Result<Vec<u32>, Undivided> {
    if teams.is_empty() {
        return Err(Undivided::NoTeam);
    }
    balance(pieces, teams.len(), 1).ok_or(Undivided::MoreTeams(pieces.len()))
}

/// The parts by team instead of by number, and where each team begins.
fn given(pieces: &Pieces, part: Vec<u32>, teams: &[Team], plane: &Plane) -> (Vec<u32>, Vec<Begin>) {
    let mut points = vec![Vec::new(); teams.len()];
    for (piece, k) in pieces.all().iter().zip(&part) {
        points[*k as usize].push(piece.at);
    }
    let taker = assign(teams, plane, &points);
    let begins = teams.iter().map(|t| t.place.map_or(Begin::Anywhere, |p| Begin::Near(plane.to_plane(p))));
    (part.into_iter().map(|k| taker[k as usize] as u32).collect(), begins.collect())
}

/// Points along all stretches, close enough to tell whose ground is whose.
fn points_of(net: &Net, part: &[u32], step: f64) -> Vec<(PlanePoint, u32)> {
    let mut out = Vec::new();
    for (stretch, k) in net.stretches.iter().zip(part) {
        for pair in stretch.line.windows(2) {
            let (east, north) = (pair[1].east - pair[0].east, pair[1].north - pair[0].north);
            let count = ((east.hypot(north) / step).ceil() as usize).clamp(1, 10_000);
            for i in 0..=count {
                let t = i as f64 / count as f64;
                out.push((
                    PlanePoint { east: pair[0].east + t * east, north: pair[0].north + t * north },
                    *k,
                ));
            }
        }
    }
    out
}

fn part_of(net: &Net, own: &[usize], walk: &Walk, plane: &Plane) -> Part {
    let sum = |of: fn(&crate::divide::Stretch) -> f64| own.iter().map(|i| of(&net.stretches[*i])).sum();
    let mut line = vec![net.corners[walk.start]];
    let mut order: Vec<String> = Vec::new();
    let mut at = walk.start;
    for step in &walk.steps {
        let stretch = &net.stretches[step.stretch];
        let forth = stretch.ends[0] == at;
        let mut points: Vec<PlanePoint> = stretch.line.clone();
        if !forth {
            points.reverse();
        }
        line.extend(points.into_iter().skip(1));
        if order.last() != Some(&stretch.name) {
            order.push(stretch.name.clone());
        }
        at = step.to;
    }
    Part {
        team: Team { name: String::new(), place: None },
        streets: Vec::new(),
        length: Metres::new(sum(|s| s.length.value())),
        minutes: sum(|s| s.minutes),
        probability: sum(|s| s.probability),
        route_length: walk.length,
        route_minutes: walk.minutes,
        route_bound: walk.bound,
        route: places(&line, plane),
        order,
        meets: Vec::new(),
        hazards: Vec::new(),
        outline: Vec::new(),
        lines: Vec::new(),
        pieces: own.len(),
    }
}

fn places(line: &[PlanePoint], plane: &Plane) -> Vec<Place> {
    line.iter().map(|p| plane.to_place(*p)).collect()
}

fn named(search: &Search, town: &Streets, own: &[usize]) -> Vec<Named> {
    let mut by: BTreeMap<&str, Named> = BTreeMap::new();
    for stretch in own.iter().map(|i| &search.net.stretches[*i]) {
        let entry = by.entry(&stretch.name).or_insert_with(|| Named {
            name: stretch.name.clone(),
            runs: Vec::new(),
            length: Metres::new(0.0),
            minutes: 0.0,
            probability: 0.0,
        });
        entry.length = Metres::new(entry.length.value() + stretch.length.value());
        entry.minutes += stretch.minutes;
        entry.probability += stretch.probability;
    }
    let mut out: Vec<Named> = by.into_values().collect();
    for street in &mut out {
        let same = |i: &usize| search.net.stretches[*i].name == street.name;
        street.runs = runs(search, town, &own.iter().copied().filter(same).collect::<Vec<usize>>());
    }
    out.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    out
}

fn meets(search: &Search, town: &Streets, part: &[u32], own: u32, plane: &Plane) -> Vec<Meets> {
    let net = &search.net;
    let mut found: BTreeMap<u32, (Vec<Place>, BTreeMap<String, usize>)> = BTreeMap::new();
    for (corner, here) in net.meeting().iter().enumerate() {
        if !here.iter().any(|i| part[*i] == own) {
            continue;
        }
        let mut others: Vec<u32> = here.iter().map(|i| part[*i]).filter(|k| *k != own).collect();
        others.sort_unstable();
        others.dedup();
        for other in others {
            let entry = found.entry(other).or_default();
            entry.0.push(plane.to_place(net.corners[corner]));
            let mut names: Vec<&str> = Vec::new();
            for i in here {
                let name =
                    search.edges[*i].map_or(net.stretches[*i].name.as_str(), |e| &town.edges()[e].name);
                if !names.contains(&name) {
                    names.push(name);
                }
            }
            for name in names {
                *entry.1.entry(name.to_owned()).or_insert(0) += 1;
            }
        }
    }
    found
        .into_iter()
        .map(|(other, (corners, names))| {
            let mut streets: Vec<(String, usize)> = names.into_iter().collect();
            streets.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(&b.0)));
            Meets { part: other as usize, corners, streets: streets.into_iter().map(|s| s.0).collect() }
        })
        .collect()
}

fn hazards(town: &Streets, points: &[(PlanePoint, u32)], own: u32) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for hazard in town.hazards() {
        if points.iter().any(|(p, k)| *k == own && hazard.reaches(*p)) {
            let kind = hazard.kind.word();
            let name =
                if hazard.name == kind { kind.to_owned() } else { format!("{} ({kind})", hazard.name) };
            let line = format!("{name}: keep {:.0} m off with the compass", hazard.keep_off.value());
            if !out.contains(&line) {
                out.push(line);
            }
        }
    }
    out
}

fn outline(raster: &Raster, part: u32, plane: &Plane) -> Vec<Vec<Vec<Place>>> {
    let rings = raster.rings(part);
    let (outer, holes): (Vec<PlaneRing>, Vec<PlaneRing>) =
        rings.into_iter().partition(|r| signed_area(r) > 0.0);
    let mut out: Vec<Vec<PlaneRing>> = outer.into_iter().map(|r| vec![r]).collect();
    for hole in holes {
        let around = out
            .iter_mut()
            .filter(|p| inside(&p[0], hole[0]))
            .min_by(|a, b| signed_area(&a[0]).total_cmp(&signed_area(&b[0])));
        if let Some(polygon) = around {
            polygon.push(hole);
        }
    }
    out.iter().map(|polygon| polygon.iter().map(|r| places(r, plane)).collect()).collect()
}

/// Even-odd rule.
pub fn inside(ring: &[PlanePoint], p: PlanePoint) -> bool {
    let mut within = false;
    for (a, b) in ring.iter().zip(ring.iter().cycle().skip(1)) {
        if (a.north > p.north) != (b.north > p.north) {
            let east = a.east + (p.north - a.north) / (b.north - a.north) * (b.east - a.east);
            within ^= p.east < east;
        }
    }
    within
}

fn told(search: &Search, reach: &Reach) -> Vec<Finding> {
    let mut out = Vec::new();
    let percent = |p: f64| 100.0 * p;
    if search.off_street > 0.005 {
        out.push(Finding::doubtful(
            "off-street",
            format!(
                "{:.0} % of the probability is farther than {:.0} m from every street of the file and in no part",
                percent(search.off_street),
                reach.off_street.value()
            ),
        ));
    }
    if search.thin > 0.005 {
        out.push(Finding::assumed(
            "streets-left-out",
            format!(
                "streets that hold little for each minute are in no part: together {:.0} % of the probability",
                percent(search.thin)
            ),
        ));
    }
    for (probability, length, gap) in &search.islands {
        out.push(
            Finding::doubtful(
                "island",
                format!(
                    "{length:.0} m of street with {:.1} % of the probability do not hang together with the rest ({gap:.0} m of open ground away) and are in no part",
                    percent(*probability)
                ),
            )
            .hint("send somebody by car, or raise --join"),
        );
    }
    for metres in &search.crossings {
        out.push(Finding::doubtful(
            "crossing",
            format!(
                "streets that do not connect are joined across {metres:.0} m of open ground ({:.0} minutes): look whether one can walk there, and ask whose land it is",
                reach.pace.minutes(Metres::new(*metres)).ceil()
            ),
        ));
    }
    let pace = format!("{:.0} m a minute on foot, each street once", reach.pace.value());
    out.push(Finding::assumed("pace", pace));
    out
}

/// Divides the ground itself.
///
/// # Errors
/// [`Undivided`] without teams, and with more teams than cells.
pub fn ground(spread: &Spread, lane: Metres, reach: &Reach, teams: &[Team]) -> Result<Division, Undivided> {
    let ground = open::ground(spread, reach.share, lane, reach.pace).ok_or(Undivided::NothingOnStreets)?;
    let part = parted(&ground.pieces, teams)?;
    let plane = spread.plane();
    let (part, _) = given(&ground.pieces, part, teams, &plane);
    let raster = Raster {
        origin: PlanePoint { east: 0.0, north: 0.0 },
        side: ground.side.value(),
        cells: ground.at.iter().copied().zip(part.iter().copied()).collect(),
    };
    let parts = teams.iter().enumerate().map(|(k, team)| {
        let own: Vec<usize> = (0..part.len()).filter(|i| part[*i] as usize == k).collect();
        Part {
            team: team.clone(),
            meets: ground_meets(&ground, &part, k as u32, &plane),
            outline: outline(&raster, k as u32, &plane),
            ..lanes_of(&ground, &own, lane, &plane)
        }
    });
    let parts = parts.collect();
    let mut findings = vec![Finding::assumed(
        "lanes",
        format!(
            "open ground is walked in lanes {:.0} m apart at {:.0} m a minute, without regard to walls, water or whose land it is",
            lane.value(),
            reach.pace.value()
        ),
    )];
    for gap in &ground.gaps {
        findings.push(Finding::assumed(
            "gap",
            format!("pieces of ground that lie {gap:.0} m apart are divided as one"),
        ));
    }
    let points = ground.pieces.all().iter().map(|p| p.at).zip(part.iter().copied()).collect();
    let (unevenness, even_teams, most_even) = evenness(&ground.pieces, &part, teams.len());
    Ok(Division { parts, unevenness, even_teams, most_even, on_streets: false, findings, points, plane })
}

fn lanes_of(ground: &Ground, own: &[usize], lane: Metres, plane: &Plane) -> Part {
    let all = ground.pieces.all();
    let minutes: f64 = own.iter().map(|i| all[*i].minutes).sum();
    let side = ground.side.value();
    let length = Metres::new(own.len() as f64 * side * side / lane.value().max(1.0));
    Part {
        team: Team { name: String::new(), place: None },
        streets: Vec::new(),
        length,
        minutes,
        probability: own.iter().map(|i| all[*i].probability).sum(),
        route_length: length,
        route_minutes: minutes,
        route_bound: length,
        route: places(&open::lanes(ground, own), plane),
        order: Vec::new(),
        meets: Vec::new(),
        hazards: Vec::new(),
        outline: Vec::new(),
        lines: Vec::new(),
        pieces: own.len(),
    }
}

fn ground_meets(ground: &Ground, part: &[u32], own: u32, plane: &Plane) -> Vec<Meets> {
    let mut found: BTreeMap<u32, Vec<Place>> = BTreeMap::new();
    for i in (0..part.len()).filter(|i| part[*i] == own) {
        for (j, _) in ground.pieces.touching(i) {
            let other = part[*j as usize];
            if other != own {
                let ends = [ground.pieces.all()[i].at, ground.pieces.all()[*j as usize].at];
                found.entry(other).or_default().push(plane.to_place(middle(&ends)));
            }
        }
    }
    found.into_iter().map(|(k, corners)| Meets { part: k as usize, corners, streets: Vec::new() }).collect()
}

impl Division {
    /// Number of the part whose streets or cells are nearest to a place, if any is within `reach` metres.
    pub fn part_near(&self, place: Place, reach: f64) -> Option<usize> {
        let p = self.plane.to_plane(place);
        let far = |q: &PlanePoint| crate::divide::apart(p, *q);
        let best = self.points.iter().min_by(|a, b| far(&a.0).total_cmp(&far(&b.0)))?;
        (far(&best.0) <= reach).then_some(best.1 as usize)
    }

    /// Sum of the parts' probabilities.
    pub fn held(&self) -> f64 {
        self.parts.iter().map(|p| p.probability).sum()
    }
}
