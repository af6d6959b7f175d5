//! Which rows make one swing.

use std::{
    collections::{HashMap, HashSet},
    sync::Arc,
};

use crate::{
    finding::{Finding, Origin},
    geodesy::{Place, course},
    ingest::{Settings, log::Log, swings::Heading},
    observe::{Level, Stand, Swing, SwingAntenna, SwingPoint},
    units::Angle,
};

/// Rows without a name that follow one another within this many metres are of one stand: what the position of a receiver
/// that stays where it is wanders in minutes. Common practice, no source.
const SAME_SPOT_M: f64 = 10.0;

/// Farther than this from its first row, a row of a named stand is of another one. Common practice, no source.
const MOVED_M: f64 = 50.0;

/// More swings are not read: nobody turns an antenna at so many stands of one case, and each costs milliseconds to fit.
const MOST_SWINGS: usize = 500;

/// Two directions and their reverses fit any two levels.
const FEWEST_HEADINGS: usize = 3;

/// A gap between neighbouring headings that is wider, by half a degree at least, may hide a stronger direction: a third of
/// the horizon.
const WIDEST_GAP_DEGREES: f64 = 120.0;

/// What rows of one swing share beside their place.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Key {
    /// Name of the stand, or the identifier where those name stands; empty where there is neither.
    name: String,
    device: Option<Arc<str>>,
    /// Bits of the frequency.
    frequency: Option<u64>,
}

struct Group {
    key: Key,
    rows: Vec<Heading>,
}

impl Group {
    fn place(&self) -> Option<Place> {
        self.rows.iter().find_map(|r| r.reading.at)
    }
}

/// The swings of a file.
pub fn grouped(rows: Vec<Heading>, settings: &Settings, name: &str, log: &mut Log) -> Vec<Swing> {
    let off = rows.iter().filter(|r| r.reading.level == Level::OffAir).count();
    if off > 0 {
        let message = format!("{off} row(s) say that the emitter was off: kept, and no part of any fit");
        log.tell(Finding::assumed("off-air", message).at(Origin::file(name)));
    }
    let mut groups = groups(rows, log);
    if let Some(group) = groups.get(MOST_SWINGS) {
        let message = format!("the file has more than {MOST_SWINGS} swings: what follows is not read");
        let hint = "name the stand in each of its rows, or split the file";
        let origin = group.rows.first().map_or_else(|| Origin::file(name), |r| r.reading.written.origin());
        log.tell(Finding::refused("too-many-swings", message).at(origin).hint(hint));
        groups.truncate(MOST_SWINGS);
    }
    let mut ids = HashSet::new();
    groups.into_iter().filter_map(|group| swing(group, settings, &mut ids, log)).collect()
}

fn groups(rows: Vec<Heading>, log: &mut Log) -> Vec<Group> {
    let by_id = ids_name_stands(&rows);
    let mut groups: Vec<Group> = Vec::new();
    let mut named: HashMap<Key, usize> = HashMap::new();
    let mut last = None;
    for row in rows {
        let key = key(&row, by_id);
        let known = named.get(&key).copied().filter(|_| !key.name.is_empty());
        let same = |i: &usize| groups[*i].key == key && near(groups[*i].place(), row.reading.at, SAME_SPOT_M);
        let at = if key.name.is_empty() { last.filter(same) } else { known };
        if key.name.is_empty() && row.reading.at.is_none() {
            let hint = "write down where the stand was, or name the stand in each of its rows";
            refuse(&row, "coordinate-missing", "the row has neither a position nor a stand", hint, log);
            continue;
        }
        let index = at.unwrap_or(groups.len());
        if at.is_none() {
            named.insert(key.clone(), index);
            groups.push(Group { key, rows: Vec::new() });
        } else if !fits(&groups[index], &row, log) {
            continue;
        }
        last = Some(index);
        groups[index].rows.push(row);
    }
    groups
}

/// Whether identifiers name stands: some of them stands in more than one row.
fn ids_name_stands(rows: &[Heading]) -> bool {
    let mut seen = HashSet::new();
    rows.iter().filter_map(|r| r.reading.id.as_deref()).any(|id| !seen.insert(id))
}

fn key(row: &Heading, by_id: bool) -> Key {
    let id = row.reading.id.clone().filter(|_| by_id).unwrap_or_default();
    let name = if row.reading.stand.is_empty() { id } else { row.reading.stand.clone() };
    let frequency = row.reading.frequency.map(|f| f.value().to_bits());
    Key { name, device: row.reading.device.clone(), frequency }
}

/// Whether two places are within a distance; what has no place is where the rest of its stand is.
fn near(a: Option<Place>, b: Option<Place>, metres: f64) -> bool {
    a.zip(b).is_none_or(|(a, b)| a == b || course(a, b).distance.value() <= metres)
}

fn refuse(row: &Heading, code: &'static str, message: &str, hint: &str, log: &mut Log) {
    log.tell_row(Finding::refused(code, message).at(row.reading.written.origin()).hint(hint));
}

/// Whether a row belongs to a stand that it names.
fn fits(group: &Group, row: &Heading, log: &mut Log) -> bool {
    if !near(group.place(), row.reading.at, MOVED_M) {
        let message = format!("the row lies more than {MOVED_M:.0} m from the other rows of its stand");
        let hint =
            "a swing is taken at one stand: give the other stand a name of its own, or correct the place";
        refuse(row, "stand-moved", &message, hint, log);
        return false;
    }
    let first = group.rows.first().map_or(row.label, |r| r.label);
    if first != row.label {
        let message =
            format!("the swing began from {} north, and this row is from {}", first.word(), row.label.word());
        refuse(row, "norths-differ", &message, "read all headings of a swing from the same north", log);
        return false;
    }
    true
}

fn swing(group: Group, settings: &Settings, ids: &mut HashSet<String>, log: &mut Log) -> Option<Swing> {
    let first = group.rows.first()?;
    let origin = first.reading.written.origin();
    let Some(placed) = group.rows.iter().find(|r| r.reading.at.is_some()) else {
        let hint = "write down where the stand was, at least in one of its rows";
        let message = "no row of this stand has a position";
        log.tell_row(Finding::refused("coordinate-missing", message).at(origin).hint(hint));
        return None;
    };
    let without = group.rows.iter().filter(|r| r.reading.at.is_none()).count();
    if without > 0 {
        let message =
            format!("{without} row(s) of the stand have no position and take that of its other rows");
        log.tell_row(Finding::assumed("place-of-stand", message).at(origin.clone()));
    }
    let headings = distinct(&group.rows);
    if headings.len() < FEWEST_HEADINGS {
        let message = format!(
            "the swing has {} different heading(s), and a pattern needs at least {FEWEST_HEADINGS}",
            headings.len()
        );
        let hint = "turn the antenna all the way round and write the level at eight or more headings";
        log.tell_row(Finding::refused("too-few-headings", message).at(origin).hint(hint));
        return None;
    }
    gap(&headings, &origin, log);
    let antenna = antenna(&group.rows, settings, log);
    let stand = Stand {
        name: first.reading.stand.clone(),
        at: placed.reading.at?,
        sigma: placed.sigma,
        height: group.rows.iter().find_map(|r| r.reading.height),
    };
    let mut id = if group.key.name.is_empty() {
        format!("line {}", first.reading.written.line)
    } else {
        group.key.name
    };
    if ids.contains(&id) {
        id = format!("{id} (line {})", first.reading.written.line);
    }
    ids.insert(id.clone());
    let (team, north) = (group.key.device.map(|d| d.to_string()), placed.north?);
    let point = |r: Heading| SwingPoint { heading: r.heading, reading: r.reading };
    Some(Swing { id, team, stand, north, points: group.rows.into_iter().map(point).collect(), antenna })
}

/// Headings of a swing in degrees, in order, each once; a tenth of a degree is no other heading.
fn distinct(rows: &[Heading]) -> Vec<f64> {
    let on = rows.iter().filter(|r| r.reading.level != Level::OffAir);
    let mut out: Vec<f64> = on.map(|r| r.heading.compass().to_degrees()).collect();
    out.sort_by(f64::total_cmp);
    out.dedup_by(|a, b| *a - *b < 0.1);
    out
}

fn gap(headings: &[f64], origin: &Origin, log: &mut Log) {
    let next = headings.iter().skip(1).copied().chain(headings.first().map(|h| h + 360.0));
    let widest = headings.iter().zip(next).max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)));
    let Some((from, to)) = widest.filter(|(from, to)| to - *from > WIDEST_GAP_DEGREES + 0.5) else { return };
    let message = format!("no level was written between {from:03.0}° and {:03.0}°", to % 360.0);
    let hint = "a stronger direction may lie there: turn the antenna all the way round";
    log.tell_row(Finding::doubtful("headings-gap", message).at(origin.clone()).hint(hint));
}

/// The antenna of a swing: the first that its rows state, else the caller's.
fn antenna(rows: &[Heading], settings: &Settings, log: &mut Log) -> SwingAntenna {
    let family = rows.iter().find_map(|r| r.antenna.family);
    let beamwidth = rows.iter().find_map(|r| r.antenna.beamwidth);
    let other = |r: &&Heading| {
        r.antenna.family.is_some_and(|f| Some(f) != family)
            || r.antenna.beamwidth.is_some_and(|b: Angle| Some(b) != beamwidth)
    };
    if let Some(row) = rows.iter().find(other) {
        let message = "the row states another antenna than the first row of its swing, whose antenna is used";
        let hint = "give the swing of each antenna its own stand name";
        log.tell_row(
            Finding::doubtful("antenna-differs", message).at(row.reading.written.origin()).hint(hint),
        );
    }
    SwingAntenna {
        family: family.or(settings.swings.family),
        beamwidth: beamwidth.or(settings.swings.beamwidth),
    }
}
