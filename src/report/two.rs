//! Two places that explain the bearings better than one, in words.

use crate::{
    finding::clipped,
    geodesy::{Place, course},
    north::TrueBearing,
    observe::NorthReference,
    region::{NotDetermined, Region},
    report::{Answer, words},
    solve::{Fit, Pair},
    units::{Confidence, Metres},
};

/// Two places, and what belongs to each.
#[derive(Clone, Debug)]
pub struct TwoPlaces {
    /// The one with more bearings first.
    pub places: [OneOfTwo; 2],
    /// By what factor they explain the bearings better than one place, foreign bearings allowed for.
    pub factor: f64,
    /// Identifiers of the bearings that belong to neither with more than half of the probability.
    pub neither: Vec<String>,
}

/// One of two places.
#[derive(Clone, Debug)]
pub struct OneOfTwo {
    /// Its first peak.
    pub place: Place,
    /// Its 95 % region.
    pub region: Result<Region, NotDetermined>,
    /// Identifiers of its bearings.
    pub bearings: Vec<String>,
}

impl TwoPlaces {
    /// Gathers a pair; `bearings` are those that it was found from. `None` where it is not clear.
    pub fn of(pair: &Pair, bearings: &[TrueBearing]) -> Option<Self> {
        let ids = |place: Option<usize>| {
            let whose = pair.belongs.iter().zip(bearings).filter(|(b, _)| b.place() == place);
            whose.map(|(_, bearing)| bearing.read().id.clone()).collect()
        };
        let one = |k: usize, fit: &Fit| OneOfTwo {
            place: fit.quoted(),
            region: Region::of(fit, Confidence::P95),
            bearings: ids(Some(k)),
        };
        pair.clear().then(|| {
            let [first, second] = pair.places();
            let places = [one(0, &first), one(1, &second)];
            Self { places, factor: pair.gain.exp(), neither: ids(None) }
        })
    }

    /// How far apart the places are.
    pub fn apart(&self) -> Metres {
        course(self.places[0].place, self.places[1].place).distance
    }
}

/// The sentence of the summary.
pub(super) fn sentence(two: &TwoPlaces) -> String {
    format!(
        " TWO PLACES explain these bearings better than one, by a factor {}, {} apart: see below.",
        words::factor(two.factor.ln()),
        words::distance(two.apart())
    )
}

/// The section, a line each.
pub(super) fn lines(answer: &Answer) -> Vec<String> {
    let Some(two) = &answer.two else { return Vec::new() };
    let named = |ids: &[String]| ids.iter().map(|id| clipped(id)).collect::<Vec<_>>().join(", ");
    let one = |(k, one): (usize, &OneOfTwo)| {
        let (at, area) = match &one.region {
            Ok(region) => {
                let radius = Metres::new((region.area().value() / std::f64::consts::PI).sqrt());
                (words::place(one.place, radius), format!("95 % region {}", words::area(region.area())))
            }
            Err(open) => (
                words::place(one.place, Metres::new(1_000.0)),
                format!("not determined toward {}", words::bearing(open.along, NorthReference::True)),
            ),
        };
        format!("place {}: near {at}, {area}; {}", k + 1, named(&one.bearings))
    };
    let mut out: Vec<String> = two.places.iter().enumerate().map(one).collect();
    if !two.neither.is_empty() {
        out.push(format!("of neither: {}", named(&two.neither)));
    }
    out.push(
        "either two emitters share the channel, or a front that reflects shows one emitter twice: bearings alone cannot tell. \
         Go near each: toward an emitter the signal rises to the last step, toward a wall that reflects it does not"
            .to_owned(),
    );
    out
}
