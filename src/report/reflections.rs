//! Bearings that a façade of the map explains as reflections, in words.

use crate::{
    finding::clipped,
    geodesy::course,
    region::{NotDetermined, Region},
    report::{Answer, words},
    solve::{Bounce, Specular, specular},
    streets::Facade,
    units::{Confidence, Metres},
};

/// What a map's façades say of bearings that disagree.
#[derive(Clone, Debug)]
pub struct Reflections {
    /// Which bearings they explain, and the fit that counts these.
    pub found: Specular,
    /// The 95 % region of that fit.
    pub region: Option<Result<Region, NotDetermined>>,
}

impl Answer {
    /// Tries the façades of a map on the bearings that disagree. Without any such bearing, or any façade about the place, nothing
    /// is told.
    pub fn tried_on(&mut self, facades: &[Facade]) {
        self.reflections = specular(&self.fit, &self.record, facades).map(|found| {
            let region = found.fit.as_ref().map(|fit| Region::of(fit, Confidence::P95));
            Reflections { found, region }
        });
    }

    /// The reflection that explains a bearing, by its number.
    pub fn bounce(&self, bearing: usize) -> Option<&Bounce> {
        self.reflections.as_ref()?.found.bounces.iter().find(|b| b.bearing == bearing)
    }
}

/// A bearing that points at a mirror image.
pub(super) fn bounced(bounce: &Bounce) -> String {
    let likely = if bounce.of_this > 0.5 { "" } else { ", or one beside it" };
    format!(
        "it points at the mirror image behind the façade of {}{likely}: a reflection of the same emitter fits (miss {:.1}°), with a \
         probability of {:.0} %",
        clipped(&bounce.facade.name),
        bounce.miss.to_degrees().abs(),
        100.0 * bounce.probability
    )
}

/// The section, a line each.
pub(super) fn lines(answer: &Answer) -> Vec<String> {
    let Some(reflections) = &answer.reflections else { return Vec::new() };
    let id = |i: usize| clipped(&answer.bearings[i].read().id);
    let found = &reflections.found;
    let mut out: Vec<String> =
        found.bounces.iter().map(|b| format!("{}: {}", id(b.bearing), bounced(b))).collect();
    if !found.unexplained.is_empty() {
        let ids: Vec<String> = found.unexplained.iter().map(|i| id(*i).to_string()).collect();
        out.push(format!("no façade of the map explains {}", ids.join(", ")));
    }
    out.extend(counted(answer, reflections));
    out
}

/// What the answer would be with these bearings counted as reflections, where that leaves less to search: where it does not, one of
/// them was probably no reflection.
fn counted(answer: &Answer, reflections: &Reflections) -> Option<String> {
    let (fit, region) = (reflections.found.fit.as_ref()?, reflections.region.as_ref()?);
    let place = fit.quoted();
    let moved = words::distance(course(answer.fit.quoted(), place).distance);
    let now = answer.region95().as_ref().map_or(f64::INFINITY, |r| r.area().value());
    Some(match region {
        Ok(region) if region.area().value() < now => {
            let radius = Metres::new((region.area().value() / std::f64::consts::PI).sqrt());
            format!(
                "counted as reflections, and not as bearings from anywhere, they leave a 95 % area of {} around {}, {moved} from the \
                 place above. It rests on the map: search it first, and the area above if nothing is found",
                words::area(region.area()),
                words::place(place, radius)
            )
        }
        _ => "counted as reflections they make the area no smaller".to_owned(),
    })
}
