//! The same bearing written down twice: rows are pasted, a file is given twice, two teams copy each other's notes. A bearing
//! that counts twice makes the region smaller than it is.

use std::collections::HashMap;

use crate::{check::Checked, finding::Finding, geodesy::course, observe::ReadBearing};

/// Copies are rounded differently: stands within this distance and readings within a degree are taken for one bearing
/// when the identifier is the same too.
const SAME_STAND_M: f64 = 5.0;

/// Sets aside every bearing that repeats an earlier one. Of another file: same identifier, same stand within 5 m, same
/// reading within a degree. Anywhere: same identifier (or none), position and reading to the last digit, with the same time or both without. The
/// same identifier in another file with another stand or reading is another bearing; it is told, and the file's name is
/// added to its identifier.
pub fn repeats(bearings: Vec<ReadBearing>) -> Checked {
    let mut out = Checked::default();
    let mut named: HashMap<String, Vec<usize>> = HashMap::new();
    let mut exact: HashMap<Exact, usize> = HashMap::new();
    for mut bearing in bearings {
        if let Some(first) = exact.get(&Exact::of(&bearing)) {
            out.findings.push(repeated(&bearing, &out.usable[*first]));
            continue;
        }
        let earlier = named.entry(bearing.id.clone()).or_default();
        let others = || {
            let all = earlier.iter().map(|i| &out.usable[*i]);
            all.filter(|b: &&ReadBearing| b.origin.file != bearing.origin.file)
        };
        if let Some(same) = others().find(|b| same(b, &bearing)) {
            out.findings.push(repeated(&bearing, same));
            continue;
        }
        if let Some(other) = others().next() {
            let message =
                format!("{} also names another bearing, at {}: both are used", bearing.id, other.origin);
            out.findings.push(
                Finding::doubtful("id-in-two-files", message)
                    .at(bearing.origin.clone())
                    .hint("give every bearing of a case its own identifier"),
            );
            let file = bearing.origin.file.rsplit(['/', '\\']).next().unwrap_or_default();
            bearing.id = format!("{} ({file})", bearing.id);
        }
        earlier.push(out.usable.len());
        exact.insert(Exact::of(&bearing), out.usable.len());
        out.usable.push(bearing);
    }
    out
}

/// What a pasted row has in common with the first, to the last bit.
#[derive(PartialEq, Eq, Hash)]
struct Exact {
    name: String,
    numbers: [u64; 3],
    north: String,
    time: Option<String>,
}

impl Exact {
    fn of(bearing: &ReadBearing) -> Self {
        let at = bearing.stand.at;
        let time = bearing.time.as_ref().map(ToString::to_string);
        Self {
            name: written_name(&bearing.id).to_owned(),
            numbers: [at.lat_degrees(), at.lon_degrees(), bearing.read.to_radians()].map(f64::to_bits),
            north: format!("{:?}", bearing.north),
            time: time.or_else(|| bearing.date.map(|d| d.to_string())),
        }
    }
}

/// The identifier as the notes have it: readers name a row without one by its line, and add the line to one that occurs
/// again.
fn written_name(id: &str) -> &str {
    let by_place = |text: &str| text.starts_with("line ") || text.starts_with("feature ");
    match id.rsplit_once(" (") {
        _ if by_place(id) => "",
        Some((name, place)) if by_place(place) => name,
        _ => id,
    }
}

fn repeated(bearing: &ReadBearing, first: &ReadBearing) -> Finding {
    let message = format!("bearing {} is the one at {}: it is used once", bearing.id, first.origin);
    Finding::doubtful("bearing-repeated", message)
        .at(bearing.origin.clone())
        .hint("write its own time, or another identifier in another file, if it was taken anew")
}

fn same(one: &ReadBearing, other: &ReadBearing) -> bool {
    course(one.stand.at, other.stand.at).distance.value() < SAME_STAND_M
        && one.read.miss_from(other.read).to_degrees().abs() < 1.0
        && one.north == other.north
}
