//! The same bearing in two files: two teams copy each other's notes, and a bearing that counts twice makes the region
//! smaller than it is.

use crate::{check::Checked, finding::Finding, geodesy::course, observe::ReadBearing};

/// Copies are rounded differently: stands within this distance and readings within a degree are taken for one bearing
/// when the identifier is the same too.
const SAME_STAND_M: f64 = 5.0;

/// Sets aside every bearing that repeats an earlier one of another file: same identifier, same stand within 5 m, same
/// reading within a degree. The same identifier with another stand or reading is another bearing, and is told.
pub fn repeats(bearings: Vec<ReadBearing>) -> Checked {
    let mut out = Checked::default();
    for bearing in bearings {
        let earlier = out
            .usable
            .iter()
            .find(|b: &&ReadBearing| b.id == bearing.id && b.origin.file != bearing.origin.file);
        let Some(earlier) = earlier else {
            out.usable.push(bearing);
            continue;
        };
        let same = course(earlier.stand.at, bearing.stand.at).distance.value() < SAME_STAND_M
            && earlier.read.miss_from(bearing.read).to_degrees().abs() < 1.0
            && earlier.north == bearing.north;
        if same {
            let message = format!("bearing {} is the one at {}: it is used once", bearing.id, earlier.origin);
            out.findings.push(
                Finding::doubtful("bearing-repeated", message)
                    .at(bearing.origin.clone())
                    .hint("give it another identifier if it was taken anew"),
            );
        } else {
            let message =
                format!("{} also names another bearing, at {}: both are used", bearing.id, earlier.origin);
            out.findings.push(
                Finding::doubtful("id-in-two-files", message)
                    .at(bearing.origin.clone())
                    .hint("give every bearing of a case its own identifier"),
            );
            out.usable.push(bearing);
        }
    }
    out
}
