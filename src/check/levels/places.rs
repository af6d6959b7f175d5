//! Places of levels that cannot be meant.

use crate::{
    check::{
        levels::{Label, Labelled},
        positions::{FAR_M, meant, middle},
    },
    finding::Finding,
    geodesy::{Place, course},
    observe::LevelReading,
};

/// A place is far from the rest beyond this many times the distance within which three in four of them lie: common practice,
/// no source.
const TIMES_ORDINARY: f64 = 10.0;

/// With fewer readings nobody is "the rest".
const FEWEST: usize = 3;

/// Labels places at 0, 0, which receivers write without a fix, places that lie among the others once latitude and
/// longitude are swapped or a sign is changed, and places far from all others. The change is proposed, never made.
pub fn label(readings: &[LevelReading], out: &mut Labelled) {
    let placed: Vec<(usize, Place)> =
        readings.iter().enumerate().filter_map(|(i, r)| Some((i, r.at?))).collect();
    let all: Vec<Place> = placed.iter().map(|p| p.1).collect();
    let Some(centre) = middle(&all).filter(|_| all.len() >= FEWEST) else { return };
    if all.iter().all(|p| near(*p, centre)) {
        return;
    }
    let away: Vec<f64> = all.iter().map(|p| course(centre, *p).distance.value()).collect();
    let mut sorted = away.clone();
    sorted.sort_by(f64::total_cmp);
    let ordinary = super::at_share(&sorted, 0.75).unwrap_or(0.0);
    let limit = FAR_M.max(TIMES_ORDINARY * ordinary);
    let mut told = false;
    for ((index, at), away) in placed.into_iter().zip(away).filter(|(_, away)| *away > limit) {
        if at.lat_degrees() == 0.0 && at.lon_degrees() == 0.0 {
            out.labels[index].add(Label::ZeroPlace);
        } else if let Some(place) = meant(at, centre) {
            out.labels[index].add(Label::Misplaced);
            if !told {
                told = true;
                out.findings.push(proposal(&readings[index], place, away));
            }
        } else {
            out.labels[index].add(Label::Far);
        }
    }
}

/// Whether two places lie within 47 km of one another without a look at the geodesic: 0.3° are 33.5 km at most, on WGS 84,
/// along a meridian at the poles and along the equator.
fn near(a: Place, b: Place) -> bool {
    let within = |a: f64, b: f64| (a - b).abs() < 0.3;
    within(a.lat_degrees(), b.lat_degrees()) && within(a.lon_degrees(), b.lon_degrees())
}

fn proposal(reading: &LevelReading, place: Place, away: f64) -> Finding {
    let message = format!("this place is {:.0} km from the others", away / 1e3);
    let hint = format!(
        "did you mean {:.5}, {:.5}? Coordinates look swapped or a sign is lost: correct the file",
        place.lat_degrees(),
        place.lon_degrees()
    );
    Finding::doubtful("misplaced", message).at(reading.written.origin()).hint(hint)
}
