//! The same bearing in two files: two teams copy each other's notes, and a bearing that counts twice makes the region
//! smaller than it is.

use std::collections::HashMap;

use crate::{check::Checked, finding::Finding, geodesy::course, observe::ReadBearing};

/// Copies are rounded differently: stands within this distance and readings within a degree are taken for one bearing
/// when the identifier is the same too.
const SAME_STAND_M: f64 = 5.0;

/// Sets aside every bearing that repeats an earlier one of another file: same identifier, same stand within 5 m, same
/// reading within a degree. The same identifier with another stand or reading is another bearing, and is told.
pub fn repeats(bearings: Vec<ReadBearing>) -> Checked {
    let mut out = Checked::default();
    let mut named: HashMap<String, Vec<usize>> = HashMap::new();
    for bearing in bearings {
        let earlier = named.entry(bearing.id.clone()).or_default();
        let others = || {
            let all = earlier.iter().map(|i| &out.usable[*i]);
            all.filter(|b: &&ReadBearing| b.origin.file != bearing.origin.file)
        };
        if let Some(same) = others().find(|b| same(b, &bearing)) {
            let message = format!("bearing {} is the one at {}: it is used once", bearing.id, same.origin);
            out.findings.push(
                Finding::doubtful("bearing-repeated", message)
                    .at(bearing.origin.clone())
                    .hint("give it another identifier if it was taken anew"),
            );
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
        }
        earlier.push(out.usable.len());
        out.usable.push(bearing);
    }
    out
}

fn same(one: &ReadBearing, other: &ReadBearing) -> bool {
    course(one.stand.at, other.stand.at).distance.value() < SAME_STAND_M
        && one.read.miss_from(other.read).to_degrees().abs() < 1.0
        && one.north == other.north
}
