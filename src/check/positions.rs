//! Stands that cannot be where they are written, and stands that are all one spot.

use crate::{
    finding::{Finding, Origin, Severity},
    geodesy::{Place, course},
    observe::ReadBearing,
};

/// Beyond this distance from the rest a stand is looked at twice.
pub(super) const FAR_M: f64 = 50_000.0;

/// Stands all within this distance of one another see the emitter from one spot.
const ONE_SPOT_M: f64 = 25.0;

/// Bearings that can be used, and what there is to tell.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Checked {
    /// Those not set aside.
    pub usable: Vec<ReadBearing>,
    /// Doubts and refusals.
    pub findings: Vec<Finding>,
}

/// Sets aside a stand more than 50 km from the median of all whose coordinates, swapped or with a sign changed, lie
/// among the others; the change is proposed, never made. With fewer than three stands nobody is "the others".
pub fn positions(bearings: Vec<ReadBearing>) -> Checked {
    let mut out = Checked::default();
    let places: Vec<Place> = bearings.iter().map(|b| b.stand.at).collect();
    let centre = (bearings.len() >= 3).then(|| middle(&places)).flatten();
    for bearing in bearings {
        let name = format!("the stand of {}", bearing.id);
        match centre.and_then(|c| misplaced(bearing.stand.at, &name, &bearing.origin, c)) {
            Some(finding) => {
                let refused = finding.severity == Severity::Refused;
                out.findings.push(finding);
                if !refused {
                    out.usable.push(bearing);
                }
            }
            None => out.usable.push(bearing),
        }
    }
    out.findings.extend(one_spot(&out.usable));
    out
}

/// Medians of latitude and longitude; `None` for no place at all.
pub(super) fn middle(places: &[Place]) -> Option<Place> {
    let median = |value: fn(Place) -> f64| {
        let mut all: Vec<f64> = places.iter().map(|p| value(*p)).collect();
        all.sort_by(f64::total_cmp);
        all.get(all.len() / 2).copied()
    };
    Place::from_lat_lon_degrees(median(Place::lat_degrees)?, median(Place::lon_degrees)?)
}

/// The place within 50 km of `centre` that a place becomes when latitude and longitude are swapped, or signs changed.
pub(super) fn meant(at: Place, centre: Place) -> Option<Place> {
    let (lat, lon) = (at.lat_degrees(), at.lon_degrees());
    [(lat, -lon), (-lat, lon), (-lat, -lon), (lon, lat), (lon, -lat), (-lon, lat), (-lon, -lat)]
        .into_iter()
        .filter_map(|(lat, lon)| Place::from_lat_lon_degrees(lat, lon))
        .find(|p| course(centre, *p).distance.value() <= FAR_M)
}

/// What there is to tell of a place more than 50 km from `centre`: refused where a swap or a lost sign explains it.
pub(super) fn misplaced(at: Place, name: &str, origin: &Origin, centre: Place) -> Option<Finding> {
    let distance = course(centre, at).distance.value();
    if distance <= FAR_M {
        return None;
    }
    let message = format!("{name} is {:.0} km from the others", distance / 1e3);
    Some(match meant(at, centre) {
        Some(p) => Finding::refused("misplaced", message).at(origin.clone()).hint(format!(
            "did you mean {:.5}, {:.5}? Coordinates look swapped or a sign is lost: correct the file",
            p.lat_degrees(),
            p.lon_degrees()
        )),
        None => Finding::doubtful("far-away", message)
            .at(origin.clone())
            .hint("check its coordinates; it is used as written"),
    })
}

fn one_spot(bearings: &[ReadBearing]) -> Option<Finding> {
    let first = bearings.first()?;
    let near = |b: &ReadBearing| course(first.stand.at, b.stand.at).distance.value() < ONE_SPOT_M;
    (bearings.len() > 1 && bearings.iter().all(near)).then(|| {
        Finding::doubtful(
            "one-spot",
            "all bearings were taken from one spot, so nothing tells how far the emitter is",
        )
        .hint("take the next bearing well to the side of the ones you have")
    })
}
