//! Two places that explain the bearings better than one, in words.

use crate::{
    finding::clipped,
    geodesy::{Place, course},
    north::TrueBearing,
    observe::NorthReference,
    region::{NotDetermined, Region},
    report::{Answer, words},
    solve::{Fit, Pair, together},
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
    /// Identifiers of two bearings of one minute, from different stands, one of each place: one emitter that moves explains no such
    /// two.
    pub at_once: Option<[String; 2]>,
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
            Self { places, factor: pair.gain.exp(), neither: ids(None), at_once: at_once(pair, bearings) }
        })
    }

    /// How far apart the places are.
    pub fn apart(&self) -> Metres {
        course(self.places[0].place, self.places[1].place).distance
    }
}

/// Two bearings of one minute that belong to different places.
fn at_once(pair: &Pair, bearings: &[TrueBearing]) -> Option<[String; 2]> {
    let of = |group: &[usize], place: usize| {
        group.iter().copied().find(|i| pair.belongs.get(*i).is_some_and(|b| b.place() == Some(place)))
    };
    let id = |i: usize| bearings[i].read().id.clone();
    together(bearings).iter().find_map(|g| Some([id(of(g, 0)?), id(of(g, 1)?)]))
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
    if let Some([a, b]) = &two.at_once {
        out.push(format!(
            "{} and {} were taken in the same minute and point at different places: one emitter that moves does not explain that",
            clipped(a),
            clipped(b)
        ));
    } else if answer.bearings.iter().any(|b| b.read().time.is_some()) {
        out.push(
            "no two bearings of the same minute point at different places: one emitter that was moved between them is possible too"
                .to_owned(),
        );
    }
    out.push(
        "either two emitters share the channel, or a front that reflects shows one emitter twice: bearings alone cannot tell. \
         Go near each: toward an emitter the signal rises to the last step, toward a wall that reflects it does not"
            .to_owned(),
    );
    out
}
